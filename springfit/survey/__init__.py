"""Several originals into one target, their facets kept. Not how a mandrel is corrected toward it: that is decisions."""
