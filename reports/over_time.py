"""Census over time: how many stood on each of a series of days, by class of animals, in one query.

Definition. On every day the same figure as the census (`reports/census.py`) of that day, on the same basis and
as known at one position. Days on which a group has nobody, between days on which it has, are rows of zero.

Columns: `day`, `class`, `unit`, `standing`, m, f, h, u, `total`, `low`, `high`, `mfu`.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Final

import polars as pl

from ledger.read import Copy, Names
from reports.common import Basis, in_order
from reports.ranges import grouped

KEYS: Final = ("class", "unit", "standing")


def over_time(copy: Copy, names: Names, days: Sequence[date], known: int, basis: Basis) -> pl.DataFrame:
    """The census by class on each of `days`, as known at `known`."""
    found = grouped(copy, names, days, known, basis, KEYS)
    every = pl.DataFrame({"day": sorted(set(days))}, schema={"day": pl.Date})
    numbers = [pl.col(c).fill_null(0) for c in ("m", "f", "h", "u", "total")]
    absent = pl.col("mfu").is_null()
    return (
        found.select(KEYS)
        .unique()
        .join(every, how="cross")
        .join(found, on=["day", *KEYS], how="left")
        .with_columns(
            *numbers,
            *(pl.when(absent).then(0).otherwise(c).alias(c) for c in ("low", "high")),
            pl.col("mfu").fill_null("0.0.0"),
        )
        .select("day", *KEYS, "m", "f", "h", "u", "total", "low", "high", "mfu")
        .sort(in_order([*KEYS, "day"]))
    )


def month_ends(first: date, last: date) -> list[date]:
    """The day before `first`, then the last day of each month up to `last`, and `last`: points for a line of a year."""
    days = {first - timedelta(days=1), last}
    day = first
    while day <= last:
        following = date(day.year + day.month // 12, day.month % 12 + 1, 1)
        days.add(min(following - timedelta(days=1), last))
        day = following
    return sorted(days)
