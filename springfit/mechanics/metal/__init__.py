"""Alloys and their strength by temper, anneal and strain, a source on every row. Not what is made of them."""
