"""The questions in their order and the answer of each. Not the sizes to turn."""
