"""The one object through which clock, ids and salts enter a book; nothing else reads a clock or draws at random.

A real book takes `SystemChance`. Only a book whose genesis says `clock_kind: simulated` may take
`SeededChance`, which repeats byte for byte: so no command can backdate a real book, and a demo can.
"""

from __future__ import annotations

import hashlib
import secrets
import time
from typing import NamedTuple, Protocol

from ledger.event import instant_text, instant_us
from ledger.words import CROCKFORD


class Moment(NamedTuple):
    """When an event is recorded: `recorded` rises by at least 1 µs an event, `clock` is the raw clock."""

    recorded: str
    clock: str


class Chance(Protocol):
    """Clock and chance of a book."""

    @property
    def clock_kind(self) -> str:
        """`system` or `simulated`, as genesis says it."""

    def moment(self, after: str = "") -> Moment:
        """The moment of the next event, where the last one was recorded at `after` ("" before the first)."""

    def new_id(self, prefix: str) -> str:
        """`prefix` and ten random Crockford base-32 characters in lower case (50 bits)."""

    def uuid7(self, recorded: str) -> str:
        """A UUIDv7 (RFC 9562) whose milliseconds are those of `recorded`."""

    def log_id(self) -> str:
        """128 random bits in hex: the identity of a log."""

    def salt(self) -> bytes:
        """32 random bytes for one detached text."""


class _Drawn:
    """What both share: everything but where time and bytes come from."""

    def _now_us(self) -> int:
        raise NotImplementedError

    def _bytes(self, count: int) -> bytes:
        raise NotImplementedError

    def moment(self, after: str = "") -> Moment:
        now = self._now_us()
        recorded = max(now, instant_us(after) + 1) if after else now
        clock = instant_text(now)
        return Moment(clock if recorded == now else instant_text(recorded), clock)

    def new_id(self, prefix: str) -> str:
        bits = int.from_bytes(self._bytes(7), "big")
        return prefix + "".join([CROCKFORD[(bits >> shift) & 31] for shift in range(0, 50, 5)])

    def uuid7(self, recorded: str) -> str:
        milliseconds = instant_us(recorded) // 1000
        drawn = int.from_bytes(self._bytes(10), "big")
        high = (milliseconds << 16) | 0x7000 | (drawn >> 68)
        low = (2 << 62) | (drawn & ((1 << 62) - 1))
        text = f"{high:016x}{low:016x}"
        return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"

    def log_id(self) -> str:
        return self._bytes(16).hex()

    def salt(self) -> bytes:
        return self._bytes(32)


class SystemChance(_Drawn):
    """The computer's clock and its source of random bytes."""

    clock_kind = "system"

    def _now_us(self) -> int:
        return time.time_ns() // 1000

    def _bytes(self, count: int) -> bytes:
        return secrets.token_bytes(count)


class SeededChance(_Drawn):
    """A clock set by hand and bytes drawn from a seed, for simulated books and tests.

    One seed serves one book from its first event: drawn again over a book that has events, it would
    repeat their ids. The bytes are sha256(seed ‖ counter), so they are the same on every Python.
    """

    clock_kind = "simulated"

    def __init__(self, seed: int | str, at: str = "1970-01-01T00:00:00.000000Z") -> None:
        self._seed = hashlib.sha256(str(seed).encode()).digest()
        self._drawn = 0
        self._rest = b""
        self.at(at)

    def at(self, instant: str) -> None:
        """Set the clock: `2023-01-04T09:12:00Z`, or with the six digits of microseconds."""
        self._us = instant_us(instant if "." in instant else instant.removesuffix("Z") + ".000000Z")

    def _now_us(self) -> int:
        return self._us

    def _bytes(self, count: int) -> bytes:
        while len(self._rest) < count:
            self._rest += hashlib.sha256(self._seed + self._drawn.to_bytes(8, "big")).digest()
            self._drawn += 1
        out, self._rest = self._rest[:count], self._rest[count:]
        return out
