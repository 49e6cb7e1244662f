"""Courtship entries as meetings of two, shared by the reports on pairs.

An entry of several animals on a side is one meeting a two. It took place on its possible days, and is there from the
last of them on, as every fact that moves nobody.

Columns of `meetings`: `root` (position), `event_id`, `by` (who courted), `whom`, `x`, `y` (the two ids in order),
`act`, `outcome`, `mutual`, `first`, `last` (days), `seen`, `watched` (days; null: not said).
"""

from __future__ import annotations

from typing import Final

import polars as pl

from ledger.read import AsOf, Copy

_PATHS: Final = {name: f"$.{name}" for name in ("by", "with", "act", "outcome", "mutual", "seen", "watched")}


def meetings(copy: Copy, asof: AsOf) -> pl.DataFrame:
    """Every meeting by the day, in the order of days."""
    return (
        copy.told(("courtship",), _PATHS, asof.known)
        .filter(pl.col("last_day") <= asof.on)
        .select(
            *("root", "event_id"),
            *(_ids(name).alias(called) for name, called in (("by", "by"), ("with", "whom"))),
            *(pl.col(name).fill_null("") for name in ("act", "outcome")),
            (pl.col("mutual") == "true").fill_null(value=False).alias("mutual"),
            pl.coalesce("first_day", "last_day").alias("first"),
            pl.col("last_day").alias("last"),
            *(pl.col(name).cast(pl.Int64) for name in ("seen", "watched")),
        )
        .explode("by")
        .explode("whom")
        .with_columns(pl.min_horizontal("by", "whom").alias("x"), pl.max_horizontal("by", "whom").alias("y"))
        .sort("last", "root", "by", "whom")
    )


def _ids(column: str) -> pl.Expr:
    """Ids of a list of references as stored."""
    return pl.col(column).str.extract_all(r'"id":"[^"]*"').list.eval(pl.element().str.slice(6).str.strip_suffix('"'))
