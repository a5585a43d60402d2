"""What drives springback, by batch and by station: a function, unit, reason and sign each. Not its size."""
