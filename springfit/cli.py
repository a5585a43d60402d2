"""The command line: read, one call, write. Work is done below; here it is asked for and said what came of it."""

from __future__ import annotations

import argparse
import json
import os
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, Literal

from springfit.arguments import parser
from springfit.findings import BookError, Finding

__all__ = ["main"]

QUIET_SECONDS = 2.0  # of work before progress is shown


def main(arguments: Sequence[str] | None = None) -> int:
    """Run `springfit` with `arguments` (the command line's own when None): 0 done, 1 input at fault, 2 wrong usage."""
    options = parser().parse_args(arguments)
    # The matrices are small: threads of a linear-algebra library would spend their time waiting for one another.
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    try:
        return _RUN[options.command](options)
    except BookError as failed:
        _say_findings(failed.findings, as_json=options.json)
        return 1
    except BrokenPipeError:
        # Whoever reads our words has read enough; the work itself was done before they were said.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as failed:
        place = failed.filename or "."
        said = f"{place}: {failed.strerror or failed}, expected a place that can be read and written"
        print(said, file=sys.stderr)
        return 1


def _check(options: argparse.Namespace) -> int:
    from springfit.records.answers import checked_with_answers

    findings = checked_with_answers(
        Path(options.book), decimal_comma=options.decimal_comma, days=options.days or "", accepted=options.accept or ""
    )
    if options.out:
        from springfit.files import write_files
        from springfit.records.findings_listing import findings_html

        page = findings_html(findings, title=f"What stands out in {Path(options.book).name}")
        write_files({"check.html": page.encode("utf-8")}, Path(options.out))
    _say_findings(findings, as_json=options.json, all_of_them=True)
    return 1 if any(finding.grade == "error" for finding in findings) else 0


def _new(options: argparse.Namespace) -> int:
    from springfit.records.editing.starting import new_book

    path = new_book(options.book, units=options.units or "mm")
    _say(options, f"an empty book is in {path}; its guide says how to fill it", {"book": str(path)})
    return 0


def _add(options: argparse.Namespace) -> int:
    from springfit.records.editing.adding import add_sheets

    done = add_sheets(
        options.book, options.sheets,
        dry_run=options.dry_run, like=options.like, decimal_comma=options.decimal_comma,
    )  # fmt: skip
    summary = {"added": done.added, "unchanged": done.unchanged, "files": done.files}
    _say(options, "\n".join(done.lines()), summary)
    return 0


def _undo(options: argparse.Namespace) -> int:
    from springfit.records.editing.undoing import undo_addition

    _say(options, "\n".join(done := undo_addition(options.book)), {"undone": done})
    return 0


def _train(options: argparse.Namespace) -> int:
    from springfit.learning.versions.store import ModelStore
    from springfit.learning.versions.training import train
    from springfit.records.reading import read_book
    from springfit.reporting.training_words import training_summary, training_text, write_left_out

    book, findings = read_book(options.book, decimal_comma=options.decimal_comma)
    done = train(book, findings, ModelStore(Path(options.store)), progress=_Progress())
    picture = write_left_out(done, Path(options.store))
    seen = f"\nleft-out errors as a picture: {picture}" if picture else ""
    _say(options, training_text(done) + seen, training_summary(done))
    return 0


def _predict(options: argparse.Namespace) -> int:
    from springfit.asking import asked_model, check_alloys, naming
    from springfit.decisions.forecast import forecast
    from springfit.learning.data.mandrel_steel import draft_meridian
    from springfit.records.conditions import read_conditions, read_profile
    from springfit.reporting.output_files import write_prediction

    mandrel = draft_meridian(*read_profile(options.profile, decimal_comma=options.decimal_comma))
    conditions = read_conditions(options.conditions, decimal_comma=options.decimal_comma)
    check_alloys(options.conditions, [one.alloy for one in conditions])
    model, unlearned = asked_model(options, _Progress())
    told = [naming(forecast(model, mandrel, one, stage=options.stage), unlearned) for one in conditions]
    paths = write_prediction(told, Path(options.out), units=_units(options, model.units))
    _say_files(options, paths, {"model_version": model.version, "names": [one.name for one in told]})
    return 0


