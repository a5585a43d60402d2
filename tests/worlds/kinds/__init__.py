"""The kinds of world: what they share (world), and the physics of each; not how their bells are measured."""
