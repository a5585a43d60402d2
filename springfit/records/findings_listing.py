"""The findings as one table, rendered to text, JSON and a page; cells are data in each of them."""

from __future__ import annotations

import dataclasses
import html
import json
from collections import Counter
from collections.abc import Sequence

from springfit.findings import Finding

__all__ = ["findings_html", "findings_json", "findings_tally", "findings_text"]

_COLUMNS = ("grade", "file", "row", "column", "what", "expected", "remedy", "subject", "sets_aside",
            "sets_row_aside", "stops")  # fmt: skip
_STYLE = (
    "body{font:17px/1.4 system-ui,sans-serif;margin:2em;max-width:75em}"
    "table{border-collapse:collapse;width:100%}"
    "th,td{text-align:left;vertical-align:top;padding:.3em .6em;border-bottom:1px solid #ccc}"
    "td{overflow-wrap:anywhere}.error,.doubt{font-weight:700}"
    # on a telephone a row stands as a list of its own, each value under its name
    "@media screen and (max-width:48rem){body{margin:.6em}h1{font-size:1.4em;overflow-wrap:anywhere}"
    "thead,td:empty{display:none}"
    "tr{display:flex;flex-wrap:wrap;column-gap:1rem;border-bottom:2px solid #000;padding:.4em 0}"
    "td{display:block;border:0;padding:0}"
    "td::before{content:attr(data-column);display:block;font-size:.8em;font-weight:700}}"
)


def findings_tally(findings: Sequence[Finding]) -> str:
    """How many there are of each grade: `2 errors, 1 doubt, no notes`."""
    count = Counter(str(finding.grade) for finding in findings)
    return ", ".join(
        f"{count[g] or 'no'} {g}{'' if count[g] == 1 else 's'}" for g in ("error", "doubt", "note")
    )


def findings_text(findings: Sequence[Finding]) -> str:
    """One line a finding, its grade first, and the tally."""
    lines = [f"{finding.grade}: {finding.line()}" for finding in findings]
    return "\n".join([*lines, findings_tally(findings)])


def findings_json(findings: Sequence[Finding]) -> str:
    """A JSON list with one object a finding, fields named as in `Finding`."""
    return json.dumps([dataclasses.asdict(finding) for finding in findings], ensure_ascii=False, indent=1)


def findings_html(findings: Sequence[Finding], *, title: str, read: Sequence[str] = ()) -> str:
    """A self-contained page with the findings as a table, what was `read` above it; every cell is escaped."""
    head = "".join(f"<th>{_named(name)}</th>" for name in _COLUMNS)
    body = "\n".join(_row(finding) for finding in findings)
    name = html.escape(title)
    said = "".join(f"<p>{html.escape(line)}</p>" for line in read)
    return (
        f'<!doctype html>\n<html lang="en"><head><meta charset="utf-8">'
        f'<meta name="viewport" content="width=device-width, initial-scale=1"><title>{name}</title>'
        f"<style>{_STYLE}</style></head>\n<body><h1>{name}</h1>{said}<p>{findings_tally(findings)}</p>\n"
        f"<table><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table></body></html>\n"
    )


def _named(column: str) -> str:
    return column.replace("_", " ")


def _row(finding: Finding) -> str:
    flags = {name: "yes" if getattr(finding, name) else "" for name in _COLUMNS[-3:]}
    values = {**dataclasses.asdict(finding), **flags}
    kinds = {"grade": f' class="{finding.grade}"'}
    cells = (f'<td{kinds.get(name, "")} data-column="{_named(name)}">' for name in _COLUMNS)
    texts = ("" if values[name] is None else html.escape(str(values[name])) for name in _COLUMNS)
    return "<tr>" + "".join(f"{cell}{text}</td>" for cell, text in zip(cells, texts, strict=True)) + "</tr>"
