"""What each command does: the body of `springfit check`, `train`, `correct` and the rest, one step under the parser.

In here: read the book, ask one level below, write, and say what came of it. Not in here: the options and their help
(`arguments`), what is computed (`records` to `survey`), and how a page or a sentence reads (`reporting`).
"""
