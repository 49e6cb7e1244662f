"""Figures by group on one or several days, each with the range it could have (engine rule 21).

Range of a figure = figure + sum over every open choice of (least, most over its states of the number that
falls into the group, less that of state 0, which is what the book says). Choices are independent, so the
range is never too narrow, for any grouping; where one choice forces another it may be too wide.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from itertools import product
from typing import Final

import polars as pl

from ledger.read import Copy, Names
from reports.common import Basis, by_sex, in_order, mfu_column, seen, tagged

_CHOICE: Final = ["day", "subject", "choice", "part"]
_CELL: Final = ("taxon", "sex", "place", "holder", "owner", "standing")
_NOT_KNOWN: Final = -1


def grouped(
    copy: Copy, names: Names, days: Sequence[date], known: int, basis: Basis, keys: Sequence[str]
) -> pl.DataFrame:
    """One row a day and group that stands, or could: day, the keys, m, f, h, u, total, low, high, mfu.

    `keys` are columns of `common.tagged`, and `whose` (one of `common.SIDES`). Numbers are of animals, or of
    colonies where the taxon's unit says so. low and high are null where the range is not known.
    """
    groups = ["day", *keys]
    figures = _placed(copy.figures(days, known, names.uncounted), names, basis).group_by(groups).agg(by_sex())
    open_rows = copy.possible(days, known)
    spread = _spread(open_rows, names, basis, groups)
    unknown = _not_known(copy, open_rows, known, names, basis, groups)
    counted = ("m", "f", "h", "u", "total", "least", "most")
    return (
        figures.join(spread, on=groups, how="full", coalesce=True)
        .join(unknown.with_columns(blind=True), on=groups, how="full", coalesce=True)
        .with_columns(pl.col(c).fill_null(0) for c in counted)
        .with_columns(
            low=pl.when(pl.col("blind").is_null()).then((pl.col("total") + pl.col("least")).clip(lower_bound=0)),
            high=pl.when(pl.col("blind").is_null()).then(pl.col("total") + pl.col("most")),
            mfu=mfu_column(),
        )
        .filter((pl.col("total") != 0) | (pl.col("high") != 0) | pl.col("blind").is_not_null())
        .select(*groups, *counted[:5], "low", "high", "mfu")
        .sort(in_order(groups))
    )


def _placed(cells: pl.DataFrame, names: Names, basis: Basis) -> pl.DataFrame:
    """Cells of the basis, with their side and names."""
    return tagged(seen(cells, names).filter(basis.counts).with_columns(whose=basis.side), names)


def _spread(open_rows: pl.DataFrame, names: Names, basis: Basis, groups: list[str]) -> pl.DataFrame:
    """By group: the least and most that all choices together could add to the figure."""
    known = open_rows.filter(pl.col("state") != _NOT_KNOWN)
    states = known.select(*_CHOICE, "state").unique()
    inside = _placed(known.filter(pl.col("n") != 0), names, basis)
    by_state = list(dict.fromkeys([*_CHOICE, *groups, "state"]))
    by_choice = [c for c in by_state if c != "state"]
    told = inside.group_by(by_state).agg(pl.col("n").sum())
    n = pl.col("n").fill_null(0)
    return (
        told.select(by_choice)
        .unique()
        .join(states, on=_CHOICE)
        .join(told, on=by_state, how="left", nulls_equal=True)
        .group_by(by_choice)
        .agg(
            least=n.min() - n.filter(pl.col("state") == 0).sum(),
            most=n.max() - n.filter(pl.col("state") == 0).sum(),
        )
        .group_by(groups)
        .agg(pl.col("least", "most").sum())
    )


def _not_known(
    copy: Copy, open_rows: pl.DataFrame, known: int, names: Names, basis: Basis, groups: list[str]
) -> pl.DataFrame:
    """Groups into which a subject of too many possible states could fall: any mixture of what it ever was."""
    blind = open_rows.filter(pl.col("state") == _NOT_KNOWN).select("day", "subject").unique()
    ever: dict[str, list[pl.Series]] = {}
    if blind.height:
        for (subject,), cells in copy.known_cells(blind["subject"].to_list(), known).group_by("subject"):
            ever[str(subject)] = [cells[c].unique() for c in _CELL]
    rows = [(day, subject, *cell) for day, subject in blind.iter_rows() for cell in product(*ever.get(subject, [[]]))]
    schema = {"day": pl.Date, "subject": pl.String, **dict.fromkeys(_CELL, pl.String)}
    return _placed(pl.DataFrame(rows, schema=schema, orient="row"), names, basis).select(groups).unique()
