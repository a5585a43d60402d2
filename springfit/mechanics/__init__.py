"""Pure functions of arrays: the metal, the shell it is let go as, how it was laid. No files of a shop, no learning."""
