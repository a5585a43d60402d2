"""Sizes for the lathe: stations, steps, facets, and what the last cut left. Not whether to cut."""
