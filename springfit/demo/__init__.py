"""The invented shop: bells by an independent 2-D solid, hands and gauges, records and their sealed truth.

spinning/ holds the shop at work (steel, sheet, stress by its own law, release by a solid), keeping/ its paper (what is
measured, by whom, how it is written). shop, many_shops: shops by the hundred. story, three_years, originals, truth,
generate: the committed demo; locate: where it lies. Nothing here comes from the model that is judged on it.
"""
