"""What a book holds, in a screenful: counts, blanks, what teaches nothing, a batch or a mandrel. Judges nothing."""
