"""Commands and processes: run in this one, dying or interrupted as they write; and programs run by hand."""
