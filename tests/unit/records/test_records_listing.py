"""Findings rendered: one text, one JSON, one page, with cells as data in each."""

from __future__ import annotations

import html.parser
import json

from springfit.findings import Finding
from springfit.records import findings_html, findings_json, findings_text

HOSTILE = "<script>alert(1)</script>\"'&"
FINDINGS = (
    Finding("error", "a.csv", 2, "z_mm", f"{HOSTILE} is not a number", "a number"),
    Finding("doubt", "a.csv", 3, None, "=1+1", "", "", "B1", True),
)


class Tags(html.parser.HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.seen: list[str] = []
        self.text = ""

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.seen.append(tag)

    def handle_data(self, data: str) -> None:
        self.text += data


def test_page_shows_cells_and_never_runs_them() -> None:
    page = Tags()
    page.feed(findings_html(FINDINGS, title=HOSTILE))
    assert "script" not in page.seen and page.seen.count("tr") == 3
    assert f"{HOSTILE} is not a number" in page.text and "1 error, 1 doubt, no notes" in page.text


def test_json_has_every_field() -> None:
    first, second = json.loads(findings_json(FINDINGS))
    assert first["what"] == FINDINGS[0].what and first["row"] == 2
    assert second["sets_aside"] is True and second["column"] is None and second["subject"] == "B1"


def test_text_has_a_line_each_and_the_tally() -> None:
    lines = findings_text(FINDINGS).splitlines()
    assert lines[0].startswith("error: a.csv:2:z_mm: <script>") and lines[-1] == "1 error, 1 doubt, no notes"
    assert findings_text(()) == "no errors, no doubts, no notes"
