"""What can be typed but hardly be true, as doubts: one mistake a file. Not what is impossible."""
