"""What ended a bond, and from when it could have: definitions D1 to D3 of the design, for one bond at a time.

Definition. A bond ends on the earliest day of: a parting; the end of either's stay with the other (death, release, fed
out, joined into a lot, transfer out); a completed sex change that leaves both male or both female, in taxa that change
in sequence (male first, female first, some born male, male first then both). *Possible from* is the earliest first
possible day among them, also of one that counts only after the day asked about. On one day death comes before the other
departures, those before escape, sex change and parting.

- Both leave by one transfer (same days, same receiver): to a member house the bond goes on. To a party it is not ended
  but unobserved from then, *left together*, until both are on hand again (it went on) or one alone is (ended then). A
  death or parting told from there ends it.
- Escaped or missing: the bond is suspended. Both on hand again by the day asked about, and in a taxon of one mate
  neither paired with another between: the same bond. Else it ended when the animal went. Likewise of the left.
- Two hermaphrodites mate with each other, so *both hermaphrodite* ends nothing.

Source: D1 and D2 derived, D2 after Nakashima et al. 1996, Environmental Biology of Fishes 46:281 (two of one sex are
put together and become a pair); D3 practice.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date
from typing import Final, NamedTuple

from reports.stretches import Break, Stretch, standing_on

LEFT_TOGETHER: Final = "left_together"
_RANK: Final = ("died", "released", "fed_out", "joined_a_lot", "left", "back_alone", "escaped", "missing")
RANK: Final = {how: rank for rank, how in enumerate((*_RANK, "sex_changed", "parted"))}
_HOW: Final = {"transfer_out": "left", "title_out": "left", "passed_out": "joined_a_lot"}


class Side(NamedTuple):
    """One of the two: its stretches, its breaks, and when it was paired with whom (days, ids) besides."""

    subject: str
    own: Sequence[Stretch]
    breaks: Sequence[Break]
    pairings: Sequence[tuple[date, str]]


class Parting(NamedTuple):
    """A parting as entered; `by` an id or empty."""

    root: int
    first: date | None
    last: date
    by: str
    cause: str


class Candidate(NamedTuple):
    """One thing that would end the bond."""

    day: date
    possible: date
    how: str
    who: str
    cause: str
    events: list[int]


class End(NamedTuple):
    """How a bond stood: `day` of its end (null: none), `possible` the first day it could have ended.

    `stop`: days count to the day before it; `stop_possible` the first day it could have been. Of a standing bond these
    are the day after the one asked about. `who` are those that died, went or parted.
    """

    day: date | None
    possible: date | None
    how: str
    who: tuple[str, ...]
    cause: str
    events: list[int]
    stop: date
    stop_possible: date


class Question(NamedTuple):
    """A bond asked about: its first day and first possible day, whether its taxon has one mate, changes in sequence."""

    start: date
    start_possible: date
    one_mate: bool
    sequential: bool
    on: date
    after: date  # the day after `on`


def end_of(asked: Question, a: Side, b: Side, partings: Sequence[Parting]) -> End:
    """The end of a bond by the day asked about, as far as what is known goes."""
    found = [*_departures(asked, a, b), *_departures(asked, b, a), *_partings(asked, partings)]
    if asked.sequential:
        found += [*_same_sex(asked, a, b), *_same_sex(asked, b, a)]
    possible = min((c.possible for c in found if c.possible <= asked.on), default=None)
    possible = None if possible is None else max(possible, asked.start_possible)
    counted = [c for c in found if c.day <= asked.on]
    if counted:
        first = min(counted, key=lambda c: (c.day, RANK[c.how]))
        alike = [c for c in counted if (c.day, c.how) == (first.day, first.how)]
        who = tuple(sorted({c.who for c in alike if c.who}))
        events = sorted({e for c in alike for e in c.events})
        least = min(possible or first.day, first.day)
        return End(first.day, least, first.how, who, first.cause, events, first.day, least)
    away = _gone_together(asked, a, b)
    if away is not None:
        return End(None, None, LEFT_TOGETHER, (), "", away.events, away.day, max(away.possible, asked.start_possible))
    return End(None, possible, "", (), "", [], asked.after, possible or asked.after)


def _partings(asked: Question, partings: Sequence[Parting]) -> Iterator[Candidate]:
    for p in partings:
        yield Candidate(p.last, p.first or asked.start_possible, "parted", p.by, p.cause, [p.root])


def _departures(asked: Question, side: Side, other: Side) -> Iterator[Candidate]:
    """What took one of the two from the other."""
    for gone in side.breaks:
        if gone.day < asked.start_possible or (gone.back is not None and gone.back <= asked.start):
            continue  # before there was a bond
        how = _HOW.get(gone.reason, gone.reason) if gone.sort == "gone" else "left"
        how = gone.reason if gone.sort == "lost" else how
        how = how if how in RANK else "left"
        together = _together(gone, other.breaks)
        if together is not None:
            if gone.to.startswith("h-"):
                continue
            backs = [day for day in (gone.back, together.back) if day is not None]
            if len(backs) == 1:
                yield _back_alone(backs[0], side if gone.back else other)
                continue
            if not backs or not _repaired(asked, side, other, gone.day, max(backs)):
                continue
        elif gone.sort == "lost" and gone.back and not _repaired(asked, side, other, gone.day, gone.back):
            continue
        yield Candidate(gone.day, gone.possible, how, side.subject, "", gone.events)


def _back_alone(day: date, side: Side) -> Candidate:
    """One came back without the other: the return ends the bond."""
    came = next(s for s in side.own if s.since == day and s.on_hand)
    return Candidate(day, came.since_possible, "back_alone", side.subject, "", came.since_events)


def _together(gone: Break, others: Sequence[Break]) -> Break | None:
    """The other's break, where both left by one transfer: the same days and receiver."""
    if gone.sort == "lost" or gone.reason not in ("transfer_out", "transfer_in", "title_out"):
        return None
    key = (gone.sort, gone.day, gone.possible, gone.to)
    return next((o for o in others if (o.sort, o.day, o.possible, o.to) == key), None)


def _gone_together(asked: Question, a: Side, b: Side) -> Break | None:
    """The transfer by which both went to a party, and neither was on hand again."""
    for gone in a.breaks:
        early = gone.day < asked.start_possible or gone.day > asked.on
        if early or gone.back or gone.to.startswith("h-"):
            continue
        if (other := _together(gone, b.breaks)) is not None and other.back is None:
            return gone._replace(events=sorted({*gone.events, *other.events}))
    return None


def _repaired(asked: Question, a: Side, b: Side, first: date, last: date) -> bool:
    """Whether, in a taxon of one mate, either was paired with another from `first` to `last`."""
    if not asked.one_mate:
        return False
    two = (a.subject, b.subject)
    return any(first <= day <= last and mate not in two for side in (a, b) for day, mate in side.pairings)


def _same_sex(asked: Question, side: Side, other: Side) -> Iterator[Candidate]:
    """Completed changes that leave both male or both female."""
    for stretch in side.own:
        if stretch.since_reason != "sex_changed" or stretch.since < asked.start_possible:
            continue
        mate = standing_on(other.own, stretch.since)
        if mate is not None and stretch.sex == mate.sex and stretch.sex in ("male", "female"):
            days = (stretch.since, stretch.since_possible)
            yield Candidate(*days, "sex_changed", side.subject, "", stretch.since_events)
