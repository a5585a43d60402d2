"""The tables of a watch as files: a row a bell, a row a batch and zone."""

from __future__ import annotations

import pandas as pd

from springfit.reporting.set_aside_wording import set_aside_words
from springfit.reporting.watching_pages.fault_wording import settle_words
from springfit.reporting.wording.length_wording import Units
from springfit.watching.bell_states import BellState
from springfit.watching.watch import Watch

__all__ = ["BATCH_COLUMNS", "BELL_COLUMNS", "batch_table", "bell_table"]

BELL_COLUMNS = ("bell_id", "batch_id", "state", "finding", "group", "evidence", "settle_by")
BATCH_COLUMNS = (
    "batch_id", "mandrel_id", "revision", "spun_on", "batch_state", "zone", "state", "by", "bells", "readings",
    "forecast_mm", "measured_mm", "shift_mm", "shift_sd_mm", "score", "spread_mm", "usual_spread_mm", "spread_score",
    "standard_score", "sum_high", "sum_low", "weighted_mean", "weighted_limit", "earlier_batches", "forecast_by",
)  # fmt: skip


def bell_table(watched: Watch, units: Units) -> pd.DataFrame:
    """A row a bell, columns BELL_COLUMNS; `evidence` in nats over springback alone, `group` the names that cannot be
    told apart. A record that is doubted says why, its lengths in `units`."""
    return pd.DataFrame([_bell(one, units) for one in watched.bells], columns=list(BELL_COLUMNS))


def _bell(one: BellState, units: Units) -> tuple[object, ...]:
    if one.named is None:
        finding, why = ("doubted_record", set_aside_words(one.doubt, units)) if one.doubt else (None, None)
        return (one.bell_id, one.batch_id, one.state, finding, finding, None, why)
    named = one.named
    group = " ".join(named.group)
    return (one.bell_id, one.batch_id, one.state, named.name, group, round(named.margin, 1), settle_words(named.group))


def batch_table(watched: Watch) -> pd.DataFrame:
    """A row a batch and zone, columns BATCH_COLUMNS, lengths per side."""
    rows = []
    for batch in watched.batches:
        one = batch.judged
        for zone in batch.zones:
            s = zone.score
            rows.append((
                one.batch_id, one.mandrel_id, one.revision, one.spun_on, batch.state, s.zone, zone.state, zone.by or
                None, s.bells, s.readings, s.forecast, s.measured, s.shift, s.shift_sd, round(s.score, 2), s.spread,
                s.usual_spread, round(s.spread_score, 2), round(zone.standard, 2), round(zone.sum_high, 2),
                round(zone.sum_low, 2), round(zone.weighted, 2), round(zone.weighted_limit, 2), one.earlier,
                one.said_by or "earlier batches",
            ))  # fmt: skip
    return pd.DataFrame(rows, columns=list(BATCH_COLUMNS))