def _correct(options: argparse.Namespace) -> int:
    from springfit.asking import check_alloys, mandrel_of, model_of_book, order_before
    from springfit.decisions.correction import correct
    from springfit.decisions.learned_shop import LearnedShop
    from springfit.records.answers import require_answered
    from springfit.records.conditions import read_conditions
    from springfit.records.reading import read_book
    from springfit.reporting.output_files import write_correction
    from springfit.reporting.wording.reason_wording import reason_words

    book, findings = read_book(options.book, decimal_comma=options.decimal_comma)
    require_answered(Path(options.book), book, findings, options.target)
    mandrel = mandrel_of(book, options.target)
    model, unlearned = model_of_book(book, findings, options, _Progress(), mandrel_id=mandrel)
    asked = None
    if options.conditions:
        asked = read_conditions(options.conditions, decimal_comma=options.decimal_comma)[0]
        check_alloys(options.conditions, [asked.alloy])
    units = _units(options, book.units)
    done = correct(
        LearnedShop(model), book, options.target, conditions=asked,
        cost_ratio=options.cost_ratio, skive_mm=options.skive, unlearned=unlearned,
        ordered=order_before(book, options.target, Path(options.out)),
    )  # fmt: skip
    paths = write_correction(done, Path(options.out), units=units)
    verdict, reason = done.verdict.verdict, reason_words(done.verdict.reason, units)
    summary = {"target": options.target, "verdict": verdict, "reason": reason}
    _say_files(options, paths, summary, f"{verdict.upper()}: {reason}")
    return 0


def _survey(options: argparse.Namespace) -> int:
    from springfit.survey_command import run_survey

    first, paths, summary = run_survey(options)
    _say_files(options, paths, summary, first)
    return 0


def _demo(options: argparse.Namespace) -> int:
    from springfit.demo.locate import demo_folder

    source, out = demo_folder(), Path(options.out)
    book, store = str(source / "demo-shop"), str(out / "models")
    steps = (
        ("check the book", ["check", book, "--out", str(out / "check")]),
        ("train on it", ["train", book, "--store", store]),
        (
            "predict a draft mandrel's bell",
            ["predict", str(source / "draft_mandrel.csv"), "--conditions", str(source / "draft_conditions.csv"),
             "--store", store, "--out", str(out / "prediction")],
        ),
        ("correct a mandrel", ["correct", book, "--target", options.target, "--store", store,
                               "--out", str(out / "correction")]),
    )  # fmt: skip
    for title, arguments in steps:
        print(f"\n== {title}: springfit {' '.join(arguments[:1])}", flush=True)
        done = main(arguments)
        if done:
            return done
    print(f"\nopen {out / 'correction' / 'correction.html'}")
    return 0


def _units(options: argparse.Namespace, usual: str) -> Literal["mm", "in"]:
    """Units to write in: those asked for, else those of the book."""
    return "in" if (options.units or usual) == "in" else "mm"


class _Progress:
    """Says on standard error how far long work is, once it has become long."""

    def __init__(self) -> None:
        self._started = time.monotonic()

    def __call__(self, said: str) -> None:
        if time.monotonic() - self._started > QUIET_SECONDS:
            print(f"  {said}", file=sys.stderr, flush=True)


def _say(options: argparse.Namespace, text: str, summary: dict[str, Any]) -> None:
    print(json.dumps(summary, ensure_ascii=False, default=str) if options.json else text)


def _say_files(
    options: argparse.Namespace, paths: Sequence[Path], summary: dict[str, Any], first: str = ""
) -> None:
    lines = [first] if first else []
    lines += [f"wrote {path}" for path in paths]
    _say(options, "\n".join(lines), {**summary, "files": [str(path) for path in paths]})


def _say_findings(findings: Sequence[Finding], *, as_json: bool, all_of_them: bool = False) -> None:
    """Problems on standard error, one a line; all findings on standard output where they are the answer."""
    from springfit.records.findings_listing import findings_json, findings_text

    if as_json:
        print(findings_json(findings))
    elif all_of_them:
        print(findings_text(findings))
    else:
        errors = [finding for finding in findings if finding.grade == "error"]
        print("\n".join(finding.line() for finding in errors), file=sys.stderr)


_RUN: dict[str, Callable[[argparse.Namespace], int]] = {
    "check": _check,
    "new": _new,
    "add": _add,
    "undo": _undo,
    "train": _train,
    "predict": _predict,
    "correct": _correct,
    "survey": _survey,
    "demo": _demo,
}


if __name__ == "__main__":
    sys.exit(main())
