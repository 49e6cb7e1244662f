"""Who shared an enclosure with one animal or lot, from when to when, and what associations it had.

Definitions. *Company*: some of its animals and some of the other's stood in the same (innermost) enclosure at a close.
A row is an unbroken time of that: from `since` to before `until` (null: it goes on), as the book has it; `days` the
closes in it up to the day asked about. `since_possible` and `until_possible` are the first days on which the start
and the end could have been; `days_low` and `days_high` the closes on which they were together for certain, and at
the most. Where the book has no close at all but could have had one, `sure` is `perhaps`, and `since` and `until`
are the possible ones. Days alone are told apart, not hours: two that passed each other on one day had no close.

*Associations* are as recorded: from their `since` (else the day of the entry) to before their `until`; cut where one
of the two leaves or dies. Time between an escape or a loss and a recovery is in it; without a recovery by the day, it
ends there. Fellow members of a unit are those who belonged to it at the same time.

`how`: enclosure, fellow member, host, guest, rearing, reared by, seen together, member, territory. `what` is the code
of the enclosure, unit or brood, or the place. Source: closes of days as in §4 of the design; the rest is derived.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.dates import End, parse
from ledger.read import AsOf, Copy, Names
from ledger.words import IN_TRANSIT, LOST
from reports.whereabouts import whereabouts

COLUMNS: Final[dict[str, Any]] = {
    **dict.fromkeys(("how", "number", "subject", "taxon", "what", "what_name", "purpose"), pl.String),
    **dict.fromkeys(("since", "since_possible", "until", "until_possible"), pl.Date),
    **dict.fromkeys(("days", "days_low", "days_high"), pl.Int64),
    **dict.fromkeys(("sure", "role", "other_now"), pl.String),
    "event": pl.Int64,
}
HOW: Final = (
    *("enclosure", "fellow member", "host", "guest", "rearing", "reared by", "seen together", "member", "territory"),
)
_PARTS: Final = {
    **{name: f"$.{name}.id" for name in ("animal", "lot", "unit", "with", "brood", "enclosure")},
    **{name: f"$.{name}" for name in ("relation", "role", "place", "since", "until")},
}
_DAY: Final = timedelta(days=1)


class Spell(NamedTuple):
    """An association: from `first`..`since` to before `until` (`until_first` its first possible day; None: open)."""

    subject: str
    relation: str
    other: str  # unit, the one it is with, or brood; "" for a territory
    what: str
    role: str
    first: date
    since: date
    until_first: date | None
    until: date | None
    event: int


def shared(copy: Copy, names: Names, asof: AsOf, subject: str) -> pl.DataFrame:
    """Company and associations of a subject (its id) up to the close of `asof.on`, as known: columns `COLUMNS`.

    By `how` in the order of `HOW`, then by start. `taxon` and `other_now` (the state of the other on the day, with its
    enclosure) are those of the other; `role` that of an association; `event` its entry, null for company.
    """
    rows = [*_company(copy, names, asof, subject), *_associations(copy, names, asof, subject)]
    where = whereabouts(copy, names, asof, sorted({r["subject"] for r in rows if r["subject"][:2] in ("a-", "g-")}))
    for row in rows:
        if now := where.get(row["subject"]):
            row["taxon"] = now.taxon
            row["other_now"] = now.words
    rows.sort(key=lambda r: (HOW.index(r["how"]), r["since"], r["number"], r["what"]))
    return pl.DataFrame(rows, schema=COLUMNS, orient="row")


def _company(copy: Copy, names: Names, asof: AsOf, subject: str) -> Iterator[dict[str, Any]]:
    places = {row["place"]: row for row in names.enclosures.iter_rows(named=True)}
    for row in copy.shared(subject, asof.known).iter_rows(named=True):
        if row["since_possible"] > asof.on:
            continue
        place = places.get(row["place"], {})
        yield {
            "how": "enclosure",
            "number": names.number(row["subject"]),
            "subject": row["subject"],
            "what": place.get("code", row["place"]),
            "what_name": place.get("name", ""),
            "purpose": place.get("purpose", ""),
            **_days(row["since_possible"], row["since"], row["until_possible"], row["until"], asof.on),
        }


def _days(first: date, since: date, until_first: date | None, until: date | None, on: date) -> dict[str, Any]:
    """Start, end and numbers of closes of a time, up to a day."""
    close = on + _DAY
    end = close if until is None else min(until, close)
    certain = close if until_first is None else min(until_first, close)
    days, low, high = (max(0, (b - a).days) for a, b in ((since, end), (since, certain), (first, end)))
    over = until is not None and until <= on
    return {
        "since": since if days else first,
        "since_possible": first,
        "until": until if over else None,
        "until_possible": until_first if until_first is not None and until_first <= on else None,
        "days": days,
        "days_low": low,
        "days_high": high,
        "sure": "yes" if days else "perhaps",
    }


# --- associations ---------------------------------------------------------------------------------------


def spells(copy: Copy, known: int) -> list[Spell]:
    """Associations as recorded, not cut where anybody left, by entry."""
    out = []
    for row in copy.told(("association",), _PARTS, known).iter_rows(named=True):
        first, since = _between(row["since"], row["first_day"], row["last_day"])
        until_first, until = _between(row["until"], None, None)
        other = row["unit"] or row["with"] or row["brood"] or ""
        what = row["place"] or row["enclosure"] or ""
        subject = row["animal"] or row["lot"] or ""
        spell = Spell(subject, row["relation"], other, what, row["role"] or "", first or since, since, None, None, 0)
        out.append(spell._replace(until_first=until_first or until, until=until, event=row["root"]))
    return out


def _between(text: str | None, first: date | None, last: date | None) -> tuple[date | None, Any]:
    """First and last possible day of an EDTF text; those given where there is none."""
    if not text:
        return first, last
    value = parse(text)
    low = None if isinstance(value.first, End) else date(*value.first)
    return low, last if isinstance(value.last, End) else date(*value.last)


def _associations(copy: Copy, names: Names, asof: AsOf, subject: str) -> Iterator[dict[str, Any]]:
    every = spells(copy, asof.known)
    own = [s for s in every if subject in (s.subject, s.other)]
    units = {s.other for s in own if s.relation == "member"}
    fellows = [s for s in every if s.relation == "member" and s.other in units and s.subject != subject]
    presence = _presence(copy, asof, {x for s in (*own, *fellows) for x in (s.subject, s.other)})
    for spell in own:
        if spell.relation == "member":
            mine = _cut(spell, presence)
            for fellow in fellows:
                if fellow.other == spell.other and (both := _both(mine, _cut(fellow, presence))) is not None:
                    yield from _row(names, asof, "fellow member", fellow.subject, spell.other, both)
            yield from _row(names, asof, "member", spell.other, spell.other, mine)
        else:
            how, other, what = _seen_from(spell, subject)
            yield from _row(names, asof, how, other, what, _cut(spell, presence))


def _seen_from(spell: Spell, subject: str) -> tuple[str, str, str]:
    """`how`, the other and `what` of an association, seen from one of the two."""
    mine = spell.subject == subject
    other = spell.other if mine else spell.subject
    what = spell.other if spell.other.startswith("b-") else spell.what
    how = {"host": ("host", "guest"), "rearing": ("rearing", "reared by")}.get(spell.relation, ("", ""))[not mine]
    return how or spell.relation.replace("_", " "), other, what


def _row(names: Names, asof: AsOf, how: str, other: str, what: str, spell: Spell) -> Iterator[dict[str, Any]]:
    if spell.first > asof.on or (spell.until is not None and spell.until <= spell.first):
        return
    living, thing = other[:2] in ("a-", "g-"), names.thing(what)
    yield {
        "how": how,
        "number": names.number(other) if living else _code(names, other),
        "subject": other,
        "what": thing.code if thing else what,
        "what_name": thing.name if thing and thing.name != thing.code else "",
        "role": spell.role.replace("_", " "),
        "event": spell.event,
        **_days(spell.first, spell.since, spell.until_first, spell.until, asof.on),
    }


def _code(names: Names, other: str) -> str:
    thing = names.thing(other)
    return thing.code if thing else other


def _both(a: Spell, b: Spell) -> Spell | None:
    """The time two memberships have in common; None where they could have none."""
    ends = [u for u in (a.until, b.until) if u is not None]
    firsts = [u for u in (a.until_first, b.until_first) if u is not None]
    first, until = max(a.first, b.first), min(ends, default=None)
    if until is not None and until <= first:
        return None
    return b._replace(
        first=first, since=max(a.since, b.since), until_first=min(firsts, default=None), until=until, role=""
    )


def _presence(copy: Copy, asof: AsOf, subjects: set[str]) -> dict[str, list[tuple[date, date | None]]]:
    """By subject the times it was in the houses: in an enclosure, on the way, or out and recovered by the day."""
    living = sorted(s for s in subjects if s[:2] in ("a-", "g-"))
    out: dict[str, list[tuple[date, date | None]]] = {}
    if not living:
        return out
    stays: Mapping[str, list[Any]] = {s: [] for s in living}
    for row in copy.spells(asof.known, living).iter_rows(named=True):
        if row["place"].startswith("e-") or row["place"] in (IN_TRANSIT, *LOST):
            stays[row["subject"]].append((row["since"], row["until"], row["place"] in LOST))
    for subject, rows in stays.items():
        merged: list[tuple[date, date | None]] = []
        for since, until, lost in sorted(rows, key=lambda r: (r[0], r[1] or date.max)):
            if lost and (until is None or until > asof.on):
                continue
            if merged and (merged[-1][1] is None or since <= merged[-1][1]):
                last = merged[-1]
                merged[-1] = (last[0], None if last[1] is None or until is None else max(last[1], until))
            else:
                merged.append((since, until))
        out[subject] = merged
    return out


def _cut(spell: Spell, presence: Mapping[str, list[tuple[date, date | None]]]) -> Spell:
    """An association that ends where one of the two left: the end of the time in which it began, or after."""
    for subject in (spell.subject, spell.other):
        times = presence.get(subject, [])
        end = next((until for _, until in times if until is None or until > spell.since), spell.since)
        if times and end is not None and (spell.until is None or end < spell.until):
            early = end if spell.until_first is None else min(end, spell.until_first)
            spell = spell._replace(until=end, until_first=early)
    return spell
