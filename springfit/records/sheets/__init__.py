"""Text as typed: files and workbooks to cells, cells to frames in mm. Not whether rows agree with one another."""
