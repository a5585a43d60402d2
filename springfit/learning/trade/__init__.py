"""What sheet laid over the range of the trade holds locked in: a prior of free shares; not any shop's records."""
