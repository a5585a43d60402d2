"""Control charts of standardised numbers: cumulative sums, weighted means, run lengths, breaks. They know no bells."""
