"""Where one animal stood, stretch after stretch, and the breaks in its presence: shared by what asks who was with whom.

Definition. A *stretch* is a run of days an animal spent in one cell (place, holder, sex, taxon): it stands at the close
of d iff `since <= d < until`; on the days from `since_possible` to `since` it could have begun already. A *break* is
the end of a stretch after which the animal is no longer where its company is: it died or otherwise left the book
(`gone`), went to another house or to a party (`left`), or is escaped or missing (`lost`). A move in a house is none.

Source: the spells of `Copy.spells`; definitions D1 and D3 of the design.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Final, Literal, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy
from ledger.words import IN_TRANSIT, LOST

_COLUMNS: Final = (
    *("subject", "place", "holder", "sex", "taxon", "since", "since_possible", "since_reason", "since_events"),
    *("until", "until_possible", "until_reason", "until_events"),
)
_MOVING: Final = ("re_housed", "recovered", *LOST)
_DEPARTING: Final = {
    "transfer": "transfer_out",
    "title_change": "title_out",
    "join": "passed_out",
    "release": "released",
    "fed_out": "fed_out",
    "death": "died",
}


class Stretch(NamedTuple):
    """A run of days in one cell; `until` is the first day it no longer stood so, None: it stands to this day.

    Reasons are words of the journal, events the first of their lines of corrections. `unsure`: from that day on it
    could have been elsewhere, in a place of which no stretch is left (moved on uncertain days, and gone on the last).
    `sent_to`: where it left the book by a transfer, to whom (an id).
    """

    place: str
    holder: str
    sex: str
    taxon: str
    since: date
    since_possible: date
    since_reason: str
    since_events: list[int]
    until: date | None
    until_possible: date | None
    until_reason: str
    until_events: list[int]
    unsure: date | None = None
    sent_to: str = ""

    @property
    def on_hand(self) -> bool:
        """In an enclosure of a member house."""
        return self.place.startswith("e-")

    def stands(self, day: date) -> bool:
        """At the close of the day."""
        return self.since <= day and (self.until is None or day < self.until)


class Break(NamedTuple):
    """What took an animal from its company: `day` it counts on, the first day it could have been, the journal's reason.

    `to`: the house or party it went to, where that is known; `back`: the first day it was on hand again, by the day
    asked about.
    """

    sort: Literal["gone", "left", "lost"]
    day: date
    possible: date
    reason: str
    to: str
    back: date | None
    events: list[int]


def stretches(copy: Copy, asof: AsOf, subjects: Iterable[str]) -> dict[str, list[Stretch]]:
    """Stretches of animals by `since`, of all that could have begun by the day: one that counts later comes too."""
    frame = copy.spells(asof.known, sorted(set(subjects)))
    frame = frame.filter((pl.col("n") > 0) & (pl.col("since_possible") <= asof.on)).select(_COLUMNS)
    out: dict[str, list[Stretch]] = {}
    for subject, *row in frame.sort("subject", "since").iter_rows():
        out.setdefault(subject, []).append(Stretch(*row))
    for own in out.values():
        _doubt(own)
    unsaid = [(x, n) for x, own in out.items() for n, s in enumerate(own) if _unsaid(s, own[n + 1 : n + 2])]
    if unsaid:
        _say(copy, asof, out, unsaid)
    sold = [(x, n) for x, own in out.items() for n, s in enumerate(own) if _sold(s, own[n + 1 : n + 2])]
    if sold:
        told = copy.told(("transfer",), {"to": "$.to.id"}, asof.known).select("root", "to")
        to = dict(told.filter(pl.col("to").is_not_null()).iter_rows())
        for subject, number in sold:
            stretch = out[subject][number]
            receiver = next((to[root] for root in stretch.until_events if root in to), "")
            out[subject][number] = stretch._replace(sent_to=receiver)
    return out


def _sold(stretch: Stretch, following: Sequence[Stretch]) -> bool:
    """Whether a transfer took it out of the book."""
    met = bool(following) and following[0].since == stretch.until
    return stretch.until_reason == "transfer_out" and not met


def _doubt(own: list[Stretch]) -> None:
    """Say from when on a stretch could have been over, where what followed it then has left no stretch; in place."""
    for number, stretch in enumerate(own):
        possible = stretch.until_possible
        if stretch.until is None or possible is None or possible >= stretch.until:
            continue
        met = next((s for s in own[number + 1 : number + 2] if s.since == stretch.until), None)
        if met.since_possible > possible if met is not None else stretch.until_reason in _MOVING:
            own[number] = stretch._replace(unsure=possible)


def _unsaid(stretch: Stretch, following: Sequence[Stretch]) -> bool:
    """Whether it went on the day of another change, so that the journal's reason for the end is that change."""
    met = bool(following) and following[0].since == stretch.until
    return stretch.until is not None and not met and stretch.until_reason not in _DEPARTING.values()


