"""A small sound book, ways to spoil it, drawn cases: no slips of a whole shop, those are in `slips`."""
