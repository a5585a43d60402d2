"""The sealed truth of the demo shop: what asked mandrels would give, and everything that was planted."""

from __future__ import annotations

from dataclasses import asdict, replace

import numpy as np
import pandas as pd

from springfit.demo.keeping.habits import drawn_recipe
from springfit.demo.originals import FAMILY, family_line
from springfit.demo.shop import Shop, true_gap
from springfit.demo.spinning.families import BellLine, bessel_horn, exponential_flare
from springfit.demo.spinning.recipe import Recipe
from springfit.demo.spinning.spun import BatchEffects, BellEffects
from springfit.demo.spinning.true_steel import stations_along
from springfit.demo.story import INCH, PLANS
from springfit.demo.three_years import FAULTS, MISLABELLED, SEED

__all__ = ["new_mandrels", "planted", "queries"]


def new_mandrels() -> dict[str, tuple[BellLine, Recipe]]:
    """Three mandrels that the records have never seen, with how they would be spun."""

    def habit(rim_in: float, draw_in: float) -> Recipe:
        return Recipe(
            draw_end_mm=draw_in * INCH,
            wall_mm=0.020 * INCH,
            blank_rim_mm=(rim_in + 0.5) * INCH,
            finished_rim_mm=rim_in * INCH,
        )

    return {
        "STILT": (
            bessel_horn(tail=6.0, rim=4.6 * INCH / 2, length=352.0, exponent=0.65, beyond=9.0),
            habit(4.6, 10.5),
        ),
        "EIDER": (
            bessel_horn(tail=9.0, rim=6.5 * INCH / 2, length=430.0, exponent=0.75, beyond=9.0),
            habit(6.5, 13.0),
        ),
        "SNIPE": (
            exponential_flare(
                tail=6.2, rim=5.2 * INCH / 2, length=330.0, taper=0.032, reach=28.0, beyond=9.0
            ),
            habit(5.2, 10.0),
        ),
    }


def queries(shop: Shop) -> tuple[pd.DataFrame, dict[str, pd.DataFrame], dict[str, pd.DataFrame]]:
    """(queries, profiles, conditions) by query name, in mm: two recipes on every mandrel, known or new.

    `gap` has no batch effect, `gap_batch` one batch's, `gap_bell` one bell of it; tail ends matched, stage
    trimmed.
    """
    rng = np.random.default_rng([SEED, 7])
    asked = [(plan.name, True, shop.mandrels[plan.name].revisions[-1].line, plan.habit) for plan in PLANS]
    asked += [(name, False, line, habit) for name, (line, habit) in new_mandrels().items()]
    frames, profiles, conditions = [], {}, {}
    for i, (mandrel, seen, line, habit) in enumerate([item for item in asked for _ in range(2)]):
        name = f"Q{i:02d}"
        recipe = replace(
            drawn_recipe(rng, habit, shop.workshop.people, units="in", back_passes=int(i == 11)), lot="none"
        )
        arcs = stations_along(line, step_mm=5.0)
        z, r, _ = line.points_at(arcs)
        profiles[name] = pd.DataFrame({"z_mm": z.round(4) + 0.0, "diameter_mm": (2.0 * r).round(4)})
        frames.append(_answered(shop, name, mandrel, seen, profiles[name], recipe, rng))
        row = {"name": name, **{k: v for k, v in asdict(recipe).items() if k not in ("lot", "bolt_checked")}}
        conditions[name] = pd.DataFrame([row]).round(3)
    return pd.concat(frames, ignore_index=True), profiles, conditions


def _answered(
    shop: Shop,
    name: str,
    mandrel: str,
    seen: bool,
    profile: pd.DataFrame,
    recipe: Recipe,
    rng: np.random.Generator,
) -> pd.DataFrame:
    z, diameter = profile["z_mm"].to_numpy(), profile["diameter_mm"].to_numpy()
    batch, bell = BatchEffects.drawn(rng), BellEffects.drawn(rng)
    plain = true_gap(shop, z, diameter, recipe)
    of_batch = true_gap(shop, z, diameter, recipe, batch=batch)
    of_bell = true_gap(shop, z, diameter, recipe, batch=batch, bell=bell)
    answer = {
        "s": plain.s,
        "z": plain.z,
        "r": plain.r,
        "gap": plain.gap,
        "gap_batch": of_batch.gap,
        "gap_bell": of_bell.gap,
        "axial": plain.axial,
    }
    frame = pd.DataFrame({key: np.round(value, 5) + 0.0 for key, value in answer.items()})
    frame.insert(0, "seen", seen)
    frame.insert(0, "mandrel", mandrel)
    frame.insert(0, "name", name)
    return frame


def planted(shop: Shop) -> dict[str, pd.DataFrame]:
    """What was planted: `stories` (a target each), `batches` (effects), `bells` (faults), `gauges`
    (biases).
    """
    stories = [
        {
            "target_id": f"{p.name}-bell",
            "steel_error_mm": p.revisions[-1][2],
            "target_shift_mm": p.target_shift_mm,
            "back_passes_last_batch": 2 if p.name == "BITTERN" else 0,
            "meant_verdict": p.expected,
        }
        for p in PLANS
    ]
    batches = [
        {"batch_id": name, **{k: round(v, 4) for k, v in asdict(effects).items()}}
        for name, effects in shop.batch_effects.items()
    ]
    ids = list(shop.batch_effects)
    bells = [
        {"bell_id": f"{ids[number - 1]}-{order:02d}", "planted": fault}
        for number, of in FAULTS.items()
        for order, fault in of.items()
    ]
    bells += [
        {"bell_id": MISLABELLED[0], "planted": "not measured"},
        {"bell_id": MISLABELLED[1], "planted": f"mislabelled, is {MISLABELLED[0]}"},
    ]
    old = family_line(PLANS[1].ideal, PLANS[1].habit.finished_rim_mm / 2.0)
    z, r, _ = old.points_at(stations_along(old, step_mm=2.0))
    original = pd.DataFrame({"z_mm": z.round(4) + 0.0, "diameter_mm": (2.0 * r).round(4)})
    gauges = [{"gauge_id": g.gauge_id, "bias_mm": round(g.bias_mm, 5)} for g in shop.workshop.gauges.values()]
    return {
        "stories": pd.DataFrame(stories),
        "batches": pd.DataFrame(batches),
        "bells": pd.DataFrame(bells),
        "gauges": pd.DataFrame(gauges),
        f"original_{FAMILY}": original,
    }
