"""The invented shop: bells by an independent 2-D solid, hands and gauges, records and their sealed truth.

families, solid: the steel's curve and the elastic release. recipe, metal, process: how a batch locks its
stresses in. spun, measuring, bench: a bell and what is read of it. steel, habits, runs, pages, sheets: a
shop's paper. shop, shops: shops by the hundred. story, originals, book, truth, generate: the committed demo.
"""