def _say(copy: Copy, asof: AsOf, out: dict[str, list[Stretch]], unsaid: Sequence[tuple[str, int]]) -> None:
    """Give such ends the reason of the entry that took the animal away, in place."""
    told = copy.told(tuple(_DEPARTING), {"animal": "$.animal.id"}, asof.known)
    told = told.filter(pl.col("animal").is_in([subject for subject, _ in unsaid]))
    rows = list(told.select("animal", "root", "kind", "first_day", "last_day").iter_rows())
    for subject, number in unsaid:
        stretch = out[subject][number]
        day = stretch.until
        assert day is not None
        for animal, root, kind, first, last in rows:
            if animal == subject and (first or day) <= day <= last:
                reason = _DEPARTING[kind]
                ended = stretch._replace(until_possible=first or day, until_reason=reason, until_events=[root])
                out[subject][number] = ended


def standing_on(own: Sequence[Stretch], day: date) -> Stretch | None:
    """The stretch at the close of a day; None where it was nowhere."""
    return next((s for s in own if s.stands(day)), None)


def runs(own: Sequence[Stretch]) -> list[Stretch]:
    """Stretches that meet in one place as one, with the days of its end: for where it stood, not for what ended it."""
    out: list[Stretch] = []
    for stretch in own:
        if out and (out[-1].place, out[-1].until) == (stretch.place, stretch.since):
            possible, unsure = stretch.until_possible, stretch.unsure
            out[-1] = out[-1]._replace(until=stretch.until, until_possible=possible, unsure=unsure)
        else:
            out.append(stretch)
    return out


def first_after(own: Sequence[Stretch], day: date) -> Stretch | None:
    """The stretch at the close of a day, else the first that began later."""
    return next((s for s in own if s.until is None or day < s.until), None)


def breaks(own: Sequence[Stretch], on: date) -> list[Break]:
    """Every break in an animal's presence, in order; those that count after `on` are there if they could be before."""
    out = []
    for number, (stretch, following) in enumerate(zip(own, [*own[1:], None], strict=False), 1):
        if stretch.until is None:
            continue
        after = following if following is not None and following.since == stretch.until else None
        sort = _sort(stretch, after)
        if sort is not None:
            to = _destination(own[number:], stretch.until) if sort == "left" else stretch.sent_to
            possible, reason, events = stretch.until_possible, stretch.until_reason, stretch.until_events
            if after is not None:  # it may have been elsewhere on the same day first
                possible, events = after.since_possible, after.since_events
                reason = after.place if sort == "lost" else after.since_reason
            back = next((s.since for s in own[number:] if s.on_hand and s.since <= on), None)
            days = (stretch.until, min(possible or stretch.until, stretch.until))
            out.append(Break(sort, *days, reason, to, back, events))
    return out


def _sort(stretch: Stretch, after: Stretch | None) -> Literal["gone", "left", "lost"] | None:
    """What sort of break lies between two stretches that meet; None for none."""
    if after is None:
        return "gone"
    if after.place == stretch.place or stretch.place in LOST:
        return None
    if after.place in LOST:
        return "lost"
    if stretch.place == IN_TRANSIT:
        return None  # it left when the journey began
    if not stretch.on_hand:
        return "left" if after.place.startswith("o-") else None  # from party to party; else it is on the way back
    return None if after.on_hand and after.holder == stretch.holder else "left"


def _destination(rest: Sequence[Stretch], day: date) -> str:
    """The house or party a journey that began on a day led to; `in_transit` while it lasts."""
    for stretch in rest:
        if stretch.since != day:
            break
        if stretch.place != IN_TRANSIT:
            return stretch.holder if stretch.on_hand else stretch.place
        if stretch.until is None:
            break
        day = stretch.until
    return IN_TRANSIT
