"""One piece of long work as a process: says how far it is, a line of JSON at a time, and last what came of it.

A process of its own, so that a value typed at the lathe is answered as fast while a book is being learned.
"""

from __future__ import annotations

import argparse
import json
import os
import sys
from pathlib import Path
from typing import Any

from springfit.findings import BookError

__all__ = ["main"]

_BEHIND = 10  # niceness: who enters values comes first


def main(arguments: list[str] | None = None) -> int:
    """`learn BOOK STORE`, `states BOOK STORE`, or `correct BOOK STORE TARGET OUT`."""
    parser = argparse.ArgumentParser()
    parser.add_argument("work", choices=("learn", "correct", "states"))
    parser.add_argument("book", type=Path)
    parser.add_argument("store", type=Path)
    parser.add_argument("target", nargs="?", default="")
    parser.add_argument("out", nargs="?", type=Path)
    options = parser.parse_args(arguments)
    os.nice(_BEHIND)
    try:
        done = {"learn": _learn, "correct": _correct, "states": _states}[options.work](options)
    except BookError as failed:
        _say({"problems": [one.line() for one in failed.findings if one.grade == "error"]})
        return 1
    except Exception as failed:
        _say({"problems": [f"that could not be done ({type(failed).__name__}: {failed})"]})
        return 1
    _say({"done": done})
    return 0


def _learn(options: argparse.Namespace) -> str:
    from springfit.learning.versions.store import ModelStore
    from springfit.records.reading import read_book
    from springfit.reporting.training_words import training_text
    from springfit.watching.judged_training import train_judged

    book, findings = read_book(options.book)
    store = ModelStore(options.store)
    told = train_judged(book, findings, store, progress=lambda said: _say({"progress": said}))
    return training_text(told)


def _states(options: argparse.Namespace) -> dict[str, str]:
    """The state of each batch that was judged before; none is judged for it."""
    from springfit.records.checks.slips.setting_aside import without_doubted_rows
    from springfit.records.reading import read_book
    from springfit.watching.batch_states import batch_states
    from springfit.watching.judgements import judgements_kept
    from springfit.watching.kept.kept_judgements import KeptJudgements
    from springfit.watching.out_of_round import with_out_of_round

    book, findings = read_book(options.book)
    kept = judgements_kept(without_doubted_rows(book, findings), findings, KeptJudgements(options.store))
    judged = with_out_of_round(book, [one.judged for one in kept if one.judged is not None])
    return {one.judged.batch_id: one.state for one in batch_states(judged)}


def _correct(options: argparse.Namespace) -> str:
    from springfit.decisions.correction import correct
    from springfit.decisions.learned_shop import LearnedShop
    from springfit.decisions.unlearned import unlearned
    from springfit.learning.versions.store import ModelStore
    from springfit.records.answers import require_answered
    from springfit.records.part import batch_digests
    from springfit.records.reading import read_book
    from springfit.reporting.output_files import write_correction
    from springfit.reporting.wording.reason_wording import reason_words
    from springfit.reporting.wording.verdict_wording import word_of

    book, findings = read_book(options.book)
    require_answered(options.book, book, findings, options.target)
    _say({"progress": "asking the model"})
    model = ModelStore(options.store).load()
    measured = batch_digests(book, [one.subject for one in findings if one.sets_aside])
    mandrel = book.targets[book.targets["target_id"] == options.target]["mandrel_id"]
    lacking = unlearned(
        book, measured, dict(model.memory.digests) if model.memory else {}, str(mandrel.iloc[0]) if len(mandrel) else ""
    )
    done = correct(LearnedShop(model), book, options.target, unlearned=lacking)
    write_correction(done, options.out, units=book.units)
    return f"{word_of(done.verdict)}: {reason_words(done.verdict.reason, book.units)}"


def _say(said: dict[str, Any]) -> None:
    print(json.dumps(said, ensure_ascii=False), flush=True)


if __name__ == "__main__":
    sys.exit(main())
