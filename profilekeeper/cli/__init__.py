"""The command line: parse options, call one action, render."""
