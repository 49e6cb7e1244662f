"""Rates of broods by pairing, carrier, dam, taxon or year: hatch rate pooled, survival to 30 days, fosters.

**Hatch rate** (D9): Σ hatched / Σ eggs over the broods that have one (`broods.why_no_rate`), wherever the eggs hatched;
never a mean of rates. Beside it the same of fertile eggs, over those whose fertility was told. `left_out` is how many
have none, `left_out_why` why, and `found_late` how many were found after their start: what failed before it was found
is never seen, so rates of found nests are too high (Johnson and Shaffer, on Mayfield's method).

**Young**: sums of the five states; `survival_30_low` and `_high` the product limit over all hatchings whose day 30 is
past (`young.survival`), with leavers out of the risk set on their day.

**Pairing**: dam and sire where both are settled, else *not settled*; an implied brood is of the pair its young name.
**Carrier** (D19): a brood stands with whoever carries it now or carried it last, its eggs wherever they were laid;
`own` broods began with that carrier, `received` came to it from another, `given` went to another, so that broods = own
+ received - given. A brood whose eggs several carry at the end is *none, or several*. **Dam**: all her eggs, wherever
they hatched. **Year**: of the first young, else of the start; the young of a year by what became of them, which is
another figure than the deaths in the year (D36). Young of several broods are in no group but year, taxon and *all*.

Columns: `group` (text), `group_id`, `taxon`, `taxon_id`; integers broods, over, counted, eggs, hatched, fertile,
hatched_of_fertile, left_out, found_late, own, received, given, live, stillborn, alive, dead_30, left_30, not_yet,
cannot_say; shares 0 to 1 hatch_rate, of_fertile, survival_30_low, survival_30_high; text left_out_why.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from typing import Any, Final

import polars as pl

from ledger.read import Names
from reports.clutches import Clutch
from reports.hatch import called, why_no_rate
from reports.young import STATES, states, survival

BY: Final = ("pairing", "carrier", "dam", "taxon", "year", "all")
NOT_SETTLED: Final = "not settled"
NONE_NAMED: Final = "none, or several"
SCHEMA: Final[dict[str, Any]] = {
    **dict.fromkeys(("group", "taxon"), pl.String),
    **dict.fromkeys(("broods", "over", "counted", "eggs", "hatched"), pl.Int64),
    "hatch_rate": pl.Float64,
    **dict.fromkeys(("fertile", "hatched_of_fertile"), pl.Int64),
    "of_fertile": pl.Float64,
    "left_out": pl.Int64,
    "left_out_why": pl.String,
    **dict.fromkeys(("found_late", "own", "received", "given"), pl.Int64),
    **dict.fromkeys(("live", "stillborn", *STATES), pl.Int64),
    "survival_30_low": pl.Float64,
    "survival_30_high": pl.Float64,
    **dict.fromkeys(("group_id", "taxon_id"), pl.String),
}
_Key = tuple[str, str]  # the group in words, and its id


def rates(found: Sequence[Clutch], names: Names, on: date, by: str, house: str = "") -> pl.DataFrame:
    """One row a group and taxon, in the order of the groups. `by` is one of `BY`; raises KeyError for another."""
    key = _KEYS[by](names, house)
    groups: dict[tuple[str, str, str], list[Clutch]] = defaultdict(list)
    for one in found:
        if one.shared and by not in ("taxon", "year", "all"):
            continue
        taxon = "" if by == "all" else names.accepted(one.taxon)
        groups[(*key(one), taxon)].append(one)
        if by == "carrier" and _began(one):  # who gave all away has a row too
            began = _began(one)
            groups[called(began, names, house), began, taxon] += []
    taxa = dict(names.taxa.select("taxon_id", "taxon").iter_rows())
    rows = []
    for (group, group_id, taxon), ones in groups.items():
        row = {"group": group, "group_id": group_id, "taxon_id": taxon, "taxon": taxa.get(taxon, taxon)}
        of_taxon = [c for c in found if by == "carrier" and names.accepted(c.taxon) == taxon]
        row |= {**_hatched(ones), **_young(ones, on), **_fosters(of_taxon, ones, group_id if by == "carrier" else "")}
        rows.append([row[name] for name in SCHEMA])
    return pl.DataFrame(rows, schema=SCHEMA, orient="row").sort("taxon", "group", "group_id")


def _hatched(every: Sequence[Clutch]) -> dict[str, Any]:
    counted, told, out = [], [], Counter[str]()
    for one in every:
        why = why_no_rate(one)
        if why:
            out[why] += 1
        else:
            counted.append(one)
            told += [one] if one.entries.fertile else []
    eggs = sum((c.entries.eggs or 0) + c.entries.received for c in counted)
    hatched = sum(c.hatched for c in counted)
    fertile, of_fertile = sum(c.entries.fertile or 0 for c in told), sum(c.hatched for c in told)
    return {
        "broods": sum(not c.shared for c in every),
        "over": sum(c.ended is not None and not c.shared for c in every),
        "counted": len(counted),
        "eggs": eggs,
        "hatched": hatched,
        "hatch_rate": hatched / eggs if eggs else None,
        "fertile": fertile,
        "hatched_of_fertile": of_fertile,
        "of_fertile": of_fertile / fertile if fertile else None,
        "left_out": out.total(),
        "left_out_why": "; ".join(f"{n} {why}" for why, n in sorted(out.items())),
        "found_late": sum(c.entries.found_late for c in every),
        "stillborn": sum(c.entries.stillborn for c in every),
    }


def _young(ones: Iterable[Clutch], on: date) -> dict[str, Any]:
    parts = [y for one in ones for y in one.young]
    bounds = survival(parts, on)
    figures = states(parts)
    return {
        **{name: figures[name] for name in ("live", *STATES)},
        "survival_30_low": bounds.low if bounds else None,
        "survival_30_high": bounds.high if bounds else None,
    }


def _began(one: Clutch) -> str:
    """Whose care the brood began in: its one first carer, "" where there were several or none."""
    first = {c.carer for c in one.cares if c.since == one.cares[0].since and not c.role}
    return first.pop() if len(first) == 1 else ""


def _fosters(found: Iterable[Clutch], ones: Sequence[Clutch], carrier: str) -> dict[str, int]:
    """Broods of a carrier: own (begun with it) + received - given are those that stand with it."""
    if not carrier:
        return dict.fromkeys(("own", "received", "given"), 0)
    own = [c for c in found if _began(c) == carrier and not c.shared]
    received = sum(_began(c) != carrier for c in ones)
    return {"own": len(own), "received": received, "given": len(own) + received - len(ones)}


def _pairing(names: Names, house: str) -> Callable[[Clutch], _Key]:
    def key(one: Clutch) -> _Key:
        if not one.dam or not one.sire:
            return NOT_SETTLED, ""
        return f"{called(one.dam, names, house)} × {called(one.sire, names, house)}", f"{one.dam} {one.sire}"

    return key


def _carrier(names: Names, house: str) -> Callable[[Clutch], _Key]:
    return lambda one: (called(one.carrier, names, house), one.carrier) if one.carrier else (NONE_NAMED, "")


def _dam(names: Names, house: str) -> Callable[[Clutch], _Key]:
    return lambda one: (called(one.dam, names, house), one.dam) if one.dam else (NOT_SETTLED, "")


def _taxon(_names: Names, _house: str) -> Callable[[Clutch], _Key]:
    return lambda _one: ("", "")


def _year(_names: Names, _house: str) -> Callable[[Clutch], _Key]:
    return lambda one: (str((one.first_young or one.entries.start)[1].year), "")


def _all(_names: Names, _house: str) -> Callable[[Clutch], _Key]:
    return lambda _one: ("all", "")


_KEYS: Final = {"pairing": _pairing, "carrier": _carrier, "dam": _dam, "taxon": _taxon, "year": _year, "all": _all}
