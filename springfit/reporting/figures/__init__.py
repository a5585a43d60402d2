"""Pictures and the drawing. Not the tables beside them."""
