"""The pages of a survey and of a copied mandrel: what a person reads of originals on screen and on paper. Not
their sentences."""
