"""The usual kind of a gauge by what a person calls it: in the plural, and as either side of the sea spells it."""

from __future__ import annotations

import pytest

from springfit.records.rules.usual_gauges import usual_gauge

KINDS = {
    "6 in dial caliper": "dial caliper", "dial calipers": "dial caliper", "Digital Callipers, 6 in": "digital caliper",
    "calipers": "vernier caliper", "micrometers": "micrometer", "mike": "micrometer", "0-1 in mics": "micrometer",
    "bore gage": "telescoping gauge", "telescoping gages": "telescoping gauge", "ring gages": "ring gauges",
    "feeler gage set": "feeler leaves", "feelers": "feeler leaves",
    "dial gage": "stylus or dial indicator on the slide",
    "outside micrometer over the flare": "micrometer", "ball micrometers": "ball micrometer for walls",
    "brass": None, "optical comparator": None, "": None,
}  # fmt: skip


@pytest.mark.parametrize(("what", "kind"), KINDS.items())
def test_a_gauge_is_of_the_kind_that_it_is_called(what: str, kind: str | None) -> None:
    found = usual_gauge(what)
    assert (found.name if found else None) == kind
