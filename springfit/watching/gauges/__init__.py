"""What repeated readings say of gauges and hands: components of variance, the gauge study, the row it
suggests. Not the readings' places."""
