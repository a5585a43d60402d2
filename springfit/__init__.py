"""Springback of spun brass bells, learned from a shop's own records."""

from springfit.version import __version__ as __version__
