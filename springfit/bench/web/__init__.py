"""Pages and calls over the shop's own network, and who may make them. Nothing is worked out in here."""
