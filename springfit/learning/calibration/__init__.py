"""How a shop's hands lay sheet, found from a few of its bells. Not what is learned beside it, nor what laying is."""
