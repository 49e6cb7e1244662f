"""Journal lines from acts as columns, in one set-based question (`sql/derived.sql`): a second way to them.

It takes rows and gives rows, knows operations and no kind, and tells no act after another. What it can be asked of
`ledger.recompute` says: subjects whose acts stand each on a day of its own.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

import duckdb
import polars as pl

from ledger.read.tables import sql
from ledger.words import SINKS

ACTS: Final[dict[str, Any]] = {
    "subject": pl.String,
    "individual": pl.Boolean,
    "effect": pl.Int64,  # first event of its line of corrections
    "day": pl.Int64,  # ordinal
    "op": pl.String,  # enter, shift, back, level
    "reason": pl.String,
    "reason_in": pl.String,
    **dict.fromkeys(("n_m", "n_f", "n_h", "n_u"), pl.Int64),
    # where animals come from: the account or party of an arrival, the place part of a lot is taken from or counted in
    **dict.fromkeys(("source", "source_holder", "source_owner", "account"), pl.String),
    # parts of the cell that are set; null: as they were
    **dict.fromkeys(("taxon", "sex", "place", "holder", "owner", "standing"), pl.String),
    # what is one and the same of a lot: holder by place
    **dict.fromkeys(("lot_taxon", "lot_holder", "lot_owner", "lot_standing"), pl.String),
}
LINES: Final = (
    *("effect", "subject", "counts_on", "taxon", "sex", "place", "holder", "owner", "standing", "reason", "delta"),
)


def derived(acts: Sequence[tuple[Any, ...]]) -> list[tuple[Any, ...]]:
    """Lines (columns `LINES`, days as ordinals, alike ones summed) of acts (columns `ACTS`)."""
    db = duckdb.connect(":memory:")
    try:
        db.register("acts", pl.DataFrame(acts, schema=ACTS, orient="row").to_arrow())
        frame = db.sql(sql("derived"), params={"sinks": list(SINKS)}).to_arrow_table()
        found = pl.from_arrow(frame)
        assert isinstance(found, pl.DataFrame)
        return found.select(LINES).rows()
    finally:
        db.close()
