"""Flares with facets whose truth is known, families of originals, and books of them."""
