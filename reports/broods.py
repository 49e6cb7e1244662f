"""Broods from their start to day 30 of their young: one row a brood, on a day, as known (definitions D8 to D19).

**Carried** (D8): days from start to first young, [first young₁ - start₂, first young₂ - start₁]. Of a nest or an
incubator they run from the last egg, which came between the last day with fewer eggs and the day the clutch was
complete; without that day only the most is known. From a womb whose mating was not seen, and of a carrier first seen
carrying, only the least is known; a start counted back from the birth says nothing. `within` the taxon's published
range: *yes* where the whole interval is, *no* where none of it is, else *cannot say*. The spread of the young is
`delivery_days`.

**Hatch rate** (D9): hatched / eggs, of broods that are over, with an exact and complete count, none sent away; else
`hatch_rate_why` says what is missing. Eggs counted of a nest found after its start are the least there were. Of a
pouch and a womb no rate is defined: the brood size is `live` and `stillborn`.

**Young**: the five states, and survival to 30 days with its bounds (`young.py`). Survival is *not yet* while a young's
day 30 is to come. Ledger, end and state: `clutches.py`.

Columns: text `brood` (code, or #n of young that name none), taxon, common_name, parents (weights), draw, dam, sire,
social_mate, carrier, carers (spells), mode, nest_or_host, enclosure, start_basis, range, range_condition, range_source,
within, lost_how, hatch_rate_why, survival_why, kept_as, state, sort (brood, implied, shared), and taxon_id, brood_id;
dates start, start_possible, counted_on, first_young, first_young_possible, last_young, care_until, ended; integers
eggs, fertile, carried, carried_low, carried_high, delivery_days, live, stillborn, infertile, unhatched, lost, sent,
received, in_care, not_accounted, alive, dead_30, left_30, not_yet, not_yet_low, cannot_say; shares 0 to 1 hatch_rate,
of_fertile, survival_30_low, survival_30_high; `eggs_are` exact or at_least; booleans complete, found_late, late_entry.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from fractions import Fraction
from typing import Any, Final

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.clutches import Clutch, clutches
from reports.hatch import FROM_LAST, called, carried, parents_words, rate, why_no_rate, within
from reports.young import LIMIT, STATES, survival

NOT_YET: Final = "not yet"
SCHEMA: Final[dict[str, Any]] = {
    **dict.fromkeys(("brood", "taxon", "common_name", "parents", "draw", "dam", "sire", "social_mate"), pl.String),
    **dict.fromkeys(("carrier", "carers", "mode", "nest_or_host", "enclosure"), pl.String),
    "start": pl.Date,
    "start_possible": pl.Date,
    "start_basis": pl.String,
    "found_late": pl.Boolean,
    "eggs": pl.Int64,
    "eggs_are": pl.String,
    "counted_on": pl.Date,
    "complete": pl.Boolean,
    "fertile": pl.Int64,
    **dict.fromkeys(("first_young", "first_young_possible", "last_young"), pl.Date),
    **dict.fromkeys(("carried", "carried_low", "carried_high", "delivery_days"), pl.Int64),
    **dict.fromkeys(("range", "range_condition", "range_source", "within"), pl.String),
    **dict.fromkeys(("live", "stillborn", "infertile", "unhatched", "lost"), pl.Int64),
    "lost_how": pl.String,
    **dict.fromkeys(("sent", "received", "in_care", "not_accounted"), pl.Int64),
    "hatch_rate": pl.Float64,
    "hatch_rate_why": pl.String,
    "of_fertile": pl.Float64,
    **dict.fromkeys((*STATES[:4], "not_yet_low", "cannot_say"), pl.Int64),
    "survival_30_low": pl.Float64,
    "survival_30_high": pl.Float64,
    "survival_why": pl.String,
    "late_entry": pl.Boolean,
    "care_until": pl.Date,
    "kept_as": pl.String,
    "ended": pl.Date,
    "state": pl.String,
    **dict.fromkeys(("sort", "taxon_id", "brood_id"), pl.String),
}


def broods(copy: Copy, names: Names, asof: AsOf, house: str = "") -> pl.DataFrame:
    """All broods begun by the close of `asof.on`, as known, by start; of one house where its id is given."""
    return frame(of_house(clutches(copy, names, asof), copy, names, asof, house), names, asof.on, house)


def of_house(found: Iterable[Clutch], copy: Copy, names: Names, asof: AsOf, house: str) -> list[Clutch]:
    """Those of a house: by the enclosure of the brood or its young, else by who held its animals at the start.

    A brood of which none of that is known is every house's.
    """
    if not house:
        return list(found)
    kept, asked = [], []
    for one in found:
        places = [p for p in (one.entries.enclosure, *(y.enclosure for y in one.young)) if p]
        houses = {names.house_of(p) for p in places[:1]} - {""}
        if houses:
            kept += [one] if house in houses else []
        else:
            asked.append(one)
    if not asked:
        return kept
    animals = {a for one in asked for a in _animals(one)}
    spells = copy.spells(asof.known, sorted(animals)).select("subject", "holder", "since", "until")
    held: dict[str, list[tuple[str, date, date | None]]] = {}
    for subject, *spell in spells.iter_rows():
        held.setdefault(subject, []).append(tuple(spell))
    for one in asked:
        there = {
            holder
            for a in _animals(one)
            for holder, since, until in held.get(a, ())
            if since <= one.start and (until is None or one.start <= until)
        }
        kept += [one] if not there or house in there else []
    return sorted(kept, key=lambda c: (c.start, c.code))


def _animals(one: Clutch) -> list[str]:
    return [a for a in (one.dam, one.sire, *(c.carer for c in one.cares), *(y.subject for y in one.young)) if a]


def frame(found: Sequence[Clutch], names: Names, on: date, house: str = "") -> pl.DataFrame:
    """The rows of these broods, numbers as `house` gives them."""
    taxa = {row["taxon_id"]: row for row in names.taxa.iter_rows(named=True)}
    rows = []
    for one in found:
        taxon = taxa.get(names.accepted(one.taxon), {})
        row = {
            "taxon": taxon.get("taxon", one.taxon),
            "common_name": taxon.get("common_name", ""),
            "taxon_id": one.taxon,
            "brood_id": one.id,
            **_who(one, names, house),
            **_start(one),
            **_carrying(one),
            **_ledger(one),
            **_young(one, on),
        }
        rows.append([row[name] for name in SCHEMA])
    return pl.DataFrame(rows, schema=SCHEMA, orient="row")


def _who(one: Clutch, names: Names, house: str) -> dict[str, Any]:
    def number(subject: str) -> str:
        return called(subject, names, house) if subject else ""

    told = one.entries
    spells = [
        f"{number(c.carer)}{f' ({c.role})' if c.role else ''} from {c.since}"
        + (f" to {c.until} ({c.why})" if c.until is not None else "")
        for c in one.cares
    ]
    kept = {("individuals" if y.subject.startswith("a-") else "lot") for y in one.young}
    return {
        "brood": one.code,
        "parents": parents_words(one, names, house),
        "draw": told.draw,
        "dam": number(one.dam),
        "sire": number(one.sire),
        "social_mate": number(told.social_mate),
        "carrier": number(one.carrier),
        "carers": "; ".join(spells),
        "mode": one.mode,
        "nest_or_host": told.nest or number(told.host),
        "enclosure": _code(told.enclosure, names),
        "kept_as": "both" if len(kept) > 1 else next(iter(kept), ""),
        "sort": "implied" if one.implied else "shared" if one.shared else "brood",
    }


def _code(place: str, names: Names) -> str:
    thing = names.thing(place)
    return thing.code if thing else place


def _start(one: Clutch) -> dict[str, Any]:
    told = one.entries
    return {
        "start": one.start,
        "start_possible": one.start_first,
        "start_basis": told.start_basis,
        "found_late": told.found_late,
        "counted_on": told.counted_on,
        "complete": one.complete,
        "care_until": told.independent,
        "ended": one.ended,
        "state": one.state,
    }


def _carrying(one: Clutch) -> dict[str, Any]:
    days, first, last = carried(one), one.first_young, one.last_young
    both = days.low is not None and days.high is not None
    start = one.entries.laid_last if one.mode in FROM_LAST and one.entries.laid_last else one.entries.start
    known = one.range
    return {
        "first_young": first[1] if first else None,
        "first_young_possible": first[0] if first else None,
        "last_young": last[1] if last else None,
        "carried": max(0, (first[1] - start[1]).days) if first and both else None,
        "carried_low": days.low,
        "carried_high": days.high,
        "delivery_days": (last[1] - first[1]).days if first and last else None,
        "range": f"{known.low:g} to {known.high:g} d" if known else "",
        "range_condition": known.condition if known else "",
        "range_source": known.source if known else "",
        "within": within(days, known.low, known.high) if known and first else "",
    }


def _ledger(one: Clutch) -> dict[str, Any]:
    told, share = one.entries, rate(one)
    of_fertile = Fraction(one.hatched, told.fertile) if share is not None and told.fertile else None
    return {
        "eggs": told.eggs,
        "eggs_are": "" if told.eggs is None else "exact" if one.exact else "at_least",
        "fertile": told.fertile,
        "stillborn": told.stillborn,
        "infertile": told.infertile,
        "unhatched": told.unhatched,
        "lost": sum(told.lost.values()),
        "lost_how": ", ".join(f"{n} {how.replace('_', ' ')}" for how, n in told.lost.items()),
        "sent": one.sent,
        "received": told.received,
        "in_care": one.in_care,
        "not_accounted": one.not_accounted,
        "hatch_rate": None if share is None else float(share),
        "hatch_rate_why": why_no_rate(one),
        "of_fertile": None if of_fertile is None else float(of_fertile),
    }


def _young(one: Clutch, on: date) -> dict[str, Any]:
    told = one.states
    bounds = None if told["not_yet"] else survival(one.young, on)
    why = ""
    if bounds is None:
        waits = told["not_yet"] or (one.young and any((on - y.born[1]).days < LIMIT for y in one.young))
        why = NOT_YET if waits else "none seen to day 30" if told["live"] else "no young"
    return {
        **{key: told[key] for key in ("live", *STATES, "not_yet_low")},
        "survival_30_low": bounds.low if bounds else None,
        "survival_30_high": bounds.high if bounds else None,
        "survival_why": why,
        "late_entry": any(y.late for y in one.young),
    }
