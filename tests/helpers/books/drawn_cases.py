"""A law tried on a few drawn cases always, and on many by hand: reading a book for each takes its time."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis.strategies import SearchStrategy


def drawn_cases(*drawn: SearchStrategy, few: int, many: int) -> Callable[[Callable[..., None]], Callable[[int], None]]:
    """A test of what `drawn` gives, as hypothesis' own `given`, once for each of the two counts."""

    def made(law: Callable[..., None]) -> Callable[[int], None]:
        @pytest.mark.parametrize("examples", [few, pytest.param(many, marks=pytest.mark.benchmark)])
        def tried(examples: int) -> None:
            how = settings(max_examples=examples, deadline=None, suppress_health_check=list(HealthCheck))
            how(given(*drawn)(law))()

        tried.__name__, tried.__doc__ = law.__name__, law.__doc__
        return tried

    return made
