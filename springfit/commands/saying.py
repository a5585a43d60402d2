"""How a command speaks: what was done on standard output, what is wrong on standard error, either as JSON if asked."""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from springfit.findings import Finding

__all__ = ["Progress", "say", "say_files", "say_findings", "units_asked"]

QUIET_SECONDS = 2.0  # of work before progress is shown; a person waits so long without wondering; assumed


class Progress:
    """Says on standard error how far long work is, once it has become long."""

    def __init__(self) -> None:
        self._started = time.monotonic()

    def __call__(self, said: str) -> None:
        if time.monotonic() - self._started > QUIET_SECONDS:
            print(f"  {said}", file=sys.stderr, flush=True)


def units_asked(options: argparse.Namespace, usual: str) -> Literal["mm", "in"]:
    """Units to write in: those asked for, else those of the book."""
    return "in" if (options.units or usual) == "in" else "mm"


def say(options: argparse.Namespace, text: str, summary: dict[str, Any]) -> None:
    """`text` for a person, or `summary` for a script that asked for JSON."""
    print(json.dumps(summary, ensure_ascii=False, default=str) if options.json else text)


def say_files(
    options: argparse.Namespace, paths: Sequence[Path], summary: dict[str, Any], first: str = ""
) -> None:
    """What came of it, and each file that was written."""
    lines = [first] if first else []
    lines += [f"wrote {path}" for path in paths]
    say(options, "\n".join(lines), {**summary, "files": [str(path) for path in paths]})


def say_findings(findings: Sequence[Finding], *, as_json: bool, all_of_them: bool = False) -> None:
    """Problems on standard error, one a line; all findings on standard output where they are the answer."""
    from springfit.records.findings_listing import findings_json, findings_text

    if as_json:
        print(findings_json(findings))
    elif all_of_them:
        print(findings_text(findings))
    else:
        errors = [finding for finding in findings if finding.grade == "error"]
        print("\n".join(finding.line() for finding in errors), file=sys.stderr)
