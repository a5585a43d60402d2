"""Whole sheets of clearances that can hardly be what was meant: another unit, both sides, z from the
other end. Not single slips in them."""
