"""Tests of the readers and writers; a package, so that they can share `handwritten`."""
