"""Mandrels beside originals: would one make them, which would, what was its first line. No cut is decided here."""
