"""Tests of springfit: rooms by what is tested, helpers that several rooms share, worlds of invented shops."""
