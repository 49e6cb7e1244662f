"""Pair histories: a row a bond, how long it stood, how long the two were together, what came of it, who came next.

Definition. Bonds are those of `reports/bonds.py`, their days those of `reports/bond_days.py` (together + apart +
cannot say = days; a bond by which both left together counts to that day), waiting for the next mate that of
`reports/waits.py`. `last_greeting` and `seen` of `watched` days are greetings of the two while the bond stood; a pair
found by a greeting has one. `mates_at_once` is the most mates that either held at one close of the bond; 1 is each
other alone.

A bond is a house's if either was in an enclosure of it at the start or at the last day the bond was seen.

Source: definitions D1 to D5 of the design. What days apart do is printed and not judged: some pairs of seahorses took
another mate within days of being parted (a study of 2022, second-hand).

Columns of `pairs`: see `SCHEMA`, in this order. `start_possible` is null where the start is open, `end` and
`end_possible` where it had not ended by the day; `_low` and `_high` are the least and most days, a high of null is not
known; `how_ended` is in words, `ended_by` the word of `reports/bonds.py`; `a_next` a number, `a_wait` days;
`a_wait_state` of `reports/waits.py`; `enclosure` (code) and `purpose` are where they last stood together, else where
`a` stood at the start; `events` ended it. `broods`, `young`, `alive_30_low`, `alive_30_high` are what came of it, as
handed in.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import Any, Final

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.bond_days import days_of
from reports.bonds import Bond, Bonds, frame
from reports.laid import Young
from reports.meetings import meetings
from reports.stretches import Stretch, first_after, standing_on
from reports.waits import Wait, waits

_NUMBER: Final[dict[str, Any]] = {"pair": pl.Int64}
_WAITS: Final = [(f"{x}_next", f"{x}_wait", f"{x}_wait_low", f"{x}_wait_high", f"{x}_wait_state") for x in "ab"]
_TYPES: Final[dict[str, Any]] = {
    **dict.fromkeys(("taxon", "common_name", "a", "sex_a", "b", "sex_b", "basis"), pl.String),
    **dict.fromkeys(("start", "start_possible", "end", "end_possible"), pl.Date),
    "how_ended": pl.String,
    **dict.fromkeys((f"{x}{y}" for x in ("days", "together", "apart") for y in ("", "_low", "_high")), pl.Int64),
    "cannot_say": pl.Int64,
    "last_greeting": pl.Date,
    **dict.fromkeys(("seen", "watched", "broods", "young", "alive_30_low", "alive_30_high"), pl.Int64),
    **{c: pl.String if c.endswith(("_next", "_state")) else pl.Int64 for group in _WAITS for c in group},
    **dict.fromkeys(("nth_time", "mates_at_once"), pl.Int64),
    "same_sex_since": pl.Date,
    **dict.fromkeys(("enclosure", "purpose", "a_id", "b_id", "taxon_id", "ended_by", "cause"), pl.String),
    "events": pl.List(pl.Int64),
}
SCHEMA: Final[dict[str, Any]] = {**_NUMBER, **_TYPES}
_ENDED: Final = {
    "died": "death of {}",
    "released": "release of {}",
    "fed_out": "{} fed out",
    "joined_a_lot": "{} joined into a lot",
    "left": "transfer of {}",
    "back_alone": "{} back alone",
    "escaped": "escape of {}",
    "missing": "{} missing",
    "sex_changed": "sex change of {}",
}


def pairs(copy: Copy, names: Names, asof: AsOf, found: Bonds, house: str, young: Mapping[int, Young]) -> pl.DataFrame:
    """A row a bond of the house ("" for all), by taxon and start. `young`: by position of the pairing."""
    seen = _Seen(names, found, house)
    waiting = {(w.pair, w.subject): w for w in waits(found, names, asof)}
    greeted = greetings(copy, asof, found.bonds)
    of = found.of()
    rows = [
        {
            **seen.said(bond),
            **seen.days(bond),
            **greeted.get(bond.pair, _NO_GREETING),
            **(young.get(bond.pair) or Young(0, 0, 0, 0))._asdict(),
            **seen.wait("a", waiting[bond.pair, bond.a]),
            **seen.wait("b", waiting[bond.pair, bond.b]),
            "mates_at_once": max(_at_once(bond, of[x]) for x in (bond.a, bond.b)),
        }
        for bond in found.bonds
        if seen.of_house(bond)
    ]
    return pl.DataFrame(rows, schema=SCHEMA, orient="row").sort("taxon", "start", "pair")


_NO_GREETING: Final = {"last_greeting": None, "seen": None, "watched": None}


class _Seen:
    """Names and places of bonds, as one house sees them."""

    def __init__(self, names: Names, found: Bonds, house: str) -> None:
        self.names, self.found, self.house = names, found, house
        self.places = {r["place"]: (r["code"], r["purpose"]) for r in names.enclosures.iter_rows(named=True)}
        self.taxa = {r["taxon_id"]: (r["taxon"], r["common_name"]) for r in names.taxa.iter_rows(named=True)}

    def own(self, subject: str) -> Sequence[Stretch]:
        return self.found.own.get(subject, ())

    def of_house(self, bond: Bond) -> bool:
        """Whether either stood in an enclosure of the house when the bond began or was last seen."""
        if not self.house:
            return True
        last = max(bond.start, bond.stop - timedelta(days=1))
        at = [first_after(self.own(x), bond.start) for x in (bond.a, bond.b)]
        at += [standing_on(self.own(x), last) for x in (bond.a, bond.b)]
        return any(s is not None and s.on_hand and s.holder == self.house for s in at)

    def number(self, subject: str) -> str:
        return self.names.number(subject, self.house or None) if subject else ""

    def said(self, bond: Bond) -> dict[str, Any]:
        taxon, common_name = self.taxa.get(bond.taxon_id, (bond.taxon_id, ""))
        plain = bond._asdict()
        for name in ("who", "stop", "stop_possible"):
            del plain[name]
        plain |= {"taxon": taxon, "common_name": common_name, "a_id": bond.a, "b_id": bond.b}
        plain |= {"a": self.number(bond.a), "b": self.number(bond.b)}
        return plain | {"how_ended": how_ended(bond, " and ".join(self.number(x) for x in bond.who))}

    def days(self, bond: Bond) -> dict[str, Any]:
        days = days_of(bond, self.own(bond.a), self.own(bond.b))
        out: dict[str, Any] = {"cannot_say": days.cannot_say}
        for name, count in (("days", days.stood), ("together", days.together), ("apart", days.apart)):
            out |= {name: count.days, f"{name}_low": count.low, f"{name}_high": count.high}
        at = first_after(self.own(bond.a), bond.start)
        code, purpose = self.places.get(days.last or (at.place if at else ""), ("", ""))
        return out | {"enclosure": code, "purpose": purpose}

    def wait(self, x: str, wait: Wait) -> dict[str, Any]:
        values = (self.number(wait.next_mate), wait.exit, wait.exit_low, wait.exit_high, wait.state)
        return dict(zip(_WAITS["ab".index(x)], values, strict=True))


def how_ended(bond: Bond, who: str) -> str:
    """How a bond ended, in words: `death of MS-1`, `parted by MS-2, replaced`, `stands`; `who`: numbers, in words."""
    if not bond.ended_by:
        return "stands"
    if bond.ended_by == "left_together":
        return "left together"
    if bond.ended_by != "parted":
        return _ENDED[bond.ended_by].format(who)
    cause = bond.cause.replace("_", " ") if bond.cause != "not_determined" else ""
    return ", ".join(["parted" + (f" by {who}" if who else ""), *([cause] if cause else [])])


def greetings(copy: Copy, asof: AsOf, found: Sequence[Bond]) -> dict[int, dict[str, Any]]:
    """Of each bond with one: the last greeting of the two in it, on how many of how many days greetings were seen."""
    own = frame(found).select(
        *("pair", "basis", "start", "stop"),
        pl.min_horizontal("a", "b").alias("x"),
        pl.max_horizontal("a", "b").alias("y"),
    )
    met = (
        meetings(copy, asof)
        .filter(pl.col("act") == "greeting")
        .join(own, on=["x", "y"])
        .filter((pl.col("last") >= pl.col("start")) & (pl.col("first") < pl.col("stop")))
        .unique(["pair", "root"])
        .with_columns(pl.min_horizontal("last", pl.col("stop").dt.offset_by("-1d")).alias("day"))
    )
    counted = pl.col("seen").is_not_null() & pl.col("watched").is_not_null()
    said = met.filter(counted).group_by("pair").agg(pl.col("seen", "watched").sum())
    found_by = own.filter(pl.col("basis") == "greeting").select("pair", day="start")
    days = pl.concat([met.select("pair", "day"), found_by]).group_by("pair").agg(last_greeting=pl.col("day").max())
    rows = days.join(said, on="pair", how="left").select("pair", *_NO_GREETING).iter_rows()
    return {pair: dict(zip(_NO_GREETING, row, strict=True)) for pair, *row in rows}


def _at_once(bond: Bond, others: Sequence[Bond]) -> int:
    """The most bonds of one animal that stood at one close of this one."""
    met = [o for o in others if o.start < bond.stop and o.stop > bond.start and o.start < o.stop]
    days = {max(o.start, bond.start) for o in met}
    return max([1, *(sum(o.stands(day) for o in met) for day in days)])
