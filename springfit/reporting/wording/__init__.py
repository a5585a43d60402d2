"""Every sentence, label, length and unit that a person reads. Not where it stands on a page."""
