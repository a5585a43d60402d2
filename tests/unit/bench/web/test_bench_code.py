"""The short code: wrong ones make everybody wait longer, the right one opens a session that ends by itself."""

from __future__ import annotations

import re

import pytest

from springfit.bench.web.code_sessions import Sessions, TooSoon, new_code


class Clock:
    """A clock that a test sets."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


def test_the_right_code_opens_a_session_however_it_is_typed(clock: Clock) -> None:
    sessions = Sessions("1234 5678", clock=clock)
    for typed in ("12345678", "1234 5678", " 1234-5678 "):
        name = sessions.enter(typed)
        assert name is not None and sessions.is_open(name)
    assert not sessions.is_open("") and not sessions.is_open("another")


def test_a_session_ends_by_itself(clock: Clock) -> None:
    sessions = Sessions("1234 5678", hours=12, clock=clock)
    name = sessions.enter("12345678")
    clock.now += 12 * 3600 - 1
    assert sessions.is_open(name)
    clock.now += 1
    assert not sessions.is_open(name)


def test_each_wrong_code_doubles_the_wait_up_to_a_minute(clock: Clock) -> None:
    sessions, waits = Sessions("1234 5678", clock=clock), []
    for _ in range(9):
        assert sessions.enter("00000000") is None
        with pytest.raises(TooSoon) as soon:
            sessions.enter("12345678")  # the right one has to wait as well: no try tells anything
        waits.append(round(soon.value.seconds))
        clock.now += soon.value.seconds
    assert waits == [1, 2, 4, 8, 16, 32, 60, 60, 60]
    assert sessions.enter("12345678") is not None
    assert sessions.enter("00000000") is None
    with pytest.raises(TooSoon) as soon:
        sessions.enter("00000000")
    assert round(soon.value.seconds) == 1, "a right code ends the waiting"


def test_whoever_is_in_never_waits(clock: Clock) -> None:
    sessions = Sessions("1234 5678", clock=clock)
    name = sessions.enter("12345678")
    for _ in range(8):
        assert sessions.enter("99999999") is None
        clock.now += 61
    sessions.enter("99999999")
    assert sessions.is_open(name)


@pytest.mark.parametrize("typed", ["", "1234567", "123456789", "１２３４５６７８", "1234 567x", "'; --", "9" * 9999])
def test_nothing_else_is_the_code(clock: Clock, typed: str) -> None:
    assert Sessions("1234 5678", clock=clock).enter(typed) is None


def test_a_code_is_new_and_can_be_read_out() -> None:
    codes = {new_code() for _ in range(50)}
    assert len(codes) == 50
    assert all(re.fullmatch(r"\d{4} \d{4}", code) for code in codes)
