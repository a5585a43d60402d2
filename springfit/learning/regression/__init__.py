"""The hierarchy of bells in batches in a shop, solved: unknowns, priors, posterior, spreads. Not what a book is."""
