"""Models on disk and their succession: train, update, check, then switch. Not what a model says."""
