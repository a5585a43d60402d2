"""The bells a mandrel had, batch by batch, against the bell wanted of the steel it has now.

A batch spun on an earlier revision is carried over the cut between: springback hardly knows a cut of a few hundredths,
so its gap is laid on the steel as it is now. Batches of another alloy, temper or anneal than is asked for are shown and
not used; so are bells that are not of this steel as written, and stretches that a fault has swollen.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from springfit.decisions.bells.bell_profile import Datums, Profile, profile_of, station_index
from springfit.decisions.evidence import LeftOut
from springfit.decisions.job import Job
from springfit.geometry.meridian import Meridian
from springfit.geometry.points import FloatArray
from springfit.learning.data.gauge_zero import zero_spread
from springfit.learning.data.mandrel_steel import steel_meridian
from springfit.learning.data.observations import BellReadings, bell_readings
from springfit.records.book import Book
from springfit.records.conditions import Conditions

__all__ = ["BatchMean", "OwnBells", "no_bells", "own_bells"]

LIKE = ("alloy", "temper", "anneal")  # what sets the strength of the sheet, and with it the springback


@dataclass(frozen=True)
class BatchMean:
    """One batch: gap (k,) [mm per side] at the stations numbered `profile.at`, over `bells` bells. `unlike`: in what it
    differs from what is asked, empty when it is used; `left_out`: bells not counted, with `bells` those that were."""

    batch_id: str
    spun_on: str
    revision: int
    bells: int
    profile: Profile
    unlike: tuple[str, ...]
    left_out: tuple[str, ...]

    @property
    def used(self) -> bool:
        """Whether decisions rest on it."""
        return not self.unlike


@dataclass(frozen=True)
class OwnBells:
    """All measured batches of one mandrel; stations (k,) as arc and z on the present steel [mm], tail to rim."""

    arc: FloatArray
    z: FloatArray
    batches: tuple[BatchMean, ...]

    @property
    def used(self) -> tuple[BatchMean, ...]:
        """The batches that decisions rest on, oldest first."""
        return tuple(batch for batch in self.batches if batch.used)


def no_bells() -> OwnBells:
    """A mandrel without a bell of its own."""
    return OwnBells(np.zeros(0), np.zeros(0), ())


def own_bells(
    book: Book,
    job: Job,
    conditions: Conditions,
    *,
    left_out: Sequence[LeftOut] = (),
    axial_at: Callable[[float], float] = lambda arc: 0.0,
) -> OwnBells:
    """What the bells of the job's mandrel showed up to its revision.

    conditions: asked for. left_out: bells and stretches of bells that are not counted. axial_at: motion [mm] of a place
    of the bell by arc, for readings from a line on the bell.
    """
    rows = book.batches[(book.batches["mandrel_id"] == job.mandrel_id) & (book.batches["revision"] <= job.revision)]
    here = _only(book, rows["batch_id"])

    def steel(mandrel: str, revision: int) -> Meridian:
        return job.mandrel if revision == job.revision else steel_meridian(book, mandrel, revision)

    bells = tuple(_finished(bell) for bell in bell_readings(here, steel))
    if not bells:
        return no_bells()
    arc, numbers = station_index(np.concatenate([bell.arc for bell in bells]))
    parts = np.split(numbers, np.cumsum([bell.arc.size for bell in bells])[:-1])
    datums = _datums(here, axial_at)
    spun = rows.sort_values("spun_on", kind="stable")
    means = []
    for batch, revision, day in spun[["batch_id", "revision", "spun_on"]].itertuples(index=False):
        mine = [(bell, part) for bell, part in zip(bells, parts, strict=True) if bell.batch_id == batch]
        unlike = _unlike(book.conditions(str(batch)), conditions)
        mean = _batch_mean(mine, datums, left_out)
        if mean is not None:
            profile, count, aside = mean
            means.append(BatchMean(str(batch), str(day)[:10], int(revision), count, profile, unlike, aside))
    inside = np.minimum(arc, job.mandrel.length)
    return OwnBells(arc, job.mandrel.at(inside).z, tuple(means))


def _batch_mean(
    bells: Sequence[tuple[BellReadings, NDArray[np.intp]]], datums: Datums, left_out: Sequence[LeftOut]
) -> tuple[Profile, int, tuple[str, ...]] | None:
    """Profile of a batch, how many bells are in it, and which are not."""
    kept, aside = [], []
    for bell, numbers in bells:
        keep = np.full(bell.arc.size, True)
        for one in left_out:
            if one.bell_id == bell.bell_id:
                keep &= ~((bell.arc >= one.s_from_mm) & (bell.arc <= one.s_to_mm))
        if np.any(keep & (bell.springs > 0)):
            kept.append((bell.rows_where(keep), numbers[keep]))
        else:
            aside.append(bell.bell_id)
    profile = profile_of(kept, datums)
    return None if profile is None else (profile, len(kept), tuple(aside))


def _finished(bell: BellReadings) -> BellReadings:
    """The bell with its readings after trimming, when it has any: an untrimmed rim holds the flare in."""
    trimmed = np.array([session.stage != "spun" for session in bell.sessions])
    rows = trimmed[bell.session] & (bell.springs > 0)
    return bell.rows_where(rows) if rows.any() else bell


def _only(book: Book, batches: Iterable[str]) -> Book:
    """The book with no other batches than these."""
    wanted = set(batches)
    bells = book.bells[book.bells["batch_id"].isin(wanted)]
    return replace(
        book,
        batches=book.batches[book.batches["batch_id"].isin(wanted)],
        bells=bells,
        measurements=book.measurements[book.measurements["bell_id"].isin(set(bells["bell_id"]))],
    )


def _datums(book: Book, axial_at: Callable[[float], float]) -> Datums:
    rows = book.measurements
    felt = frozenset(rows[rows["kind"] == "clearance"]["gauge_id"])
    return Datums(zero_spread(book), felt, axial_at)


def _unlike(spun: Conditions, asked: Conditions) -> tuple[str, ...]:
    """The columns in which both are known and differ."""
    pairs = ((name, getattr(spun, name), getattr(asked, name)) for name in LIKE)
    return tuple(name for name, was, will in pairs if was is not None and will is not None and was != will)
