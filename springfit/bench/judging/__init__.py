"""What is said of a value as it is typed: the checks of the book, on what lies near it. No check of its own."""
