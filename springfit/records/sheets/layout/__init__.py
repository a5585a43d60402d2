"""Which part of a sheet is its table: the header among titles, units, totals and remarks. Not what cells mean."""
