"""One batch against the forecast made before it was learned: rows, zones, shifts and spreads. Not whether
that is a fault."""
