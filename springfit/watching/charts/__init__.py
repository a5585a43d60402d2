"""Control charts of standardised numbers: cumulative sums, weighted means, breaks. They know no bells."""
