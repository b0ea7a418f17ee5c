"""Who may come in: a code that works once, few tries, visits that end."""

from __future__ import annotations

import hashlib
import hmac
import secrets
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

CODE_SIGNS = "ACDEFGHJKMNPQRTUVWXY34679"
"""Letters and digits that no one mistakes for one another on a screen or said aloud."""
CODE_LENGTH = 8
VISIT_S = 12 * 3600.0
"""A visit ends after this long, in use or not: a working day."""
TRIES_OF_ONE = 5
TRIES_OF_ALL = 60
TRIES_KEPT_S = 600.0
"""Wrong codes count for ten minutes: 5 from one address, 60 from all of them together. At 60 in ten
minutes a code of 25^8 = 1.5e11 would take some 24,000 years to be guessed at even odds."""
MOST_ADDRESSES = 1_000
MOST_VISITS = 100


@dataclass(frozen=True)
class Entry:
    """The answer at the door: a secret for the visitor's cookie, or the reason why not."""

    secret: str = ""
    reason: str = ""


class Doorkeeper:
    """Keeps the code and the visits in memory; a restart ends all visits. Safe across threads.

    Parameters
    ----------
    clock : callable
        Seconds that only rise (`time.monotonic`); tests give their own.
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._lock = threading.Lock()
        self._code = _new_code()
        self._visits: dict[str, float] = {}  # digest of the secret -> when the visit ends
        self._wrong: dict[str, list[float]] = {}  # address -> when it gave wrong codes

    @property
    def code(self) -> str:
        """The code that lets the next visitor in, in two groups of four."""
        with self._lock:
            return f"{self._code[:4]}-{self._code[4:]}"

    def enter(self, given: str, address: str) -> Entry:
        """Let a visitor in who gives the code: the code is used up and a new one takes its place.

        The comparison takes the same time whatever was given. `reason` is "wrong" or "wait".
        """
        with self._lock:
            now = self._clock()
            self._forget_old(now)
            of_one = len(self._wrong.get(address, ()))
            if of_one >= TRIES_OF_ONE or sum(map(len, self._wrong.values())) >= TRIES_OF_ALL:
                return Entry(reason="wait")
            sent = "".join(sign for sign in given.upper() if sign.isalnum()).encode()
            if not hmac.compare_digest(sent, self._code.encode()):
                if address in self._wrong or len(self._wrong) < MOST_ADDRESSES:
                    self._wrong.setdefault(address, []).append(now)
                return Entry(reason="wrong")
            self._code = _new_code()
            self._wrong.pop(address, None)
            while len(self._visits) >= MOST_VISITS:
                del self._visits[min(self._visits, key=self._visits.__getitem__)]
            secret = secrets.token_urlsafe(32)
            self._visits[_digest(secret)] = now + VISIT_S
            return Entry(secret=secret)

    def seconds_left(self, secret: str) -> float:
        """How long the visit of whoever holds this secret may still last; 0 when it may not."""
        with self._lock:
            # looked up by digest: how far a wrong secret agrees with a right one cannot be timed
            ends = self._visits.get(_digest(secret))
            return 0.0 if ends is None else max(0.0, ends - self._clock())

    def end_all(self) -> None:
        """Send every visitor out and change the code."""
        with self._lock:
            self._visits.clear()
            self._code = _new_code()

    def visitors(self) -> int:
        """How many visits have not ended."""
        with self._lock:
            self._forget_old(self._clock())
            return len(self._visits)

    def _forget_old(self, now: float) -> None:
        self._visits = {digest: ends for digest, ends in self._visits.items() if ends > now}
        kept = {a: [t for t in times if now - t < TRIES_KEPT_S] for a, times in self._wrong.items()}
        self._wrong = {a: times for a, times in kept.items() if times}


def _new_code() -> str:
    return "".join(secrets.choice(CODE_SIGNS) for _ in range(CODE_LENGTH))


def _digest(secret: str) -> str:
    return hashlib.sha256(secret.encode("utf-8", "replace")).hexdigest()
