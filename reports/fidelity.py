"""Mate fidelity from brood to brood: with the same partner again, or another, and whether the former was still there.

Definition. The broods of each dam by start; a *step* is one brood and the next. The next follows only if it began
after the former was over; else the two are *concurrent* and left out, as is a step from a brood that is still open. A
partner is the one sure one: the named social mate, else the sire; without one the step is *cannot say*. A step is
with the *same* partner, or *changed* while the former was alive and on hand in the dam's house at the start of the
next brood, or changed when the former was *gone*. Of sires the same, with sure dams as partners.

    fidelity  = same / (same + changed, former present)         divorce is 1 - fidelity
    retention = same / (same + changed, present + changed, gone)

Steps within a season and between seasons stand apart: a gap of `SEASON` days or more from the end of one brood to the
start of the next lies between seasons.

Source: definition D6 of the design; that divorce is re-pairing while both live is the usual definition of the field
(Choudhury 1995, Animal Behaviour 50:413, from memory). The length of a season's gap is derived here.

Columns of `fidelity`: `taxon`, `of` (dam, sire), `gap` (within a season, between seasons, both), `animals` (with a
step that counts), `same`, `changed_present`, `changed_gone`, `cannot_say`, `concurrent` (steps), `fidelity`,
`retention` (shares, null without a step), `taxon_id`.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.laid import Laid
from reports.stretches import Stretch, standing_on, stretches

SEASON: Final = 180  # days: half a year without a brood, derived
WITHIN, BETWEEN, BOTH = "within a season", "between seasons", "both"
HOW: Final = ("same", "changed_present", "changed_gone", "cannot_say", "concurrent")
_COUNTED: Final = HOW[:3]
SCHEMA: Final[dict[str, Any]] = {
    **dict.fromkeys(("taxon", "of", "gap"), pl.String),
    **dict.fromkeys(("animals", *HOW), pl.Int64),
    **dict.fromkeys(("fidelity", "retention"), pl.Float64),
    "taxon_id": pl.String,
}


class Step(NamedTuple):
    """One animal's two broods in a row (codes), the season gap between them, what became of the partnership."""

    taxon_id: str
    of: str
    animal: str
    first: str
    then: str
    gap: str
    how: str


def fidelity(copy: Copy, names: Names, asof: AsOf, broods: Sequence[Laid], house: str) -> pl.DataFrame:
    """Counts and shares by taxon, of dams and of sires who were on hand at the house ("": at any) at the next start."""
    found = steps(copy, asof, broods, house)
    told = pl.DataFrame(found, schema=dict.fromkeys(Step._fields, pl.String), orient="row")
    every = pl.concat([told, told.with_columns(pl.lit(BOTH).alias("gap"))])
    counted = pl.col("how").is_in(_COUNTED)
    same, present, gone = (pl.col(how) for how in _COUNTED)
    return (
        every.group_by("taxon_id", "of", "gap")
        .agg(
            pl.col("animal").filter(counted).n_unique().cast(pl.Int64).alias("animals"),
            *((pl.col("how") == how).sum().cast(pl.Int64).alias(how) for how in HOW),
        )
        .with_columns(
            fidelity=pl.when(same + present > 0).then(same / (same + present)),
            retention=pl.when(same + present + gone > 0).then(same / (same + present + gone)),
            taxon=pl.col("taxon_id").map_elements(names.label, return_dtype=pl.String),
        )
        .select(pl.col(name).cast(kind) for name, kind in SCHEMA.items())
        .sort("taxon", "of", pl.col("gap").replace_strict({WITHIN: 0, BETWEEN: 1, BOTH: 2}, return_dtype=pl.Int64))
    )


def steps(copy: Copy, asof: AsOf, broods: Sequence[Laid], house: str) -> list[Step]:
    """Every step, of dams and then of sires, by animal and start."""
    own = stretches(copy, asof, {x for b in broods for x in (b.dam, b.sire, b.social_mate) if x})
    dams = _by(broods, ((b.dam, b.mate) for b in broods))
    sires = _by(broods, ((b.sire, b.dam) for b in broods))
    out = [*_steps("dam", dams, own), *_steps("sire", sires, own)]
    return [step for step, at in out if not house or at == house]


def _by(broods: Iterable[Laid], who: Iterable[tuple[str, str]]) -> dict[str, list[tuple[Laid, str]]]:
    """Animal -> its broods with the partner in each, by start."""
    out: dict[str, list[tuple[Laid, str]]] = defaultdict(list)
    for brood, (animal, partner) in zip(broods, who, strict=True):
        if animal:
            out[animal].append((brood, partner))
    return out


def _steps(
    of: str, by: Mapping[str, Sequence[tuple[Laid, str]]], own: Mapping[str, Sequence[Stretch]]
) -> Iterator[tuple[Step, str]]:
    """Steps with the house the animal was on hand at, empty where it was not."""
    for animal, broods in sorted(by.items()):
        for (first, before), (then, after) in pairwise(broods):
            at = standing_on(own.get(animal, ()), then.start)
            house = at.holder if at is not None and at.on_hand else ""
            former = standing_on(own.get(before, ()), then.start)
            there = former is not None and former.on_hand and former.holder == house
            how = _how(first, then, before, after, present=there if house else None)
            long = first.ended is not None and (then.start - first.ended).days >= SEASON
            gap = BETWEEN if long else WITHIN
            yield Step(then.taxon_id, of, animal, first.code, then.code, gap, how), house


def _how(first: Laid, then: Laid, before: str, after: str, *, present: bool | None) -> str:
    if first.ended is None or then.start_first <= first.ended:
        return "concurrent"
    if not before or not after:
        return "cannot_say"
    if before == after:
        return "same"
    if present is None:
        return "cannot_say"
    return "changed_present" if present else "changed_gone"
