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
from one_field_shop import OneFieldShop

import springfit.learning.regression.estimation as estimation

PRINTED = 2e-4  # relative: the evidence is known to 1e-7, and flat to that about its largest value
CRITERION = 1e-4  # of -2 log restricted likelihood

DYESTUFF = {
    "A": [1545, 1440, 1440, 1520, 1580],
    "B": [1540, 1555, 1490, 1560, 1495],
    "C": [1595, 1550, 1605, 1510, 1560],
    "D": [1445, 1440, 1595, 1465, 1545],
    "E": [1595, 1630, 1515, 1635, 1625],
    "F": [1520, 1455, 1450, 1480, 1445],
}
DYESTUFF_2 = {
    "A": [7.298, 3.846, 2.434, 9.566, 7.990],
    "B": [5.220, 6.556, 0.608, 11.788, -0.892],
    "C": [0.110, 10.386, 13.434, 5.510, 8.166],
    "D": [2.212, 4.852, 7.092, 9.288, 4.980],
    "E": [0.282, 9.014, 4.458, 9.446, 7.198],
    "F": [1.722, 4.782, 8.106, 0.758, 3.758],
}
RAIL = {"1": [55, 53, 54], "2": [26, 37, 32], "3": [78, 91, 85], "4": [92, 100, 96], "5": [49, 51, 50],
        "6": [80, 85, 83]}  # fmt: skip
OXIDE = {
    "1": [[2006, 1999, 2007], [1980, 1988, 1982], [2000, 1998, 2007]],
    "2": [[1991, 1990, 1988], [1987, 1989, 1988], [1985, 1983, 1989]],
    "3": [[2000, 2004, 2004], [2001, 1996, 2004], [1999, 2000, 2002]],
    "4": [[1997, 1994, 1996], [1996, 2000, 2002], [1987, 1990, 1995]],
    "5": [[2013, 2004, 2009], [2023, 2018, 2010], [2020, 2023, 2015]],
    "6": [[2032, 2036, 2030], [2018, 2022, 2026], [2009, 2010, 2011]],
    "7": [[1984, 1993, 1993], [1992, 1992, 1990], [1996, 1993, 1987]],
    "8": [[1996, 1989, 1996], [1997, 1993, 1996], [1990, 1989, 1992]],
}
# Microvolts over 10.000 V: ten days, five readings each, their means and standard deviations.
VOLTS = [172, 116, 13, 144, 106, 31, 60, 125, 163, 41]
WITHIN_DAY = [60, 77, 111, 101, 67, 93, 80, 73, 88, 86]
READINGS_A_DAY = 5


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
