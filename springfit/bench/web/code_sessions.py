"""The short code of a shared page, and the sessions of those who gave it."""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections.abc import Callable

__all__ = ["Sessions", "TooSoon", "new_code"]

_FIGURES = 8  # of the code: at the fastest rate of tries below, 1 chance in 7000 in a day
_HOURS = 12  # that a session lasts: a long shift
_SLOWEST_S = 60.0  # between two tries, once seven codes were wrong; a hand that mistyped can still wait it out
_MOST_OPEN = 200  # sessions: more are no shop's tablets


def new_code() -> str:
    """A code to read out across a shop: eight figures in two fours."""
    figures = f"{secrets.randbelow(10**_FIGURES):0{_FIGURES}d}"
    return f"{figures[:4]} {figures[4:]}"


class TooSoon(Exception):
    """A try at the code before it was time; `seconds` are left."""

    def __init__(self, seconds: float) -> None:
        self.seconds = seconds
        super().__init__(f"wait {seconds:.0f} seconds")


class Sessions:
    """Open sessions, and how long the next try at the code has to wait after wrong ones.

    Waiting is for everybody: who has many addresses gains nothing by them. An open session is never made to wait.
    """

    def __init__(self, code: str, *, hours: float = _HOURS, clock: Callable[[], float] = time.monotonic) -> None:
        self._code = _plain(code)
        self._lasts, self._clock = hours * 3600.0, clock
        self._until: dict[str, float] = {}
        self._wrong, self._not_before = 0, 0.0
        self._guard = threading.Lock()

    @property
    def lasts(self) -> int:
        """Seconds that a session lasts."""
        return int(self._lasts)

    def enter(self, typed: str) -> str | None:
        """A new session's name where the code is right, else None; TooSoon before another try may be made."""
        with self._guard:
            now = self._clock()
            if now < self._not_before:
                raise TooSoon(self._not_before - now)
            if not hmac.compare_digest(_plain(typed).encode(), self._code.encode()):
                self._wrong += 1
                self._not_before = now + min(2.0 ** (self._wrong - 1), _SLOWEST_S)
                return None
            self._wrong = 0
            self._until = {name: until for name, until in self._until.items() if until > now}
            while len(self._until) >= _MOST_OPEN:
                self._until.pop(min(self._until, key=lambda name: self._until[name]))
            name = secrets.token_urlsafe(32)
            self._until[name] = now + self._lasts
            return name

    def is_open(self, name: str) -> bool:
        """Whether a session of that name is open."""
        with self._guard:
            return self._until.get(name, 0.0) > self._clock()


def _plain(code: str) -> str:
    return "".join(letter for letter in code[:40] if letter.isascii() and letter.isdigit())
