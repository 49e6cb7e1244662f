"""The days of a bond told apart: together, apart, cannot say. Shared by the reports on pairs.

Definition. Of the closes on which a bond stood each is one of three: *together*, both certainly in the same innermost
enclosure; *apart*, certainly not, or one escaped or missing; *cannot say*, where a place lies open between two dates,
is on the way or with a party, or is not known (before either came to a house of this book). The least of each counts
the days that are certain among those on which the bond certainly stood, the most those that are possible among all on
which it could have stood.

Source: definition D1 of the design, derived.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise
from typing import Final, Literal, NamedTuple

from ledger.words import LOST
from reports.bonds import Bond
from reports.stretches import Stretch, runs

Sort = Literal["together", "apart", "cannot_say"]
TOGETHER: Final = "together"
OPEN: Final = "open"  # a place that is not told


class Count(NamedTuple):
    """Days: the figure, the least, the most (None: the start is open)."""

    days: int
    low: int
    high: int | None


class Days(NamedTuple):
    """The days of one bond; `last` is where the two last stood together, an enclosure's id or empty."""

    stood: Count
    together: Count
    apart: Count
    cannot_say: int
    last: str


class _Part(NamedTuple):
    """Days from `first` to before `stop`, all of one sort."""

    first: date
    stop: date
    sort: Sort
    place: str


def days_of(bond: Bond, a: Sequence[Stretch], b: Sequence[Stretch]) -> Days:
    """The days of a bond; `a`, `b`: the stretches of its two."""
    widest = bond.start_possible or bond.start
    parts = list(_parts(bond, widest, a, b))
    known = bond.start_possible is not None
    stood = _counted(bond, [_Part(widest, bond.stop, TOGETHER, "")] if widest < bond.stop else [], known=known)
    figures = []
    for sort in ("together", "apart"):
        own = _counted(bond, [p for p in parts if p.sort == sort], known=known)
        open_days = sum((p.stop - p.first).days for p in parts if p.sort == "cannot_say")
        figures.append(own._replace(high=None if own.high is None else own.high + open_days))
    unsaid = _counted(bond, [p for p in parts if p.sort == "cannot_say"], known=known).days
    last = next((p.place for p in reversed(parts) if p.sort == TOGETHER), "")
    return Days(stood, figures[0], figures[1], unsaid, last)


def _counted(bond: Bond, parts: Sequence[_Part], *, known: bool) -> Count:
    """Days of some parts in the bond as it counts, as it certainly stood, as it could have stood."""
    figure = sum(_within(p, bond.start, bond.stop) for p in parts)
    least = sum(_within(p, bond.start, bond.stop_possible) for p in parts)
    most = sum((p.stop - p.first).days for p in parts)
    return Count(figure, least, most if known else None)


def _within(part: _Part, first: date, stop: date) -> int:
    return max(0, (min(part.stop, stop) - max(part.first, first)).days)


def _parts(bond: Bond, widest: date, a: Sequence[Stretch], b: Sequence[Stretch]) -> Iterator[_Part]:
    """The days on which the bond could have stood, cut wherever either could have been elsewhere."""
    ended = set(bond.events)
    sides = [[s for s in runs(own) if not ended.intersection(s.since_events)] for own in (a, b)]
    cuts = {widest, bond.stop}
    for own in sides:
        for s in own:
            cuts.update(
                day for day in (s.since_possible, s.since, s.unsure, s.until) if day and widest < day < bond.stop
            )
    days = sorted(cuts)
    for first, stop in pairwise(days):
        one, other = (_places(own, first) for own in sides)
        sort = _sort(one, other)
        yield _Part(first, stop, sort, next(iter(one)) if sort == TOGETHER else "")


def _places(own: Sequence[Stretch], day: date) -> set[str]:
    """Where an animal could have stood at the close of a day."""
    at = [s for s in own if s.since_possible <= day and (s.until is None or day < s.until)]
    return {s.place for s in at} | {OPEN for s in at if s.unsure is not None and s.unsure <= day}


def _sort(one: set[str], other: set[str]) -> Sort:
    if OPEN in one | other:
        return "cannot_say"
    if one and other and (not one & other or one <= set(LOST) or other <= set(LOST)):
        return "apart"
    together = len(one) == 1 and one == other and next(iter(one)).startswith("e-")
    return TOGETHER if together else "cannot_say"
