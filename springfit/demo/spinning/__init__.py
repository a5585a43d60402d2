"""The invented shop at work: steel, sheet, stress by its own law, release by a 2-D solid. Never springfit's model."""
