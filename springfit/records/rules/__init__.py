"""What must hold between rows and tables, as errors; which steel a reading belongs to. Not what is merely odd."""
