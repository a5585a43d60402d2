"""The crude ridge that a forecast has to beat: its rows of a book, its columns, its fit; run it to score a shop."""
