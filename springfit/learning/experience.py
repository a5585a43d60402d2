"""All that a record book teaches, made once: steel, fields, sound readings, and what was set aside, and why."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
from joblib import Parallel, delayed
from numpy.typing import NDArray

from springfit.findings import BookError, Finding
from springfit.geometry.meridian import Meridian
from springfit.learning.basis.hand import AS_ASSUMED, Hand
from springfit.learning.basis.laid_state import LaidState, laid_states
from springfit.learning.basis.spun_sheet import draw_end_arc, sheet_flow_stress
from springfit.learning.basis.stress_basis import StressBasis
from springfit.learning.data.gauge_zero import zero_spread
from springfit.learning.data.mandrel_steel import steel_of_book
from springfit.learning.data.observations import Bell, BellReadings, bell_readings
from springfit.learning.features.batch_features import BATCH_FEATURES, LABELS
from springfit.learning.regression.designs import MeasuredBasis, with_designs
from springfit.learning.regression.layout import BatchFacts, Layout
from springfit.learning.regression.summaries import SEATS, Columns, Summaries, summarise
from springfit.learning.set_aside import Doubted, SetAside
from springfit.mechanics.metal.alloys import alloy, unknown_alloys
from springfit.mechanics.shell.limits import elastic_envelope, with_large_rotations
from springfit.mechanics.shell.release import ShellOfRevolution
from springfit.records.book import Book
from springfit.records.checks.slips.setting_aside import without_doubted_rows
from springfit.records.conditions import Conditions

__all__ = ["Experience", "batch_facts", "envelope_of", "experience_of"]

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Experience:
    """Readings of a book with what explains them.

    `hand` lays its sheet; `steel` by mandrel and revision; `conditions`, `facts`, `revision` and `spun_on` by batch;
    `measured_bases` the columns and `laid` what laying says of each measured batch; `raw` the bells before any was
    taken out.
    """

    digest: str
    units: str
    hand: Hand
    steel: Mapping[tuple[str, int], Meridian]
    conditions: Mapping[str, Conditions]
    revision: Mapping[str, int]
    facts: Mapping[str, BatchFacts]
    spun_on: Mapping[str, str]
    bells: tuple[Bell, ...]
    raw: tuple[Bell, ...]
    set_aside: tuple[SetAside, ...]
    columns: Columns
    measured_bases: Mapping[str, MeasuredBasis]
    laid: Mapping[str, LaidState | None]

    def meridian(self, batch: str) -> Meridian:
        """The steel a batch was spun on."""
        return self.steel[self.facts[batch].mandrel_id, self.revision[batch]]

    def draw_end_arc(self, batch: str) -> float:
        """Arc [mm] where drawing of a batch stopped."""
        return draw_end_arc(self.meridian(batch), self.conditions[batch])

    def summaries(self, noise_scale: Mapping[str, float] | None = None) -> Summaries:
        """Sufficient statistics of all sound bells."""
        return summarise(self.bells, self.columns, noise_scale=noise_scale)

    def layout(self) -> Layout:
        """Order of the unknowns for the batches that have sound bells."""
        measured = {bell.batch_id for bell in self.bells}
        facts = {batch: fact for batch, fact in self.facts.items() if batch in measured}
        mandrels = tuple(sorted({fact.mandrel_id for fact in facts.values()}))
        levels = tuple(
            tuple(sorted({label for fact in facts.values() if (label := fact.labels[i]) is not None}))
            for i in range(len(LABELS))
        )
        return Layout(self.columns, facts, mandrels, levels)


def experience_of(
    book: Book,
    findings: Sequence[Finding] = (),
    *,
    hand: Hand | None = AS_ASSUMED,
    known: Columns | None = None,
    progress: Callable[[str], None] = lambda _: None,
) -> Experience:
    """What `book` teaches. `findings` are those of reading it: a doubt that sets a bell aside leaves it out here.
    `hand` lays its sheet (None: nothing is laid, and columns of it are nought); `known` are the columns of a model that
    it is to be added to.

    Raises BookError for an alloy that the table does not have.
    """
    book = without_doubted_rows(book, findings)
    conditions = {str(batch): book.conditions(str(batch)) for batch in book.batches["batch_id"]}
    _require_known_alloys(book)
    steel = steel_of_book(book)
    read = bell_readings(book, lambda mandrel, revision: steel[mandrel, revision])
    names = book.batches["batch_id"].astype(str)
    mandrel = dict(zip(names, book.batches["mandrel_id"].astype(str), strict=True))
    facts = {b: batch_facts(mandrel[b], c) for b, c in conditions.items()}
    gauges = zero_spread(book)
    columns = Columns(tuple(gauges), tuple(gauges.values()))
    made = Experience(
        digest=book.digest, units=book.units, hand=hand or AS_ASSUMED, steel=steel, conditions=conditions,
        revision=dict(zip(names, book.batches["revision"].astype(int), strict=True)), facts=facts,
        spun_on=dict(zip(names, book.batches["spun_on"].astype(str).str[:10], strict=True)),
        bells=(), raw=(), set_aside=(), columns=known.joined(columns) if known else columns, measured_bases={},
        laid={},
    )  # fmt: skip
    measured = list(dict.fromkeys(bell.batch_id for bell in read))
    sheets = [(made.meridian(b), conditions[b]) for b in measured]
    laid = laid_states(sheets, hand, progress=progress) if hand else (None,) * len(sheets)
    made = replace(made, laid=dict(zip(measured, laid, strict=True)))
    raw, measured_bases = _with_designs(made, read)
    doubted = {f.subject: f.what for f in findings if f.sets_aside}
    aside = tuple(SetAside(b.bell_id, b.batch_id, Doubted(doubted[b.bell_id])) for b in raw if b.bell_id in doubted)
    sound = tuple(b for b in raw if b.bell_id not in doubted)
    return replace(made, raw=raw, bells=sound, measured_bases=measured_bases, set_aside=aside)


def batch_facts(mandrel_id: str, conditions: Conditions) -> BatchFacts:
    """Feature values and labels of a batch as recorded or asked for."""
    features = np.array([feature.value(conditions) for feature in BATCH_FEATURES])
    words = {**vars(conditions), "mandrel": mandrel_id or None}
    return BatchFacts(mandrel_id, features, tuple(words[kind] for kind in LABELS))


def envelope_of(meridian: Meridian, conditions: Conditions, basis: StressBasis) -> Floats:
    """Elastic envelope [mm] at the stations of `basis`: no locked-in stress moves the sheet further."""
    return _widest(_unit_envelope(meridian, conditions, basis), conditions)


def _widest(unit_envelope: Floats, conditions: Conditions) -> Floats:
    """The envelope of the batch's sheet, with what large rotations add near a flat rim."""
    linear = unit_envelope * sheet_flow_stress(alloy(conditions.alloy), conditions)
    return with_large_rotations(linear, conditions.wall_or_usual)


