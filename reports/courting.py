"""Courtship: who courted whom, in how many bouts, and how many of them led to eggs.

Definition. Entries of one two on the same or following days are one *bout*, whoever of them courted. A bout led to
eggs if a brood names one of its entries. Else the brood of that dam and sire takes the *last* bout of the two that
was under way within `w` days before its start (the taxon's fact `eggs_to_courtship_days`, its high; where none is
stated 7); a brood that names its courtship takes no other. `broods_without` counts broods of the two that took none.
Of a dam and sire who were never seen courting there is a row without bouts.

Source: definition D7 of the design, derived; 7 days are its default, practice.

Columns of `courting`: `taxon`, `who` (number; who courted in more entries), `whom`, `bouts`, `with_eggs` (bouts),
`broods_without`, `mutual` (entries from both sides), `refused` (entries refused or broken off), `acts` (words),
`bonded` (a bond of the two stood on a day of a bout), `first`, `last` (days), `seen`, `watched` (sums of days; null:
not said), `who_id`, `whom_id`, `taxon_id`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.bonds import Bonds
from reports.laid import Laid
from reports.meetings import meetings

DEFAULT_DAYS: Final = 7  # practice, definition D7
FACT: Final = "eggs_to_courtship_days"
_PLAIN: Final = ("taxon", "who", "whom")
_SAID: Final = ("first", "last", "seen", "watched")
_IDS: Final = ("who_id", "whom_id", "taxon_id")
_COUNTS: Final = ("bouts", "with_eggs", "broods_without", "mutual", "refused")
SCHEMA: Final[dict[str, Any]] = {
    **dict.fromkeys(_PLAIN, pl.String),
    **dict.fromkeys(_COUNTS, pl.Int64),
    "acts": pl.List(pl.String),
    "bonded": pl.Boolean,
    **dict.fromkeys(("first", "last"), pl.Date),
    **dict.fromkeys(("seen", "watched"), pl.Int64),
    **dict.fromkeys(_IDS, pl.String),
}


class Bout(NamedTuple):
    """Days on which one two courted, without a day between; `roots` are its entries."""

    first: date
    last: date
    roots: frozenset[int]


def bouts(met: pl.DataFrame) -> dict[tuple[str, str], list[Bout]]:
    """Bouts of each two (ids in order), by day. `met`: as of `reports.meetings.meetings`."""
    two = ["x", "y"]
    until = pl.col("last").cum_max().shift(1).over(two, order_by=["first", "last", "root"])
    numbered = (
        met.unique([*two, "root"])
        .sort(*two, "first", "last", "root")
        .with_columns(new=(until.is_null() | (pl.col("first") > until.dt.offset_by("1d"))).cast(pl.Int64))
        .with_columns(bout=pl.col("new").cum_sum())
    )
    rows = numbered.group_by(*two, "bout").agg(pl.col("first").min(), pl.col("last").max(), "root").sort("bout")
    out: dict[tuple[str, str], list[Bout]] = defaultdict(list)
    for x, y, _, first, last, roots in rows.iter_rows():
        out[x, y].append(Bout(first, last, frozenset(roots)))
    return out


def led_to(own: Sequence[Bout], broods: Iterable[Laid], days: int) -> list[int | None]:
    """For each brood of a two, which of their bouts it is put down to: its place, None for none."""
    out: list[int | None] = []
    for brood in broods:
        named = [n for n, bout in enumerate(own) if brood.courtship in bout.roots]
        since = brood.start_first - timedelta(days=days)
        near = [n for n, bout in enumerate(own) if bout.first <= brood.start and bout.last >= since]
        found = named if brood.courtship else near
        out.append(max(found, key=lambda n: (own[n].last, n), default=None))
    return out


def courting(copy: Copy, names: Names, asof: AsOf, found: Bonds, broods: Sequence[Laid], house: str) -> pl.DataFrame:
    """A row a two that courted, or had a brood, of whom one was ever on hand at the house ("": at any)."""
    met = meetings(copy, asof)
    of_two: dict[tuple[str, str], list[Laid]] = defaultdict(list)
    for brood in broods:
        if brood.dam and brood.sire:
            of_two[min(brood.dam, brood.sire), max(brood.dam, brood.sire)].append(brood)
    seen = bouts(met)
    said = {(row["x"], row["y"]): row for row in _said(met).iter_rows(named=True)}
    bonded: dict[frozenset[str], list[tuple[date, date]]] = defaultdict(list)
    for bond in found.bonds:
        bonded[bond.two].append((bond.start, bond.stop))
    taxa, here = _known(copy, asof, names, {x for two in (*seen, *of_two) for x in two}, house)
    rows = []
    for two in sorted(seen.keys() | of_two.keys()):
        if house and not here.intersection(two):
            continue
        own, laid = seen.get(two, []), of_two.get(two, [])
        taxon = taxa.get(two[0]) or taxa.get(two[1]) or (laid[0].taxon_id if laid else "")
        led = led_to(own, laid, _days(names, taxon))
        who, whom = _sides(two, said.get(two), laid)
        counts = (len(own), len({n for n in led if n is not None}), sum(n is None for n in led))
        spells = bonded.get(frozenset(two), ())
        row = said.get(two, _NOTHING)
        plain = (names.label(taxon), names.number(who, house or None), names.number(whom, house or None))
        rows.append(
            {
                **dict(zip(_PLAIN, plain, strict=True)),
                **dict(zip(_COUNTS, (*counts, row["mutual"], row["refused"]), strict=True)),
                "bonded": any(a <= b.last and b.first < z for b in own for a, z in spells),
                **{name: row[name] for name in ("acts", *_SAID)},
                **dict(zip(_IDS, (who, whom, taxon), strict=True)),
            }
        )
    return pl.DataFrame(rows, schema=SCHEMA, orient="row").sort("taxon", "who", "whom")


_NOTHING: Final[dict[str, Any]] = {"mutual": 0, "refused": 0, "acts": [], **dict.fromkeys(_SAID)}


def _said(met: pl.DataFrame) -> pl.DataFrame:
    """What was said of each two: one row."""
    counted = pl.col("seen").is_not_null() & pl.col("watched").is_not_null()
    sums = [pl.when(counted.any()).then(pl.col(c).filter(counted).sum()).alias(c) for c in ("seen", "watched")]
    return (
        met.group_by("x", "y")
        .agg(
            (pl.col("by") == pl.col("x")).sum().alias("by_x"),
            (pl.col("by") == pl.col("y")).sum().alias("by_y"),
            pl.col("mutual").sum().cast(pl.Int64),
            pl.col("outcome").is_in(["refused", "broken_off"]).sum().cast(pl.Int64).alias("refused"),
            pl.col("act").unique().sort().alias("acts"),
            pl.col("first").min(),
            pl.col("last").max(),
            *sums,
        )
        .sort("x", "y")
    )


def _sides(two: tuple[str, str], row: dict[str, Any] | None, laid: Sequence[Laid]) -> tuple[str, str]:
    """Who courted, who was courted; of a two never seen courting the dam first."""
    if row is None:
        return laid[0].dam, laid[0].sire
    return two if row["by_x"] >= row["by_y"] else (two[1], two[0])


def _known(copy: Copy, asof: AsOf, names: Names, subjects: set[str], house: str) -> tuple[dict[str, str], set[str]]:
    """The taxon of each subject, as last known by the day; and which of them were ever on hand at the house."""
    if not subjects:
        return {}, set()
    spells = copy.spells(asof.known, sorted(subjects)).filter((pl.col("n") > 0) & (pl.col("since") <= asof.on))
    last = spells.group_by("subject").agg(pl.col("taxon").sort_by("since").last())
    here = spells.filter(pl.col("place").str.starts_with("e-") & (pl.col("holder") == house))["subject"]
    return {subject: names.accepted(taxon) for subject, taxon in last.iter_rows()}, set(here)


def _days(names: Names, taxon: str) -> int:
    """How many days before eggs a courtship may lie, by the taxon's fact; the default where none is stated."""
    thing = names.thing(taxon)
    facts = (thing.fields.get("facts") or ()) if thing else ()
    return next((int(float(f["high"])) for f in facts if f.get("fact") == FACT and f.get("high")), DEFAULT_DAYS)
