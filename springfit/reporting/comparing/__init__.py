"""Conditions compared with one another: their picture, their sentences and their table. Not what one forecast says."""
