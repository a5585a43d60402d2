"""A sheet in the making: what was entered, kept on disk value by value, and added to the book whole. No web in here."""
