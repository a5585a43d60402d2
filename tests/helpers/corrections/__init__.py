"""Made-up forecasts, gaps, books and reports, and printed pages read back."""
