"""From a book to a model and its forecast: what bells teach, with bands. Not what to do about it."""
