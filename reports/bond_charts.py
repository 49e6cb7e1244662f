"""Pictures of bonds: a timeline with broods on it, and how soon a next mate was found. They draw frames that are ready.

Every end is named beside its bar, in words and by a shape; colour alone says nothing.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import polars as pl

from reports import theme

BARS: Final[Mapping[str, Any]] = {
    "who": pl.String,
    "taxon": pl.String,
    **dict.fromkeys(("start", "stop"), pl.Date),
    "text": pl.String,
    "mark": pl.String,
}
BROODS: Final[Mapping[str, Any]] = {"who": pl.String, **dict.fromkeys(("start", "stop"), pl.Date), "brood": pl.String}
ENDS: Final = {  # what ended a bond, in words
    "died": "death",
    "released": "release",
    "fed_out": "feeding out",
    "joined_a_lot": "joining a lot",
    "left": "transfer of one",
    "back_alone": "return of one alone",
    "escaped": "escape",
    "missing": "one missing",
    "sex_changed": "sex change",
    "parted": "parting",
    "left_together": "leaving together",
}
HEAD: Final = "head"
STANDS: Final = "stands"
_SHAPES: Final = {
    "died": "cross",
    "parted": "diamond",
    "sex_changed": "square",
    "escaped": "circle",
    "missing": "circle",
    "left_together": "triangle-right",
}
_ROW: Final = 22
_WIDTH: Final = 500


def timeline(bars: pl.DataFrame, broods: pl.DataFrame) -> Any:
    """Bonds as bars from left to right, in the order of the page, broods as blocks on them, ends by what ended them.

    `bars`: who, taxon, start, stop, text (at its end), mark; a row of mark `HEAD` is the heading of a group and has no
    days. `broods`: who, start, stop, brood.
    """
    alt = theme.altair()
    heads = bars.filter(pl.col("mark") == HEAD)["who"].to_list()
    data = alt.Chart(bars.filter(pl.col("mark") != HEAD))
    marks = bars.filter(~pl.col("mark").is_in([HEAD, STANDS]))["mark"].unique(maintain_order=True).to_list()
    is_head = f"indexof({heads}, datum.value) >= 0"
    axis = alt.Axis(
        labelFontSize=11,
        labelLimit=0,
        labelPadding=8,
        labelFontStyle=alt.condition(is_head, alt.value("italic"), alt.value("normal")),
        labelColor=alt.condition(is_head, alt.value(theme.SOFT), alt.value(theme.INK)),
    )
    y = alt.Y("who:N", title=None, axis=axis, scale=alt.Scale(domain=bars["who"].to_list()))
    grid = alt.Axis(grid=True, gridColor="#e9eef0", gridOpacity=1, tickCount=8, labelPadding=6, orient="top")
    x, end = (alt.X(f"{name}:T", title=None, axis=grid) for name in ("start", "stop"))
    bond = data.mark_bar(height=10, color=theme.TIDE, cornerRadius=0).encode(y=y, x=x, x2="stop:T")
    laid = alt.Chart(broods)
    block = laid.mark_bar(height=16, color=theme.SAND, cornerRadius=0).encode(y=y, x=x, x2="stop:T")
    # a brood of few days is thinner than a hair: the tick keeps it in sight
    tick = laid.mark_tick(height=16, thickness=2.5, color=theme.SAND, opacity=1).encode(y=y, x=x)
    ended = data.transform_filter(f"datum.mark != '{STANDS}'")
    shapes = [_SHAPES.get(mark, "triangle-up") for mark in marks]
    shape = alt.Shape("mark:N", scale=alt.Scale(domain=marks, range=shapes), legend=None)
    at_end = ended.mark_point(size=90, fill=theme.OUT, stroke="#ffffff", strokeWidth=0.8, opacity=1)
    words = ended.mark_text(align="left", dx=9, fontSize=10.5).encode(y=y, x=end, text="text:N")
    layers = bond + block + tick + at_end.encode(y=y, x=end, shape=shape) + words
    room = {"left": 4, "right": 130, "top": 4, "bottom": 4}
    return layers.properties(width=_WIDTH, height=max(2, bars.height) * _ROW, padding=room)


def repairing(curve: pl.DataFrame) -> Any:
    """The share that had a mate again, a step a day with events; dashed what it would be had nothing else ended a wait.

    `curve`: columns of `reports.waiting.curve`. Steps with few at risk have a hollow point.
    """
    alt = theme.altair()
    first = pl.DataFrame({"day": [0.0], "paired": [0.0], "without": [0.0], "few": [False]})
    steps = pl.concat([first, curve.select("day", "paired", without=1 - pl.col("surv"), few="few")])
    scale = alt.Scale(domain=[0, 1], nice=False)
    axis = alt.Axis(format="%", grid=True, gridColor="#e9eef0", gridOpacity=1, tickCount=4)
    x = alt.X("day:Q", title="days since the bond ended", scale=alt.Scale(domain=[0, steps["day"].max()], nice=False))
    data = alt.Chart(steps)
    dashed = data.mark_line(interpolate="step-after", stroke=theme.SOFT, strokeDash=[4, 3]).encode(
        x=x, y=alt.Y("without:Q", title=None, scale=scale, axis=axis)
    )
    solid = data.mark_line(interpolate="step-after").encode(
        x=x, y=alt.Y("paired:Q", title=None, scale=scale, axis=axis)
    )
    point = (
        data.transform_filter("datum.day > 0 || datum.paired > 0")
        .mark_point(size=34, stroke=theme.TIDE, opacity=1)
        .encode(
            x=x,
            y="paired:Q",
            fill=alt.condition("datum.few", alt.value("#ffffff"), alt.value(theme.TIDE)),
        )
    )
    last = alt.Chart(steps.tail(1))
    ends = steps.select(pl.col("without") - pl.col("paired"))["without"]
    apart = bool((ends > 0.005).any())  # closer than the line is wide they are one line
    texts = [("paired", "had a mate again", 4), ("without", "had nothing else ended the wait", -4)]
    words = [
        last.mark_text(align="left", dx=8, dy=dy, fontSize=11).encode(x=x, y=f"{name}:Q", text=alt.value(text))
        for name, text, dy in (texts if apart else texts[:1])
    ]
    layers = alt.layer(*([dashed] if apart else []), solid, point, *words)
    room = {"left": 4, "right": 190 if apart else 110, "top": 8, "bottom": 4}
    return layers.properties(width=360, height=170, padding=room)
