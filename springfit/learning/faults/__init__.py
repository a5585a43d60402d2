"""What springback cannot do: swellings, strangers, slips, and what passes toward the tail leave. Not who
made them."""
