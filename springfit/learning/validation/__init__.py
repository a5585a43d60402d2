"""Left-out batches and mandrels forecast and scored, plain rules beside, the log of what was said
before. Not the forecast itself, which is asked for as anyone asks."""
