"""What a mandrel's own bells say of the steel it has now: means, spreads and bounds. Not what a model makes of them."""
