"""The mandrel whose bell is the target, the error in its parts, and which rows may be judged. Not what to do."""
