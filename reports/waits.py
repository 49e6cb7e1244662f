"""How long each animal waited for its next mate after a bond ended: one episode an animal and bond, shared by reports.

Definition. An episode (x, bond) opens at the end of a bond if x is on hand and alive at that close, and it was not x
that died or went; both open one after a parting. One that was elsewhere then (its mate died at a partner's, say) and
came on hand later opens a delayed one. With another bond of x standing at the end: in a taxon of one mate the event is
at 0 (*replaced*); in others there is no episode. The event is the start of x's next bond, with the same mate or a new
one. It is censored by x's own departure, an escape it is not back from, or the day asked about. Days are whole, from
the end of the bond; x is at risk at t iff `entry < t <= exit`; `entry` is -1 for own episodes and one less than the
days from the end to the day it came for delayed ones, so that what happens on day 0 or on the day of arrival counts.

Source: definition D4 of the design, derived; entry rule of counting-process survival data.

Columns of `frame`: `pair`, `subject`, `mate` (the former), `taxon_id`, `end`, `episode`, `entry`, `exit` (days),
`exit_low`, `exit_high`, `state`, `event`, `departed`, `next_pair`, `next_mate`, `introduced` (next mate put in by the
keeper). `state` is an event (`re_paired`, `same_mate_again`, `replaced`), a censoring (`waiting`, or the departure:
died, released, left, escaped, missing …) or why there is no episode (the same departures; `left_together`,
`has_another_mate`, `not_on_hand`; empty: the bond stands).
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Names
from reports.bond_ends import LEFT_TOGETHER, RANK
from reports.bonds import Bond, Bonds
from reports.stretches import Break, Stretch, breaks, standing_on

EVENTS: Final = ("re_paired", "same_mate_again", "replaced")
STAYED: Final = ("parted", "sex_changed", "back_alone")  # ends after which both may be there still
_TEXTS: Final = ("subject", "mate", "taxon_id")
SCHEMA: Final[dict[str, Any]] = {
    "pair": pl.Int64,
    **dict.fromkeys(_TEXTS, pl.String),
    "end": pl.Date,
    "episode": pl.Boolean,
    **dict.fromkeys(("entry", "exit", "exit_low", "exit_high"), pl.Int64),
    "state": pl.String,
    **dict.fromkeys(("event", "departed"), pl.Boolean),
    "next_pair": pl.Int64,
    "next_mate": pl.String,
    "introduced": pl.Boolean,
}


class Wait(NamedTuple):
    """One animal after one bond, its fields as the columns of the frame; days are None without an episode."""

    pair: int
    subject: str
    mate: str
    taxon_id: str
    end: date | None
    episode: bool
    entry: int | None
    exit: int | None
    exit_low: int | None
    exit_high: int | None
    state: str
    event: bool
    departed: bool
    next_pair: int | None
    next_mate: str
    introduced: bool


def waits(found: Bonds, names: Names, asof: AsOf) -> list[Wait]:
    """What came after each bond for each of its two: a row also where no episode opened, with the reason as state."""
    of = found.of()
    gone = {subject: breaks(own, asof.on) for subject, own in found.own.items()}
    one_mate = {t.id for t in names.of("taxon") if t.fields.get("mates") == "one"}
    out = []
    for bond in found.bonds:
        for subject in (bond.a, bond.b):
            own, left = found.own.get(subject, []), gone.get(subject, [])
            out.append(_after(bond, subject, _Known(own, left, of[subject], bond.taxon_id in one_mate, asof.on)))
    return out


def frame(found: Iterable[Wait]) -> pl.DataFrame:
    """Waits as a frame; columns as said above."""
    return pl.DataFrame(list(found), schema=SCHEMA, orient="row")


class _Known(NamedTuple):
    """What is known of the animal that waits."""

    own: Sequence[Stretch]
    breaks: Sequence[Break]
    bonds: Sequence[Bond]
    one_mate: bool
    on: date


def _after(bond: Bond, subject: str, known: _Known) -> Wait:
    if bond.end is None:
        return _none(bond, subject, LEFT_TOGETHER if bond.ended_by == LEFT_TOGETHER else "")
    if bond.ended_by not in STAYED and subject in bond.who:
        return _none(bond, subject, bond.ended_by)
    opened = _opened(bond.end, known)
    if opened is None:
        return _none(bond, subject, "not_on_hand")
    entry = -1 if opened == bond.end else (opened - bond.end).days - 1
    others = [b for b in known.bonds if b is not bond]
    held = [b for b in others if b.start < bond.end and b.stop > bond.end]
    if held:
        if not known.one_mate or entry >= 0:
            return _none(bond, subject, "has_another_mate")
        return _paired(bond, subject, entry, max(held, key=lambda b: b.start))
    following = min((b for b in others if b.start >= bond.end), key=lambda b: (b.start, b.pair), default=None)
    if following is not None and following.start < opened:
        return _none(bond, subject, "has_another_mate")  # when it came
    went = next((b for b in known.breaks if opened < b.day <= known.on and not (b.sort == "lost" and b.back)), None)
    if following is not None and (went is None or following.start <= went.day):
        return _paired(bond, subject, entry, following)
    return _censored(bond, subject, entry, went, known.on)


def _opened(end: date, known: _Known) -> date | None:
    """The day at whose close the animal begins to wait on hand; None where it never did."""
    at = standing_on(known.own, end)
    if at is not None and at.on_hand:
        return end
    return next((s.since for s in known.own if s.on_hand and end < s.since <= known.on), None)


def _none(bond: Bond, subject: str, state: str) -> Wait:
    ids = (bond.pair, subject, bond.mate(subject), bond.taxon_id, bond.end)
    return Wait(*ids, False, None, None, None, None, state, False, False, None, "", False)  # noqa: FBT003 - a row


def _paired(bond: Bond, subject: str, entry: int, following: Bond) -> Wait:
    assert bond.end is not None
    assert bond.end_possible is not None
    days = max(0, (following.start - bond.end).days)
    low = max(0, ((following.start_possible or bond.end) - bond.end).days)
    high = max(days, (following.start - bond.end_possible).days)
    state = "same_mate_again" if following.two == bond.two else "re_paired"
    state = "replaced" if following.start <= bond.end and following.two != bond.two else state
    ids = (bond.pair, subject, bond.mate(subject), bond.taxon_id, bond.end)
    then = (following.pair, following.mate(subject), following.basis == "introduced")
    return Wait(*ids, True, entry, days, min(low, days), high, state, True, False, *then)  # noqa: FBT003 - a row


def _censored(bond: Bond, subject: str, entry: int, went: Break | None, on: date) -> Wait:
    assert bond.end is not None
    assert bond.end_possible is not None
    day, possible, state = (on, on, "waiting") if went is None else (went.day, went.possible, _word(went))
    days = (day - bond.end).days
    low = min(days, max(0, entry + 1, (possible - bond.end).days))
    high = (day - bond.end_possible).days
    ids = (bond.pair, subject, bond.mate(subject), bond.taxon_id, bond.end)
    return Wait(*ids, True, entry, days, low, high, state, False, went is not None, None, "", False)  # noqa: FBT003


def _word(went: Break) -> str:
    """The departure in the words of the ends of bonds."""
    if went.sort == "left":
        return "left"
    return went.reason if went.reason in RANK else "joined_a_lot" if went.reason == "passed_out" else "left"
