"""profilekeeper: a versioned, checked record of every setting of a fleet of CNC stone machines."""

__all__ = ["__version__"]

__version__ = "0.1.0"
