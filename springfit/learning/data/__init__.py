"""Readings as signed normal distances from their steel. Not what explains them."""
