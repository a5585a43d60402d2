"""The commands `check`, `new`, `add`, `undo` and `show`: what is done to a record book itself."""

from __future__ import annotations

import argparse
from pathlib import Path

from springfit.commands.saying import say, say_findings
from springfit.files import write_files
from springfit.findings import Finding
from springfit.records.answers import checked_with_answers
from springfit.records.editing.adding import add_sheets
from springfit.records.editing.starting import new_book
from springfit.records.editing.undoing import undo_addition
from springfit.records.findings_listing import findings_html
from springfit.records.reading import read_book
from springfit.records.telling.showing import shown

__all__ = ["run_add", "run_check", "run_new", "run_show", "run_undo"]


def run_check(options: argparse.Namespace) -> int:
    """List every problem and doubt; 1 where there is an error."""
    checked = checked_with_answers(
        Path(options.book), decimal_comma=options.decimal_comma, days=options.days or "", accepted=options.accept or ""
    )
    findings = checked.findings
    if options.out:
        page = findings_html(findings, read=checked.read, title=f"What stands out in {Path(options.book).name}")
        write_files({"check.html": page.encode("utf-8")}, Path(options.out))
    said = [Finding("note", Path(options.book).name, None, None, line, "") for line in checked.read]
    if not options.json and said:
        print("\n".join(checked.read), end="\n\n")
    say_findings([*findings, *(said if options.json else ())], as_json=options.json, all_of_them=True)
    return 1 if any(finding.grade == "error" for finding in findings) else 0


def run_new(options: argparse.Namespace) -> int:
    """Start an empty book."""
    path = new_book(options.book, units=options.units or "mm")
    say(options, f"an empty book is in {path}; its guide says how to fill it", {"book": str(path)})
    return 0


def run_add(options: argparse.Namespace) -> int:
    """Merge sheets into the book, all or nothing."""
    done = add_sheets(
        options.book, options.sheets,
        dry_run=options.dry_run, like=options.like, decimal_comma=options.decimal_comma,
        replace_old=options.replace, reason=options.reason,
    )  # fmt: skip
    replaced = [vars(one) for one in done.replaced]
    summary = {"added": done.added, "unchanged": done.unchanged, "replaced": replaced, "files": done.files}
    say(options, "\n".join(done.lines()), summary)
    return 0


def run_undo(options: argparse.Namespace) -> int:
    """Take back what was added last."""
    say(options, "\n".join(done := undo_addition(options.book)), {"undone": done})
    return 0


def run_show(options: argparse.Namespace) -> int:
    """Print what the book has of a batch, bell, mandrel, target or the whole shop."""
    book, findings = read_book(options.book, decimal_comma=options.decimal_comma)
    lines = shown(book, findings, options.name, units=options.units or book.units)
    say(options, "\n".join(lines), {"shown": options.name, "lines": lines})
    return 0
