"""Page and paper from one summary, and the tables on them. Not the files they go to."""
