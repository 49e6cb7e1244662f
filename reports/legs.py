"""What moved on a basis: journal lines with the legs that cancel inside one event left out.

A transfer, a title change, a move and a passage between numbers each write two legs. Where both are of the
basis nothing moved: a loan among the owned, a move within the house, a transfer between member houses over the
whole book.
"""

from __future__ import annotations

from typing import Final

import polars as pl

from reports.common import Basis

ROW: Final = ("taxon", "standing", "kept", "sex")  # of a line (`common.seen`): what a row of a roll-forward is about
_FAMILY: Final = {
    **dict.fromkeys(("transfer_in", "transfer_out"), "transfer"),
    **dict.fromkeys(("title_in", "title_out"), "title"),
    **dict.fromkeys(("passed_in", "passed_out"), "passed"),
}


def moved(lines: pl.DataFrame, basis: Basis) -> pl.DataFrame:
    """Journal lines (`common.seen`) of the basis, legs that cancel within one event dropped.

    effect, subject, counts_on, taxon, standing, kept, sex, could_from, reason, delta (signed).
    """
    key = ["effect", "subject", "counts_on", *ROW]
    family = pl.col("reason").replace(_FAMILY)
    legs = (
        lines.filter(basis.counts)
        .group_by(*key, "reason")
        .agg(pl.col("delta").sum(), pl.col("could_from").min())
        .with_columns(family=family)
    )
    net = legs.with_columns(net=pl.col("delta").sum().over(*key, "family"), legs=pl.len().over(*key, "family")).filter(
        pl.col("net") != 0
    )
    # two legs that do not cancel wholly: what is left goes the way of its sign
    both = pl.col("legs") > 1
    wrong_way = pl.col("reason").str.ends_with("_in") != (pl.col("net") > 0)
    return (
        net.filter(~(both & wrong_way))
        .with_columns(delta=pl.when(both).then("net").otherwise("delta"))
        .filter(pl.col("delta") != 0)
        .select(*key, "could_from", "reason", "delta")
        .sort("counts_on", "effect", "subject", *ROW, "reason")
    )