def _unit_envelope(meridian: Meridian, conditions: Conditions, basis: StressBasis) -> Floats:
    """The same for a flow stress of 1 MPa, to which it is proportional."""
    metal, points = alloy(conditions.alloy), meridian.at(basis.arc)
    shell = ShellOfRevolution.on_inner_surface(
        points.s, points.z, points.r, points.slope, wall=conditions.wall_or_usual,
        youngs_modulus=metal.youngs_modulus, poisson_ratio=metal.poisson_ratio,
    )  # fmt: skip
    few = np.unique(np.linspace(0, len(basis.arc) - 1, 60).astype(int))
    return np.interp(basis.arc, basis.arc[few], elastic_envelope(shell, 1.0, at=few))


def _with_designs(made: Experience, read: Sequence[BellReadings]) -> tuple[tuple[Bell, ...], dict[str, MeasuredBasis]]:
    """Every bell read with its design, in order, and the measured basis of each batch. Bells of one steel cut at one
    rim from sheet of one wall have their elastic envelope worked out once."""
    of_batch: dict[str, list[BellReadings]] = {}
    for bell in read:
        of_batch.setdefault(bell.batch_id, []).append(bell.first_sessions(SEATS))
    envelopes: dict[tuple[object, ...], Floats] = {}

    def explained(batch: str, some: list[BellReadings]) -> tuple[tuple[Bell, ...], MeasuredBasis]:
        steel, how = made.meridian(batch), made.conditions[batch]

        def envelope(basis: StressBasis) -> Floats:
            key = (id(steel), float(basis.arc[-1]), how.wall_mm, how.alloy)
            if key not in envelopes:
                envelopes[key] = _unit_envelope(steel, how, basis)
            return _widest(envelopes[key], how)

        return with_designs(some, steel, how, made.laid[batch], columns=made.columns, envelope_of=envelope)

    # Threads share the envelopes; the work in them is the release of shells, which lets the others run.
    done = Parallel(n_jobs=-1, prefer="threads")(delayed(explained)(*one) for one in of_batch.items())
    bells = {bell.bell_id: bell for some, _ in done for bell in some}
    measured_bases = {batch: measured for batch, (_, measured) in zip(of_batch, done, strict=True)}
    return tuple(bells[bell.bell_id] for bell in read), measured_bases


def _require_known_alloys(book: Book) -> None:
    """BookError naming the row of every batch whose alloy the table does not have."""
    batches = book.batches
    problems = [
        book.finding(
            "error",
            "batches",
            batches.index[place],
            "alloy",
            what=f"the alloy {unknown.found!r} is not in the table",
            expected=unknown.expected,
            subject=str(batches["batch_id"].iloc[place]),
        )
        for place, unknown in unknown_alloys(batches["alloy"].astype(str))
    ]
    if problems:
        raise BookError(problems)
