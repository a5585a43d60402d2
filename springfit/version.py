"""The version of the program, below everything that names it."""

__all__ = ["__version__"]

__version__ = "0.1.0"
