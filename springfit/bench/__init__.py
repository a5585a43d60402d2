"""The page at the bench: readings entered at the lathe on a tablet, reports and what-if, served to the shop alone.

In here: the sheet in the making and its log on disk (`entry`), what is said of a value as it is typed (`judging`), who
gets in and what is shown (`web`). Not in here: what a record book is (`records`), what is computed, how it is worded.
"""
