"""Fields of locked-in stress and what each does to the gap. Not their coefficients."""
