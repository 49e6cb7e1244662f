"""Where animals and lots are at the close of a day, and as what: place, purpose of the enclosure, sex; or their end.

`state` is a word: `here` in an enclosure of a member house, `in transit`, `with a party` outside, `escaped`,
`missing`; of what stands nowhere any more how it ended (`died`, `released`, `fed out`, `lost at a count`,
`redetermined`, `joined` another number, `returned` to an owner outside, who is named); `not here yet`; `outside` of an
animal no house of the book ever held.
Source: the journal's cells (`Copy.spells`); a subject's cells of one place are one.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from ledger.words import IN_TRANSIT, LETTER_OF, LOST, SEXES
from reports.common import mfu

HERE, WITH, OUTSIDE, NOT_YET = "here", "with a party", "outside", "not here yet"
_ENDED: Final = {
    "died": "died",
    "released": "released",
    "fed_out": "fed out",
    "passed_out": "joined",
    "passed_in": "joined",
    "propagated": "used up",
    "redetermined": "redetermined",
    "transfer_out": "passed on",
}


class Where(NamedTuple):
    """Where a subject is. `since`: the day of that state; `n` animals of `sexes` (m.f.u, or the sex of one).

    `place` the code of the enclosure or party, of a lot in several each with its number; `name`, `purpose`, `holder`
    likewise, each once. Empty texts where there is nothing to say.
    """

    state: str
    since: date | None
    n: int
    sexes: str
    taxon: str
    place: str
    name: str
    purpose: str
    holder: str

    @property
    def words(self) -> str:
        """`here T3`, `died 2024-06-01`, `returned OSC 2026-09-29`."""
        day = self.since if not self.n else None
        return " ".join(str(w) for w in (self.state, self.place, day) if w)


def whereabouts(copy: Copy, names: Names, asof: AsOf, subjects: Sequence[str]) -> dict[str, Where]:
    """Where each of these subjects is; those nothing is known of are `outside`."""
    spells = copy.spells(asof.known, subjects) if subjects else pl.DataFrame()
    outside = {_id(e.payload["animal"]): e.payload for e in copy.standing(("outside_animal",), asof.known) if subjects}
    placed = {row["place"]: row for row in names.enclosures.iter_rows(named=True)}
    rows: dict[str, list[dict[str, Any]]] = {s: [] for s in subjects}
    for row in spells.iter_rows(named=True):
        rows[row["subject"]].append(row)
    out = {}
    for subject in subjects:
        own = [r for r in rows[subject] if r["n"] > 0]  # a party that lent has one less of its own
        stands = [r for r in own if r["since"] <= asof.on and (r["until"] is None or asof.on < r["until"])]
        if stands:
            out[subject] = _standing(names, placed, stands, rows[subject])
        else:
            out[subject] = _gone(names, rows[subject], asof.on, outside.get(subject), _animal(subject))
    return out


def _animal(subject: str) -> bool:
    return subject.startswith("a-")


def _id(value: Any) -> str:
    return str(value.get("id") or "") if isinstance(value, dict) else ""


def _standing(names: Names, placed: dict[str, Any], stands: list[dict[str, Any]], rows: list[dict[str, Any]]) -> Where:
    animal = _animal(stands[0]["subject"])
    by_place: dict[str, int] = {}
    for row in stands:
        by_place[row["place"]] = by_place.get(row["place"], 0) + row["n"]
    places = sorted(by_place, key=lambda p: (-by_place[p], p))
    codes = [_code(names, placed, place) for place in places]
    if len(places) > 1:
        codes = [f"{code} {by_place[place]}" for code, place in zip(codes, places, strict=True)]
    states = {_state(place) for place in places}
    return Where(
        HERE if HERE in states else min(states),
        max(_since(rows, place, stands) for place in places),
        sum(by_place.values()),
        _sexes(stands, animal),
        _taxon(names, stands[0]["taxon"]),
        ", ".join(codes),
        _once(placed[p]["name"] for p in places if p in placed),
        _once(placed[p]["purpose"] or "no purpose said" if p in placed else "elsewhere" for p in places),
        _once(names.label(row["holder"]) for row in stands),
    )


def _since(rows: list[dict[str, Any]], place: str, stands: list[dict[str, Any]]) -> date:
    """The first day of the unbroken time in a place, whatever changed there meanwhile."""
    day: date = min(row["since"] for row in stands if row["place"] == place)
    while earlier := [r["since"] for r in rows if r["place"] == place and r["since"] < day and r["until"] == day]:
        day = min(earlier)
    return day


def _gone(names: Names, rows: list[dict[str, Any]], on: date, outside: dict[str, Any] | None, animal: bool) -> Where:
    lent = [r for r in rows if r["n"] < 0]
    rows = [r for r in rows if r["n"] > 0]
    past = [r for r in rows if r["until"] is not None and r["until"] <= on]
    if past:
        last = max(r["until"] for r in past)
        ended = [r for r in past if r["until"] == last]
        reason = ended[0]["until_reason"]
        state = _ENDED.get(reason, "lost at a count" if reason.startswith("count_") else reason.replace("_", " "))
        owner = next((names.thing(r["place"]) for r in lent if r["until"] == last), None)
        code, label = (owner.code, owner.name) if owner else ("", "")
        state = "returned" if owner else state
        sexes, taxon = _sexes(ended, animal) if animal else "", _taxon(names, ended[0]["taxon"])
        return Where(state, last, 0, sexes, taxon, code, label, "elsewhere" if owner else "", label)
    if rows:
        first = min(r["since"] for r in rows)
        begun = [r for r in rows if r["since"] == first]
        sexes = _sexes(begun, animal) if animal else ""
        if outside is None:
            return Where(NOT_YET, None, 0, sexes, _taxon(names, begun[0]["taxon"]), "", "", "", "")
    payload = outside or {}
    party = names.thing(_id(payload.get("party")))
    code, label = (party.code, party.name) if party else ("", "")
    taxon = _taxon(names, _id(payload.get("taxon")))
    sex = str(payload.get("sex") or "unknown")
    return Where(OUTSIDE, None, 1 if animal else 0, sex if animal else "", taxon, code, label, "elsewhere", label)


def _state(place: str) -> str:
    if place.startswith("e-"):
        return HERE
    if place in (*LOST, IN_TRANSIT):
        return place.replace("_", " ")
    return WITH


def _code(names: Names, placed: dict[str, Any], place: str) -> str:
    if place in placed:
        return str(placed[place]["code"])
    thing = names.thing(place)
    return thing.code if thing else place.replace("_", " ")


def _sexes(rows: list[dict[str, Any]], animal: bool) -> str:
    n = {sex: sum(r["n"] for r in rows if r["sex"] == sex) for sex in SEXES}
    if animal:
        return next((sex for sex in SEXES if n[sex]), "unknown")
    by = {LETTER_OF[sex]: number for sex, number in n.items()}
    return mfu(by["m"], by["f"], by["u"], by["h"])


def _taxon(names: Names, taxon: str) -> str:
    return names.label(names.accepted(taxon)) if taxon else ""


def _once(words: Iterable[str]) -> str:
    return ", ".join(dict.fromkeys(w for w in words if w))
