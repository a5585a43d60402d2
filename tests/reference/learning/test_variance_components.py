"""Batch and bell effects of the hierarchy against published variance components.

Sources. Dyestuff: Davies & Goldsmith, Statistical Methods in Research and Production, 4th ed. 1972, p. 135; Dyestuff2:
Box & Tiao, Bayesian Inference in Statistical Analysis, 1973, table 5.1.4; Rail: Devore, Probability and Statistics,
5th ed. 2000, example 10.10; Oxide: Littell et al., SAS System for Mixed Models, 1996, p. 155. Restricted maximum
likelihood values as given for the first two by Bates et al., J. Stat. Softw. 67(1), 2015 and its package's manual, for
the others by Pinheiro & Bates, Mixed-Effects Models in S and S-PLUS, 2000, ch. 1; balanced cases agree with the
analysis of variance worked by hand. GUM H.5: JCGM 100:2008, annex H.5, tables H.9 and H.10.
"""

from __future__ import annotations

import numpy as np
import pytest

import springfit.learning.regression.estimation as estimation
from tests.reference.learning.one_field_shop import OneFieldShop
from tests.reference.learning.printed_components import (
    DYESTUFF,
    DYESTUFF_2,
    OXIDE,
    RAIL,
    READINGS_A_DAY,
    VOLTS,
    WITHIN_DAY,
)

PRINTED = 2e-4  # relative: the evidence is known to 1e-7, and flat to that about its largest value
CRITERION = 1e-4  # of -2 log restricted likelihood


def one_way(readings: dict[str, list[float]]) -> OneFieldShop:
    """One bell a batch: its readings differ by noise alone."""
    return OneFieldShop.of_readings({batch: [values] for batch, values in readings.items()})


def test_dyestuff() -> None:
    shop = one_way(DYESTUFF)
    found = shop.components(nested=False)
    assert found["batch"] ** 2 == pytest.approx(1764.05, rel=PRINTED)
    assert found["reading"] ** 2 == pytest.approx(2451.25, rel=PRINTED)
    assert shop.deviance(**found) == pytest.approx(319.65428, abs=CRITERION)
    posterior = shop.posterior(**found)
    assert shop.mean(posterior)[0] == pytest.approx(1527.5, rel=PRINTED)
    effects = [-17.60685, 0.39126, 28.56223, -23.08454, 56.73319, -44.99529]
    assert list(shop.batch_effects(posterior).values()) == pytest.approx(effects, rel=PRINTED)


def test_dyestuff_2_has_no_batch_variance() -> None:
    shop = one_way(DYESTUFF_2)
    found = shop.components(nested=False)
    total = 13.806310  # of a reading, batches ignored
    assert found["reading"] ** 2 == pytest.approx(total, rel=PRINTED)
    assert found["batch"] ** 2 < 1e-4 * total
    assert shop.mean(shop.posterior(**found))[0] == pytest.approx(5.6656, rel=PRINTED)


def test_rail() -> None:
    shop = one_way(RAIL)
    found = shop.components(nested=False)
    assert found["batch"] == pytest.approx(24.805465, rel=PRINTED)
    assert found["reading"] == pytest.approx(4.020779, rel=PRINTED)
    assert shop.deviance(**found) / -2 == pytest.approx(-61.0885, abs=CRITERION)
    assert shop.mean(shop.posterior(**found))[0] == pytest.approx(66.5, rel=PRINTED)


def test_oxide_lots_wafers_and_sites() -> None:
    shop = OneFieldShop.of_readings(OXIDE)
    found = shop.components(nested=True)
    assert found["batch"] == pytest.approx(11.397683, rel=PRINTED)
    assert found["bell"] == pytest.approx(5.988801, rel=PRINTED)
    assert found["reading"] == pytest.approx(3.545341, rel=PRINTED)
    assert shop.mean(shop.posterior(**found))[0] == pytest.approx(2000.152778, rel=1e-7)


def test_gum_h5_between_days() -> None:
    days = zip(VOLTS, WITHIN_DAY, strict=True)
    spare = READINGS_A_DAY - 1
    shop = OneFieldShop(
        {f"day {i}": [(READINGS_A_DAY, float(v), spare * s**2)] for i, (v, s) in enumerate(days)}
    )
    found = shop.components(nested=False)
    printed = 3e-4  # relative: the means are printed to the microvolt
    assert found["batch"] == pytest.approx(42.64, rel=printed)
    assert found["reading"] == pytest.approx(84.89, rel=printed)
    middle, sd = shop.mean(shop.posterior(**found))
    assert middle == pytest.approx(97.1, rel=printed)
    assert sd == pytest.approx(18.05, rel=printed)
    ignored = shop.posterior(batch=0.0, bell=0.0, reading=np.sqrt((9 * 5 * 57.09**2 + 40 * 84.89**2) / 49))
    assert shop.mean(ignored)[1] == pytest.approx(13.32, rel=printed)


@pytest.mark.parametrize("readings", [DYESTUFF, RAIL])
def test_the_update_of_the_spreads_rests_where_the_evidence_is_largest(
    readings: dict[str, list[float]], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without its pseudo-observations a round of expectation-maximisation keeps the best spread and nears it from
    either side."""
    monkeypatch.setattr(estimation, "_PSEUDO", 1e-12)
    monkeypatch.setattr(estimation, "_MOST", np.inf)
    shop = one_way(readings)
    best = shop.components(nested=False)
    for off in (0.5, 1.0, 2.0):
        found = {**best, "batch": off * best["batch"]}
        summaries, layout, prior, spreads, posterior = shop.fitted(**found)
        squares = {
            **estimation.running_squares(summaries, layout, posterior),
            **estimation.shop_squares(layout, prior, posterior),
        }
        better = estimation.better_spreads(squares, spreads, prior.structure)
        turned = better["batch_hoop"] / shop.scale / best["batch"]
        if off == 1.0:
            assert turned == pytest.approx(1.0, rel=PRINTED)
        else:
            assert abs(np.log(turned)) < abs(np.log(off))
