"""Changing a book: starting one, adding sheets, all or nothing. Not reading one."""
