"""Kinds of slips that a hand makes, planted in a book that was read or in its files."""
