"""The page: parse a request, call one action, render."""
