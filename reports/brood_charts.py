"""Charts of broods: each draws a frame that is ready and computes nothing.

Colour never says anything alone: eggs are a high block in sand, young to day 30 a low one in blue, each named beside
its first bar; what came of a brood stands in words behind it.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any, Final

import polars as pl

from reports import theme

_LANE: Final = 46  # height of a carrier's lane
_WIDTH: Final = 700
_LINE: Final = 14  # height of one more line of words
_LINES: Final = 3
_LETTER: Final = 6.0  # width of one letter of the words, pixels
EGGS, YOUNG = "eggs", "young"
_CUT: Final = ("moved", "died", "left", "escaped", "missing")  # ends of a carer's spell that are said in a word


def clutches(lanes: pl.DataFrame) -> Any:
    """Overlapping clutches of one dam: a lane a carrier, eggs and young as blocks (`brood_lanes.lanes`).

    The words of a brood stand above its first block.
    """
    alt = theme.altair()
    opens = (pl.col("phase") == EGGS) & (pl.col("begin") == pl.col("begin").min().over("brood"))
    data = lanes.with_columns(
        said=pl.when(opens)
        .then(pl.col("words").max().over("brood"))
        .otherwise(pl.when(pl.col("phase") == EGGS).then(pl.col("brood")).otherwise(pl.lit(""))),
        cut=pl.when((pl.col("phase") == EGGS) & pl.col("ended").is_in(_CUT))
        .then(pl.col("ended"))
        .otherwise(pl.lit("")),
    )
    begin, until = min(lanes["begin"]), max(lanes["until"])
    # room behind the last block for its words
    ends = [begin - timedelta(days=2), until + timedelta(days=2 + (until - begin).days // 6)]
    order = data["carrier"].unique(maintain_order=True).to_list()
    data, tiers = _tiered(data, _WIDTH / (ends[1] - ends[0]).days)
    y = alt.Y(
        "carrier:N",
        sort=order,
        title=None,
        scale=alt.Scale(paddingInner=0.1),
        axis=alt.Axis(
            labelFontSize=11.5, labelColor=theme.INK, labelLimit=160, domain=False, grid=True, gridColor=theme.LINE
        ),
    )
    axis = alt.Axis(format="%-d %b %Y", tickCount=6, domain=True, domainColor=theme.LINE, grid=False, labelOverlap=True)
    x = alt.X("begin:T", title=None, scale=alt.Scale(domain=[_day(alt, d) for d in ends]), axis=axis)
    base = alt.Chart(data).encode(y=y)
    eggs = base.transform_filter(f"datum.phase == '{EGGS}'").mark_bar(height=16, color=theme.SAND, cornerRadius=0)
    young = base.transform_filter(f"datum.phase == '{YOUNG}'").mark_bar(height=7, color=theme.TIDE, cornerRadius=0)
    blocks = eggs.encode(x=x, x2="until:T") + young.encode(x=x, x2="until:T")
    said = [
        base.transform_filter(f"datum.tier == {tier}")
        .mark_text(align="left", baseline="bottom", dy=-11 - _LINE * tier, fontSize=11)
        .encode(x=x, text="said:N")
        for tier in range(tiers)
    ]
    place = {"x": alt.X("until:T"), "text": "cut:N"}
    # a white edge keeps the word off the line of its lane
    edge = base.mark_text(align="left", dx=5, fontSize=11, stroke="white", strokeWidth=5).encode(**place)
    cut = base.mark_text(align="left", dx=5, fontSize=11, fill=theme.SOFT).encode(**place)
    height = _LANE + _LINE * 2 * (tiers - 1)  # a lane is as high below its line as above
    return alt.layer(blocks, *said, edge, cut).properties(width=_WIDTH, height=max(1, len(order)) * height)


def _tiered(data: pl.DataFrame, pixels: float) -> tuple[pl.DataFrame, int]:
    """Words that would run into those before them on their lane go a line higher: `tier`, and how many there are.

    `pixels` a day. What finds no place on the highest line loses its words but for the brood's code.
    """
    free: dict[tuple[str, int], float] = {}
    tier, said = [], []
    first = min(data["begin"])
    for carrier, begin, words, brood in data.select("carrier", "begin", "said", "brood").iter_rows():
        at = (begin - first).days * pixels
        line = next((n for n in range(_LINES) if free.get((carrier, n), 0) <= at), 0)
        fits = free.get((carrier, line), 0) <= at
        tier.append(line)
        said.append(words if fits or not words else brood)
        if words:
            free[carrier, line] = at + _LETTER * (len(said[-1]) + 2)
    frame = data.with_columns(tier=pl.Series(tier, dtype=pl.Int64), said=pl.Series(said, dtype=pl.String))
    return frame, 1 + max((n for n, text in zip(tier, said, strict=True) if text), default=0)


def key() -> str:
    """What the blocks are, in words, to stand under the chart."""
    return "High block: eggs in care. Low block: young up to their day 30."


def _day(alt: Any, day: date) -> Any:
    return alt.DateTime(year=day.year, month=day.month, date=day.day)
