"""Springback of spun brass bells, learned from a shop's own records."""

__version__ = "0.1.0"
