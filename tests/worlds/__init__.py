"""Invented shops of several physics, their truth known, to develop springfit on; never to judge it by.

Three kinds. `laid`: sheet laid by a travelling nose, batches and bells scale it. `standoff`: the same, but batches and
spinners differ in how and where the sheet stands off, so in shape. `shares`: closed-form locked-in stress, coefficients
drawn widely by the seed. Numbers are drawn by seed and are not springfit's own.

    python -m tests.worlds.make KIND SEED OUT      a record book with its sealed truth
    python -m tests.worlds.ridge SHOP              the crude ridge a forecast has to beat
    python -m tests.worlds.follow KIND FIRST N     N shops that do as their reports say, cut after cut

mandrel_lines, mandrels: the steel. recipes: how a batch is spun. kinds: the physics. sprung_bell, hands, bell_sessions:
a bell and what is read of it. shop_book, sealed, make: its paper. workshop, follow: its steel cut as a report says.
springfit_parts: all that the worlds take from springfit; `follow` runs the whole of it.
"""
