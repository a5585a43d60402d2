"""What a fault leaves in the gap curve of a bell or a batch: one pattern a fault, and which of them the readings
bear. Not how often that may be wrong: benchmarks count it."""
