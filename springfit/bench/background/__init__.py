"""Long work beside the page, in processes of their own: learning a book, working out a report. Nothing waits for it."""
