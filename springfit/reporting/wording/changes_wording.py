"""What changed since the last report, and why the verdict moved, in three lines."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from springfit.reporting.wording.length_wording import Units, amount, station
from springfit.reporting.wording.reason_wording import reason_words
from springfit.reporting.wording.verdict_wording import sentence

if TYPE_CHECKING:
    from springfit.decisions.correction import Correction
    from springfit.reporting.stored_reports import StoredReport

__all__ = ["changes_since"]


def changes_since(before: StoredReport, correction: Correction, batches: list[str], units: Units) -> tuple[str, ...]:
    """The records and the model; the verdict and the error; why it is what it is now. batches: measured by now."""
    facts = before.facts
    return (_records(facts, correction, batches), _verdicts(before, correction, units), _why(facts, correction, units))


def _records(facts: dict[str, Any], correction: Correction, batches: list[str]) -> str:
    told = facts.get("batches")
    new = [batch for batch in batches if batch not in told] if isinstance(told, list) else []
    parts = [f"new batches {', '.join(new)}" if new else "no new batch"]
    if facts.get("revision") != correction.job.revision:
        parts.append(f"the steel is revision {correction.job.revision} (was {facts.get('revision')})")
    if facts.get("model_version") != correction.model_version:
        parts.append(f"model {correction.model_version} (was {facts.get('model_version')})")
    if not new and facts.get("book_digest") != correction.book_digest:
        parts.append("the records were changed")
    return sentence(f"since {str(facts.get('written', 'then'))[:10]}: {'; '.join(parts)}")


def _verdicts(before: StoredReport, correction: Correction, units: Units) -> str:
    was, now = str(before.facts.get("verdict")).replace("_", " "), correction.verdict.verdict.replace("_", " ")
    moved = f"the verdict is {now}, as before" if was == now else f"the verdict went from {was} to {now}"
    error, cut = (before.length_mm(name) for name in ("largest_error", "largest_cut"))
    then = f"{amount(error, units, signed=True)} at {station(before.length_mm('largest_error_at'), units)}"
    verdict = correction.verdict
    today = (
        f"{amount(verdict.largest_error_mm, units, signed=True)} at "
        f"{station(verdict.largest_error_at_mm, units)}"
    )
    cuts = f"{amount(cut, units)} of cut then, {amount(verdict.largest_cut_mm, units)} now"
    return sentence(f"{moved}; largest error forecast {then} then, {today} now; {cuts}")


def _why(facts: dict[str, Any], correction: Correction, units: Units) -> str:
    now = reason_words(correction.verdict.reason, units)
    if facts.get("verdict") == correction.verdict.verdict:
        return "Why: for the same kind of reason, with the numbers above."
    return sentence(f"why: {now.split(':')[0].split(';')[0]}")
