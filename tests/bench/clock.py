"""Timing, and the row of a measure beside its floor."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import Any, NamedTuple

TIMES = 5


class Row(NamedTuple):
    """A measure: what it took, what its floor took in the same run, their ratio, and the ratio it should reach.

    `seconds` and `floor_seconds` are the least of some runs; `reach` 0: none is set, it is told beside the others.
    """

    measure: str
    seconds: float
    floor_seconds: float
    ratio: float
    reach: float
    note: str = ""


def least(do: Callable[[], Any], times: int = TIMES) -> float:
    """Seconds of the quickest of some runs: what else the machine does only ever adds."""
    took = []
    for _ in range(times):
        start = time.perf_counter()
        do()
        took.append(time.perf_counter() - start)
    return min(took)


def once(do: Callable[[], Any]) -> tuple[float, Any]:
    """Seconds of one run, and what it gave."""
    start = time.perf_counter()
    got = do()
    return time.perf_counter() - start, got


def both(do: Callable[[], Any], floor: Callable[[], Any], times: int = TIMES) -> tuple[float, float]:
    """Seconds of two things in turn, so that a busy minute meets both."""
    took: list[tuple[float, float]] = [(once(do)[0], once(floor)[0]) for _ in range(times)]
    return min(a for a, _ in took), min(b for _, b in took)


def row(measure: str, seconds: float, floor: float, reach: float, note: str = "") -> Row:
    """A row, its ratio worked out."""
    return Row(measure, round(seconds, 4), round(floor, 4), round(seconds / floor, 2) if floor else 0.0, reach, note)
