"""How often both 90 % bands hold the truth, over simulated shops. Run the file itself, with the number of shops.

Shops of 4 to 40 batches by the project's own generator (a 2-D solid, independent of the learner); each is trained as
`springfit train` does and asked for new batches on known mandrels, drawn as the shop draws them. Prints a row a shop
and the totals. Not a test: it takes about ten minutes.
"""

from __future__ import annotations

import sys
import tempfile
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np

from springfit.decisions.forecast import forecast
from springfit.demo.keeping.book_sheets import write_book
from springfit.demo.keeping.habits import drawn_recipe
from springfit.demo.many_shops import make_shop
from springfit.demo.shop import Shop, true_gap
from springfit.demo.spinning.spun import BatchEffects, BellEffects
from springfit.learning.data.mandrel_steel import draft_meridian
from springfit.learning.experience import experience_of
from springfit.learning.fitting import fit_model
from springfit.learning.model import SpringModel
from springfit.learning.validation.scores import validate
from springfit.records.conditions import Conditions
from springfit.records.reading import read_book

ASKED = 4  # new batches a shop


def trained(shop: Shop, folder: Path) -> SpringModel:
    """The model of a shop's written book."""
    write_book(shop.tables, folder, units=shop.units)
    book, findings = read_book(folder)
    fit = fit_model(experience_of(book, findings))
    assert fit is not None
    checked = validate(fit)
    return fit.model("v0001", checked.as_dict(), known=checked.known, new=checked.new)


def asked_of(shop: Shop, seed: int) -> list[tuple[float, float, float, float, float]]:
    """Error rms, size of the truth, cover of the batch's and the bell's band, and width, of each new batch."""
    rng = np.random.default_rng([seed, 99])
    with tempfile.TemporaryDirectory() as folder:
        model = trained(shop, Path(folder) / "book")
    rows = []
    for _ in range(ASKED):
        mandrel = shop.mandrels[str(rng.choice(list(shop.mandrels)))]
        line = mandrel.revisions[-1].line
        recipe = drawn_recipe(rng, mandrel.habit, shop.workshop.people, units=shop.units, back_passes=0)
        z, diameter = line.z[::12], 2 * line.r[::12]
        batch, bell = BatchEffects.drawn(rng), BellEffects.drawn(rng)
        usual = true_gap(shop, z, diameter, recipe)
        of_batch = true_gap(shop, z, diameter, recipe, batch=batch)
        of_bell = true_gap(shop, z, diameter, recipe, batch=batch, bell=bell)
        known = {k: v for k, v in asdict(recipe).items() if k in Conditions.__dataclass_fields__}
        told = forecast(
            model, draft_meridian(z, diameter), replace(Conditions(name="asked", alloy="C26000"), **known)
        )
        rows.append(_scored(told, usual, of_batch, of_bell))
    return rows


def _scored(told, usual, of_batch, of_bell) -> tuple[float, float, float, float, float]:  # type: ignore[no-untyped-def]
    s = told.meridian.s
    flare = s > 0.6 * s[-1]
    truth, one, each = (np.interp(s, t.s, t.gap)[flare] for t in (usual, of_batch, of_bell))
    (low, high), (bell_low, bell_high) = told.mean_band(), told.bell_band()
    error = told.gap[flare] - truth
    return (
        float(np.sqrt(np.mean(error**2))),
        float(np.sqrt(np.mean(truth**2))),
        float(np.mean((one >= low[flare]) & (one <= high[flare]))),
        float(np.mean((each >= bell_low[flare]) & (each <= bell_high[flare]))),
        float(np.mean((high - low)[flare])),
    )


def main(shops: int) -> None:
    """Run `shops` shops and print."""
    all_rows = []
    for seed in range(shops):
        batches = int(np.random.default_rng([seed, 5]).integers(4, 41))
        shop = make_shop(seed, batches=batches, mandrels=1 + batches // 6, units="mm" if seed % 2 else "in")
        rows = asked_of(shop, seed)
        all_rows += rows
        error, size, mean, bell, width = np.mean(rows, axis=0)
        print(
            f"shop {seed:2d} {batches:2d} batches  rms {error:.3f} of {size:.3f} mm  cover {mean:.2f} {bell:.2f}"
            f"  width {width:.3f} mm",
            flush=True,
        )
    error, size, mean, bell, width = np.mean(all_rows, axis=0)
    print(f"all: rms {error:.3f} of {size:.3f} mm  cover {mean:.3f} {bell:.3f}  width {width:.3f} mm")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 30)
