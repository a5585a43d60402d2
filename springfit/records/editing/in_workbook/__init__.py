"""A book that is one workbook: rows and cells put into its sheets, everything else in it left byte for
byte. Not what is put in."""
