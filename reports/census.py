"""Census on a day: how many of what, where and whose, at the close of the day.

Definition. The figure is the sum of all journal lines that count on or before the day and are known at the
position asked for, over the cells of the basis (`reports/README.md`): ours and here, another's and here, ours
and elsewhere, each in rows of its own. The range is what the figure could be where dates are uncertain, or
where a count found a difference whose day nobody saw (`reports/ranges.py`).

Animals of a joint owner in which the house has a share are owned *in part*. A census of the owned shows them in
rows of their own (`whose` ours_in_part, `share` the house's part on that day), wherever a member house holds them:
whole animals, in no total of what is owned, for a share of an animal is no animal. Among the held they are another's.

Columns, one row a group: the columns of each key in `by` (below); `unit` (animals, colonies or not_counted;
units are never added together), `standing`, `whose` (ours_here, others_here, ours_elsewhere, ours_in_part), m, f, h,
u and `total` (integers), `low` and `high` (the possible range of the total; null where it is not known), `mfu`
(text, `2.3.1`), `share` (text, `1/3`; empty but for ours_in_part).

Source: design of the book, §2 and §4; that owned-and-here, owned-and-away and held-for-others are asked for
apart is common accreditation practice (owned stock is listed whether or not it is on loan).
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

import polars as pl

from ledger.read import AsOf, Copy, Names
from ledger.words import LOST
from reports.common import Basis, InPart, by_sex, in_order, mfu_column, seen, shares, tagged
from reports.ranges import grouped

KEYS: Final = {
    "taxon": ("class", "taxon", "common_name", "taxon_id"),
    "class": ("class",),
    "enclosure": ("enclosure", "enclosure_name", "enclosure_id"),
    "section": ("section",),
    "purpose": ("purpose",),
    "holder": ("holder",),
    "owner": ("owner",),
}


def columns(by: Sequence[str]) -> list[str]:
    """The key columns that a census by these keys has. Raises KeyError for an unknown key."""
    return [*dict.fromkeys(c for key in by for c in KEYS[key]), "unit", "standing", "whose"]


def census(copy: Copy, names: Names, asof: AsOf, basis: Basis, by: Sequence[str]) -> pl.DataFrame:
    """The census at the close of `asof.on`, as known at `asof.known`, grouped by keys of `KEYS`."""
    whole = grouped(copy, names, [asof.on], asof.known, basis, columns(by)).with_columns(share=pl.lit(""))
    parts = in_part(copy, names, asof, basis.house, by) if basis.how == "owned" else []
    return pl.concat([whole.drop("day"), *parts])


def in_part(copy: Copy, names: Names, asof: AsOf, house: str, by: Sequence[str]) -> list[pl.DataFrame]:
    """What joint owners own in whom the house has a share: the columns of a census, a frame a share, largest first."""
    by_share: dict[str, list[str]] = {}
    for owner, share in shares(names, house).items():
        by_share.setdefault(share, []).append(owner)
    return [
        grouped(copy, names, [asof.on], asof.known, InPart("owned", house, tuple(by_share[share])), columns(by))
        .drop("day")
        .with_columns(share=pl.lit(share))
        for share in sorted(by_share, key=lambda share: (-Fraction(share), share))
    ]


def lost(copy: Copy, names: Names, asof: AsOf, basis: Basis) -> pl.DataFrame:
    """Escaped and missing animals of the house, in no basis and so listed apart.

    `where` (escaped or missing), class, taxon, common_name, taxon_id, unit, standing, m, f, h, u, total, mfu.
    """
    keys = ["where", *KEYS["taxon"], "unit", "standing"]
    mine = pl.col("owner") == basis.house if basis.house else pl.col("owner").str.starts_with("h-")
    cells = seen(copy.figures([asof.on], asof.known, names.uncounted), names).filter(pl.col("place").is_in(LOST) & mine)
    return (
        tagged(cells.with_columns(where="place"), names)
        .group_by(keys)
        .agg(by_sex())
        .with_columns(mfu=mfu_column())
        .filter(pl.col("total") != 0)
        .sort(in_order(keys))
    )
