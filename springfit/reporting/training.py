"""What a training tells: a few lines for the terminal and the same facts for scripts."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from springfit.learning.training import Training

__all__ = ["training_summary", "training_text"]

_MOST_LISTED = 12  # bells set aside that are listed one by one


def training_text(done: Training) -> str:
    """Lines for the terminal: what was learned from, how well left-out batches are forecast, what was set aside."""
    lines = [
        f"{done.version}: learned from {done.bells} bells of {done.batches} batches ({done.readings} readings)",
        f"{'in use' if done.in_use else 'NOT in use'}: {done.reason}",
    ]
    if done.validation is not None:
        lines.append(done.validation.text())
    if done.logged:
        lines.append(f"forecasts of {done.logged} new batches were logged before they were learned from")
    lines.extend(_set_aside(done))
    if done.unmeasured_scrap:
        lines.append(
            f"{done.unmeasured_scrap} scrapped bells were never measured: what went wrong there cannot be learned"
        )
    return "\n".join(lines)


def training_summary(done: Training) -> dict[str, Any]:
    """The same for scripts."""
    return {
        "version": done.version,
        "in_use": done.in_use,
        "reason": done.reason,
        "batches": done.batches,
        "bells": done.bells,
        "readings": done.readings,
        "validation": {} if done.validation is None else done.validation.as_dict(),
        "set_aside": [vars(one) for one in done.set_aside],
        "unmeasured_scrap": done.unmeasured_scrap,
    }


def _set_aside(done: Training) -> list[str]:
    """Bells set aside, one a line; many of one batch are one line."""
    batches = Counter(one.batch_id for one in done.set_aside)
    lines, told = [], set()
    for one in done.set_aside:
        if batches[one.batch_id] > 3:
            if one.batch_id not in told:
                told.add(one.batch_id)
                bells = len({other.bell_id for other in done.set_aside if other.batch_id == one.batch_id})
                what = f"{bells} bells of batch {one.batch_id}, such as {one.bell_id}"
                lines.append(f"set aside in part: {what}: {one.reason}")
        else:
            lines.append(f"set aside: {one.bell_id}: {one.reason}")
    more = len(lines) - _MOST_LISTED
    return lines[:_MOST_LISTED] + ([f"... and {more} more"] if more > 0 else [])
