"""Slips of one reading or one size, which nothing around it bears out. Not mistakes of a whole sheet."""
