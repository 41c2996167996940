"""One file per verb: what the command line, the page and Python users share."""
