"""The picture of sex changes: days from the loss to the first sign and to the end, a row a change.

Draws frames that are ready and computes nothing (`sex_page.rows`).
"""

from __future__ import annotations

from typing import Any, Final

import polars as pl

from reports import theme

HOLLOW: Final = "loss, presumed"
MARKS: Final = {  # what a mark is -> colour, shape: never told by colour alone
    "loss, recorded": (theme.INK, "circle"),
    HOLLOW: (theme.INK, "circle"),
    "first sign": (theme.SAND, "diamond"),
    "completed": (theme.TIDE, "square"),
    "given up": (theme.OUT, "cross"),
    "gone before completion": (theme.OUT, "triangle-down"),
    "still under way": (theme.SOFT, "triangle-right"),
}
_PUBLISHED: Final = "#e3eaed"  # between wash and line: a band that text can stand on
_ROW: Final = 40
_WIDTH: Final = 470


def intervals(lines: pl.DataFrame, marks: pl.DataFrame) -> Any:
    """Days since the loss, from left to right.

    `lines`, a row a change in the order of the page: who, start, stop (days), text (said beside it), range_low,
    range_high (published days to completion, or null). `marks`: who, low, high (possible days), what (of MARKS).
    """
    alt = theme.altair()
    order = lines["who"].to_list()
    present = [what for what in MARKS if what in set(marks["what"])]
    most = max([10, *lines["stop"], *lines["range_high"].drop_nulls()])
    least = min([0, *lines["start"], *marks["low"]])
    axis = alt.Axis(labelFontSize=11.5, labelColor=theme.INK, labelLimit=0, labelPadding=12)
    y = alt.Y("who:N", sort=order, title=None, axis=axis, scale=alt.Scale(paddingInner=0.3))
    days = alt.Axis(grid=True, gridColor="#e9eef0", gridOpacity=1, tickCount=6, titlePadding=8)
    scale = alt.Scale(domain=[least, most * 1.04], nice=False)

    def x(name: str) -> Any:
        return alt.X(f"{name}:Q", scale=scale, axis=days, title="days since the loss that opened the place")

    rows, points = alt.Chart(lines), alt.Chart(marks)
    legend = alt.Legend(orient="top", title=None, labelFontSize=11, labelColor=theme.INK, symbolSize=90, columns=4)

    def told(channel: Any, values: list[str], **more: Any) -> Any:
        return channel("what:N", scale=alt.Scale(domain=present, range=values), **more)

    inks = [MARKS[what][0] for what in present]
    fills = ["#ffffff" if what == HOLLOW else MARKS[what][0] for what in present]
    band = (
        rows.transform_filter("datum.range_high != null")
        .mark_bar(height=26, color=_PUBLISHED, stroke=_PUBLISHED, strokeWidth=3, cornerRadius=0)  # one day shows too
        .encode(y=y, x=x("range_low"), x2="range_high:Q")
    )
    thread = rows.mark_rule(color=theme.SOFT, strokeWidth=1).encode(y=y, x=x("start"), x2="stop:Q")
    spread = points.mark_bar(height=6, opacity=0.5, cornerRadius=0).encode(
        y=y, x=x("low"), x2="high:Q", color=told(alt.Color, inks, legend=None)
    )
    spots = (
        points.transform_calculate(mid="(datum.low + datum.high) / 2")
        .mark_point(size=85, opacity=1, strokeWidth=1.6)
        .encode(
            y=y,
            x=x("mid"),
            stroke=told(alt.Stroke, inks, legend=legend),
            fill=told(alt.Fill, fills, legend=legend),
            shape=told(alt.Shape, [MARKS[what][1] for what in present], legend=legend),
        )
    )
    words = rows.mark_text(align="left", baseline="bottom", dy=-9, fontSize=10.5, fill=theme.SOFT).encode(
        y=y, x=x("start"), text="text:N"
    )
    chart = band + thread + spread + spots + words
    return chart.resolve_scale(color="independent").properties(width=_WIDTH, height=max(2, lines.height) * _ROW)
