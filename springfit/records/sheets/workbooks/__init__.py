"""The parts of an .xlsx file read within bounds: cells, formats, merged and hidden rows. Not what the cells mean."""
