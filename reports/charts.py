"""Charts: each draws a frame that is ready and computes nothing. SVG text comes out, with its text alternative.

The words of the alternative are the finding, handed in by whoever computed the frame.
"""

from __future__ import annotations

from typing import Any

import polars as pl

from reports import theme
from reports.tables import shown


def figure(chart: Any, finding: str, kind: str = "") -> str:
    """A chart as it stands in a page; `finding` is what it shows, for who cannot see it."""
    style = f' class="{kind}"' if kind else ""
    drawing = theme.svg(chart).replace("<svg", '<svg aria-hidden="true" focusable="false"', 1)
    return f'<figure{style} role="img" aria-label="{shown(finding)}">{drawing}</figure>'


def waterfall(steps: pl.DataFrame, floor: int) -> Any:
    """Steps from opening to closing: label (lines parted by |), start, end, kind (end, in, out), text.

    Bars begin at `floor`; where it is not zero the page says so beside the chart.
    """
    alt = theme.altair()
    data = steps.with_columns(
        base=pl.when(pl.col("kind") == "end").then(floor).otherwise("start"),
        top=pl.max_horizontal("start", "end"),
    )
    low, high = floor, max(data["top"].to_list())
    order = data["label"].to_list()
    y = alt.Y("base:Q", axis=None, scale=alt.Scale(domain=[low, high + (high - low) * 0.12], nice=False))
    x = alt.X(
        "label:N",
        sort=order,
        title=None,
        axis=alt.Axis(labelExpr="split(datum.label, '|')", labelLimit=0),
        scale=alt.Scale(paddingInner=0.2, paddingOuter=0.05),
    )
    colours = alt.Color(
        "kind:N",
        scale=alt.Scale(domain=["end", "in", "out"], range=[theme.TIDE, theme.IN, theme.OUT]),
        legend=None,
    )
    chart = alt.Chart(data)
    bars = chart.mark_bar().encode(x=x, y=y, y2="end:Q", color=colours)
    # a step of one animal is thinner than a hair: the tick keeps it in sight
    ticks = chart.transform_filter("datum.kind != 'end'").mark_tick(thickness=1.2, orient="horizontal")
    ticks = ticks.encode(x=x, y=alt.Y("end:Q", axis=None), color=colours)
    words = chart.mark_text(dy=-8, fontWeight=600).encode(x=x, y=alt.Y("top:Q", axis=None), text="text:N")
    return (bars + ticks + words).properties(width=700, height=170)


def line(points: pl.DataFrame, title: str) -> Any:
    """A small line from zero: day, total, low, high; the range as a band, the last figure beside its point."""
    alt = theme.altair()
    ends = [alt.DateTime(year=d.year, month=d.month, date=d.day) for d in (points["day"][0], points["day"][-1])]
    axis = alt.Axis(values=ends, format="%b %Y", domain=True, domainColor=theme.LINE, labelBound=True)
    x = alt.X("day:T", title=None, scale=alt.Scale(domain=ends), axis=axis)
    top = max([1, *points["total"], *points["high"].drop_nulls()])
    y = alt.Y("total:Q", axis=None, scale=alt.Scale(domain=[0, top * 1.05], nice=False))
    base = alt.Chart(points)
    band = base.mark_area(color=theme.TIDE, opacity=0.14).encode(x=x, y=alt.Y("low:Q", axis=None), y2="high:Q")
    stroke = base.mark_line().encode(x=x, y=y)
    last = alt.Chart(points.tail(1))
    dot = last.mark_point().encode(x=x, y=y)
    words = last.mark_text(align="left", dx=7, fontWeight=600).encode(x=x, y=y, text=alt.Text("total:Q", format=","))
    heading = alt.TitleParams(title, anchor="start", fontSize=12, fontWeight=600, color=theme.INK, offset=8)
    layers = band + stroke + dot + words
    # room set by hand, so that small charts side by side have one size whatever their words
    return layers.properties(
        width=150, height=62, title=heading, autosize="none", padding={"left": 4, "right": 46, "top": 26, "bottom": 22}
    )


def bars(counts: pl.DataFrame) -> Any:
    """Level bars of `n` by `what`, labelled with their number. The frame comes sorted."""
    alt = theme.altair()
    axis = alt.Axis(labelFontSize=11.5, labelColor=theme.INK, labelLimit=0, minExtent=150)
    y = alt.Y("what:N", sort=counts["what"].to_list(), title=None, axis=axis)
    chart = alt.Chart(counts)
    # rounded corners would be clipped by reference, and references of several charts in one page meet
    blocks = chart.mark_bar(height=13, color=theme.OUT, cornerRadius=0).encode(y=y, x=alt.X("n:Q", axis=None))
    words = chart.mark_text(align="left", dx=6, fontWeight=600).encode(
        y=y, x=alt.X("n:Q", axis=None), text=alt.Text("n:Q", format=",")
    )
    return (blocks + words).properties(width=440, height=counts.height * 22)
