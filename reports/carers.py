"""Who carried or tended a brood, as spells: from when, until when, what ended it. Carers are never taken as parents.

A carer begins with the brood, on the day a move hands it eggs, or from `since`; it ends when all goes to another, with
`until`, at its own death or leaving (facts that move nobody are cut there, D35), for a carried brood with its birth,
for young that were tended when they are independent. A brood that ends without young ends its spells.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy
from ledger.read.copy import Standing
from ledger.read.numbers import id_of
from reports.young import Young, span

if TYPE_CHECKING:
    from reports.clutch_entries import Entries

CARRIED: Final = ("pouch", "tail", "mouth", "body", "womb")  # on or in an animal, till they are born or released
DIED, LEFT, MOVED, BORN, OVER = "died", "left", "moved", "born", "over"
_WHY: Final = {"died": DIED, "missing": "missing", "escaped": "escaped"}
_REARING: Final = {"with": "$.with.id", "brood": "$.brood.id", "role": "$.role", "since": "$.since", "until": "$.until"}
Gone = tuple[date, str]


class Care(NamedTuple):
    """An animal's care of a brood: from its last possible day, until (the first day it no longer cared; None: it does).

    `why`: died, left, escaped, missing, moved, born, over (independent, given up, or by `until`); "" while it cares.
    `role` where it is known as one that rears: dam, sire, helper, foster, by_hand.
    """

    carer: str
    since: date
    until: date | None
    why: str
    role: str = ""


def carers(
    copy: Copy,
    asof: AsOf,
    hemisphere: str,
    broods: Mapping[str, tuple[Standing, Entries]],
    moves: Mapping[str, Sequence[Standing]],
    born: Mapping[str, Sequence[Young]],
) -> dict[str, tuple[Care, ...]]:
    """Brood -> its carers in order. `broods`: the entry that opened each and what is told of it; `born`: its young."""
    out: dict[str, list[Care]] = {}
    for brood, (event, told) in broods.items():
        out[brood] = _handed(_first(event, told, hemisphere), moves.get(brood, ()))
    for brood, care in _rearing(copy, asof, hemisphere, broods, born):
        if all(c.carer != care.carer for c in out[brood]):
            out[brood].append(care)
    gone = _gone(copy, asof, {c.carer for cares in out.values() for c in cares})
    return {
        brood: tuple(_cut(c, _over(broods[brood][1], born.get(brood, ())), gone.get(c.carer), asof.on) for c in cares)
        for brood, cares in out.items()
    }


def _first(event: Standing, told: Entries, hemisphere: str) -> list[Care]:
    """Its carrier and carers as the brood was entered."""
    named: list[Care] = []
    carrier = id_of(event.payload.get("carrier"))
    for told_of in event.payload.get("carers") or ():
        since = span(told_of.get("since"), hemisphere, event.last)
        until = span(told_of.get("until"), hemisphere, date.max)
        why = OVER if until else ""
        named.append(Care(id_of(told_of.get("carer")), since[1] if since else told.start[1], until and until[1], why))
    if carrier and all(c.carer != carrier for c in named):
        named.insert(0, Care(carrier, told.start[1], None, ""))
    return named


def _handed(cares: list[Care], moves: Sequence[Standing]) -> list[Care]:
    """What moves did: eggs or young to another carer, all of them or some."""
    for move in sorted(moves, key=lambda e: (e.last, e.root)):
        p, day = move.payload, move.last
        to, giver = id_of(p.get("to_carer")), id_of(p.get("from_carer"))
        every = p.get("how_many") is None and (to or giver or p.get("to_party"))
        if every:
            cares = [
                c._replace(until=day, why=MOVED)
                if c.until is None and c.carer != to and (not giver or c.carer == giver)
                else c
                for c in cares
            ]
        if to and not any(c.carer == to and c.until is None for c in cares):
            cares.append(Care(to, day, None, ""))
    return cares


def _rearing(
    copy: Copy,
    asof: AsOf,
    hemisphere: str,
    broods: Mapping[str, Any],
    born: Mapping[str, Sequence[Young]],
) -> list[tuple[str, Care]]:
    """Those that are known to rear the young of a brood, or the brood."""
    of = {y.subject: brood for brood, ones in born.items() for y in ones}
    frame = copy.told(
        ("association",), {"animal": "$.animal.id", "relation": "$.relation", **_REARING}, asof.known
    ).filter(pl.col("relation") == "rearing")
    out = []
    for row in frame.iter_rows(named=True):
        brood = row["brood"] or of.get(row["with"] or "", "")
        since = span(row["since"], hemisphere, row["last_day"])
        begin = since[1] if since else row["last_day"]
        if brood in broods and row["animal"] and begin <= asof.on:
            until = span(row["until"], hemisphere, date.max)
            out.append(
                (brood, Care(row["animal"], begin, until and until[1], OVER if until else "", row["role"] or ""))
            )
    return out


def _gone(copy: Copy, asof: AsOf, animals: set[str]) -> dict[str, Gone]:
    """Animal -> the day it first was no longer there, and why; those that never were in the book have none."""
    if not animals:
        return {}
    there = (
        pl.col("place").str.starts_with("e-")
        | (pl.col("place") == "in_transit")
        | (pl.col("place").str.starts_with("o-") & pl.col("owner").str.starts_with("h-"))
    )
    spells = copy.spells(asof.known, sorted(animals)).filter(there).sort("subject", "since")
    out: dict[str, tuple[date | None, str]] = {}
    for subject, since, until, why in spells.select("subject", "since", "until", "until_reason").iter_rows():
        before = out.get(subject)
        if before is not None and (before[0] is None or before[0] < since):
            continue  # what is after the first gap is another stay
        out[subject] = (until, _WHY.get(why, LEFT))
    return {s: (day, why) for s, (day, why) in out.items() if day is not None and day <= asof.on}


def _over(told: Entries, born: Sequence[Young]) -> Gone | None:
    """The day on which there was nothing to care for any more."""
    if told.mode in CARRIED and born:
        return max(y.born[1] for y in born), BORN
    if told.independent is not None:
        return told.independent, OVER
    return (told.end, OVER) if told.end is not None and not born and not told.young_seen else None


def _cut(care: Care, over: Gone | None, gone: Gone | None, on: date) -> Care:
    """A spell, ended by the first of what ended it by the day asked about."""
    ends = [end for end in (over, gone) if end is not None and end[0] >= care.since]
    if care.until is not None and care.until <= on:
        ends.append((care.until, care.why))
    first = min(ends, key=lambda e: e[0], default=None)
    return care._replace(until=first[0], why=first[1]) if first else care._replace(until=None, why="")
