"""What mandrels have to do with originals: would one make them, which would, its own first line. No cut is decided here."""
