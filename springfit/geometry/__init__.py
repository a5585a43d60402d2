"""Curves: meridians, smoothing, seating, facets. It knows no shop words, no metal and no files."""
