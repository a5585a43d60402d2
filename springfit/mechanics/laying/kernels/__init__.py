"""The compiled heart of the laying model: arrays in, arrays out. Not what is laid on what, nor when."""
