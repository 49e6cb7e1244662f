"""Roll-forward of a period: opening + in - out ± re-classed = closing, per taxon and sex, on one basis and house.

Definition. Opening and closing are the census at the close of the day before the period and of its last day; the
columns between are the journal lines that count in the period, by reason. So a line adds up only if every
animal that came or went has a column, and the closing of a period is the opening of the next. `adds_up` says
whether it does; nothing is derived from the other side.

What a joint owner owns is in no roll-forward of the owned: no animal is owned by a third (`reports/README.md`).

Legs of one event that cancel on the basis are no movement: a loan moves nothing among the owned, and over the
whole book what passes between member houses is left out. Out columns are written as positive numbers;
count_difference, re_sexed and redetermined carry their sign. Deaths not seen, which a count found, are deaths: they
stand in the columns of age by the days on which they could have died. A lot that is not counted has rows of its own
(unit not_counted), and its figure says only that it is there.

Columns, one row a taxon and sex (and standing: other standings than the collection have rows of their own):
class, taxon, common_name, taxon_id, unit, standing, sex; `opening`; in: brought_forward, hatched_and_born,
acquired, transfer_in, title_in, recovered; out: died_within_30 (day 30 inside; the limit is a parameter),
died_older, died_age_unknown, transfer_out, title_out, released, escaped_missing; signed: count_difference,
re_sexed, redetermined; `closing`; adds_up. Only where they are not zero: propagated (in; less where its source was
used up), fed_out (out), standing_changed (signed, sums to 0 over the standings of a taxon), passed (legs between
numbers or tanks; should never be); and what differences are: count_estimate and count_young_unseen with
count_unaccounted (parts of count_difference), count_deaths_unseen (part of the died).

Source: the arithmetic of a stocklist (opening + arrivals + births - deaths - departures = closing; standards of
the design §1 and §8), with a column of its own for every re-classing (definition D31) and for ages (D13).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from datetime import date
from typing import Final

import polars as pl

from ledger.read import Copy, Names
from ledger.words import REASONS
from reports import ages
from reports.common import Basis, Period, in_order, seen, tagged, year
from reports.legs import ROW, moved

IN: Final = ("brought_forward", "hatched_and_born", "acquired", "transfer_in", "title_in", "recovered")
DIED: Final = ("died_within_30", "died_older", "died_age_unknown")
OUT: Final = (*DIED, "transfer_out", "title_out", "released", "escaped_missing")
SIGNED: Final = ("count_difference", "re_sexed", "redetermined")
RARE: Final = ("propagated", "fed_out", "standing_changed", "passed")  # only where not zero
PARTS: Final = ("count_unaccounted", "count_estimate", "count_young_unseen")  # of count_difference
UNSEEN: Final = "count_deaths_unseen"  # of the died
MOVEMENTS: Final = (*IN, *OUT, *SIGNED)
WHO: Final = ("class", "taxon", "common_name", "taxon_id", "unit", "standing", "sex")

__all__ = ["Period", "rollforward", "year"]

COLUMN: Final[Mapping[str, str]] = {
    **{reason: reason for reason in REASONS},
    **dict.fromkeys(("hatched", "born"), "hatched_and_born"),
    **dict.fromkeys(("escaped", "missing"), "escaped_missing"),
    **dict.fromkeys(PARTS, "count_difference"),
    **dict.fromkeys(("sexed", "sex_changed", "re_sexed"), "re_sexed"),
    **dict.fromkeys(("re_housed", "passed_in", "passed_out"), "passed"),
}
_OUTWARD: Final = frozenset((*OUT, "died", "fed_out"))


def rollforward(
    copy: Copy,
    names: Names,
    period: Period,
    known: int,
    basis: Basis,
    *,
    limit: int = ages.LIMIT,
    everyone: bool = False,
) -> pl.DataFrame:
    """The roll-forward of `period` as known at log position `known`; columns as above.

    `limit`: days from birth up to which a death is in the first column, inside. `everyone`: judge the age of
    animals from outside too, by their stated birth; else what was not born in a member house is *older*.
    """
    lines = moved(seen(copy.lines(period.first, period.last, known), names), basis)
    died = pl.col("reason").is_in(["died", UNSEEN])
    young = _by_age(copy, lines.filter(died), period.last, known, limit=limit, everyone=everyone)
    sums = (
        lines.filter(~died)
        .with_columns(column=pl.col("reason").replace(COLUMN))
        .with_columns(n=pl.when(pl.col("column").is_in(_OUTWARD)).then(-pl.col("delta")).otherwise(pl.col("delta")))
        .select(*ROW, "column", "n")
    )
    ends = [
        seen(copy.figures([day], known, names.uncounted), names)
        .filter(basis.counts)
        .select(*ROW, "n", column=pl.lit(name))
        for day, name in ((period.eve, "opening"), (period.last, "closing"))
    ]
    table = (
        pl.concat([frame.select(*ROW, "column", "n") for frame in (sums, young, _what(lines), *ends)])
        .group_by(*ROW, "column")
        .agg(pl.col("n").sum())
        .pivot(on="column", index=list(ROW), values="n")
    )
    return _finished(table, names)


def _what(lines: pl.DataFrame) -> pl.DataFrame:
    """What the differences found by counts are: row, column (a reason), n; deaths not seen above zero."""
    n = pl.when(pl.col("reason") == UNSEEN).then(-pl.col("delta")).otherwise(pl.col("delta"))
    return lines.filter(pl.col("reason").is_in([*PARTS, UNSEEN])).select(*ROW, column=pl.col("reason"), n=n)


def _by_age(copy: Copy, dead: pl.DataFrame, last: date, known: int, *, limit: int, everyone: bool) -> pl.DataFrame:
    """Deaths by row and column: the journal's row, column, n."""
    events: dict[tuple[int, str], list[tuple[date, date, tuple[str, ...], int]]] = defaultdict(list)
    for effect, subject, on, *row, could, _, delta in dead.iter_rows():
        events[effect, subject].append((could, on, tuple(row), -delta))
    deaths = [
        ages.Death(effect, subject, rows[0][0], rows[0][1], sum(r[3] for r in rows), {r[2]: r[3] for r in rows})
        for (effect, subject), rows in events.items()
    ]
    history = copy.histories([d.subject for d in deaths], last, known)
    births = ages.stated_births(copy, known) if everyone else {}
    named = ages.named_cohorts(copy, known)
    told = ages.judge(deaths, ages.flows(history, births), limit=limit, everyone=everyone, named=named)
    rows = [(*row, c, n) for row, split in told.items() for c, n in zip(DIED, split, strict=True)]
    return pl.DataFrame(rows, schema={**dict.fromkeys((*ROW, "column"), pl.String), "n": pl.Int64}, orient="row")


