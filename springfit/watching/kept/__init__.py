"""Judgements kept as they were made, before their batches were learned. Not how they are made."""