def _finished(table: pl.DataFrame, names: Names) -> pl.DataFrame:
    """Columns in their order, zeros for what did not move, names beside ids, and whether each line adds up."""
    wanted = ("opening", *MOVEMENTS, "closing")
    table = table.with_columns(pl.lit(0, pl.Int64).alias(c) for c in wanted if c not in table.columns)
    found = [c for c in (*RARE, *PARTS, UNSEEN) if c in table.columns]
    table = table.with_columns(pl.col(*wanted, *found).fill_null(0).cast(pl.Int64))
    found = [c for c in found if (table[c] != 0).any()]
    if found and not {"count_estimate", "count_young_unseen"} & set(found):
        found = [c for c in found if c not in PARTS]  # all of the difference is unaccounted for
    rare = [c for c in found if c in RARE]
    added = pl.sum_horizontal("opening", *IN, *SIGNED, *(c for c in rare if c not in ("fed_out", "passed")))
    taken = pl.sum_horizontal(*OUT, *(c for c in rare if c == "fed_out"))
    columns = [*WHO, "opening", *MOVEMENTS, *found, "closing", "adds_up"]
    empty = [pl.lit("").alias(c) for c in ("place", "holder", "owner")]
    return (
        tagged(table.with_columns(*empty, adds_up=added - taken == pl.col("closing")), names)
        .filter(pl.any_horizontal(pl.col(*wanted, *found) != 0))
        .select(columns)
        .sort(in_order(["standing", "class", "unit", "taxon", "taxon_id", "sex"]))
    )
