"""A life as a picture: stays, sexes, bonds and broods as bars on one line of time; a lot's balance as a line of steps.

The charts draw frames that `bars` and `Life.balances` have ready, and compute nothing. Columns of `bars` (`BARS`):
`group` (a key of `GROUPS`), `lane` (the words beside the bar), `key` (lane and group, one lane each), `start`, `end`
(dates; of what stands, the day after the one asked about), `stands`, `through` (the number of a lot, of what stands in
its story), `words` (what is said of the bar).
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from typing import TYPE_CHECKING, Any, Final

import polars as pl

from ledger.dates import spoken
from reports import theme

if TYPE_CHECKING:
    from reports.life import Life

GROUPS: Final = {"place": "Where", "holder": "Held by", "sex": "Sex", "mate": "Mates", "brood": "Broods"}
BARS: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("group", "lane", "key"), pl.String),
    **dict.fromkeys(("start", "end"), pl.Date),
    "stands": pl.Boolean,
    **dict.fromkeys(("through", "words"), pl.String),
}
_COLOURS: Final = {
    "place": theme.TIDE,
    "holder": theme.OKABE_ITO[4],
    "sex": theme.SOFT,
    "mate": theme.OKABE_ITO[2],
    "brood": theme.SAND,
}
_SIGNS: Final = {"male": "square", "female": "circle", "unknown": "diamond", "hermaphrodite": "triangle-up"}
_HEAD: Final = "\u2002"  # a lane of its own for the name of a group
_LANE: Final = 19  # pixels
_MOST: Final = 40  # letters of a lane


def bars(life: Life) -> pl.DataFrame:
    """The bars of a life: its spells by place, holder (of several), sex, mate and brood; columns as above."""
    rows = []
    after = life.asof.on + timedelta(days=1)
    lanes: dict[str, list[date]] = {}
    spells = life.lines.filter(pl.col("days").is_not_null() & pl.col("topic").is_in(list(GROUPS)))
    holders = spells.filter(pl.col("topic") == "holder")["what"].n_unique()
    for row in spells.sort("since").to_dicts():
        if row["topic"] == "holder" and holders < 2:
            continue
        start = row["since"]
        end = max(row["until"] or after, start + timedelta(days=1))
        lane = str(row["what"]) if row["topic"] != "brood" else _free(lanes, start, end)
        lane = f"{lane}, in {row['through']}" if row["through"] and row["topic"] == "place" else lane
        lane = lane if len(lane) <= _MOST else f"{lane[: _MOST - 1]}…"
        said = f"{row['what']}: {row['since']} to {row['until'] or 'this day'}"
        key = f"{row['topic']}|{lane}"
        rows.append((row["topic"], lane, key, start, end, row["until"] is None, row["through"], said))
    order = {group: place for place, group in enumerate(GROUPS)}
    rows.sort(key=lambda r: (order[r[0]], r[3]))
    return pl.DataFrame(rows, schema=BARS, orient="row")


def _free(lanes: dict[str, list[date]], start: date, end: date) -> str:
    """A lane of broods in which nothing stands on these days; the first says what they are."""
    for lane, ends in lanes.items():
        if ends[-1] <= start:
            ends.append(end)
            return lane
    lane = "one after another" if not lanes else "overlapping" + "\u2002" * (len(lanes) - 1)
    lanes[lane] = [end]
    return lane


def timeline(frame: pl.DataFrame, end: date, ended: str) -> Any:
    """Bars by lane under the name of each group; a rule and `ended` on day `end` where that says something."""
    alt = theme.altair()
    order: list[str] = []
    for group in dict.fromkeys(frame["group"]):
        keys = list(dict.fromkeys(frame.filter(pl.col("group") == group)["key"]))
        order += [f"{_HEAD}|{GROUPS[group]}", *keys]
    low = frame["start"].min()
    assert isinstance(low, date)
    high = max(end, *frame["end"])
    days = [alt.DateTime(year=d.year, month=d.month, date=d.day) for d in (low, high + (high - low) * 0.02)]
    head = f"split(datum.value, '|')[0] == '{_HEAD}'"
    labels = alt.Axis(
        labelExpr="split(datum.label, '|')[1]",
        labelLimit=260,
        labelFontWeight={"condition": {"test": head, "value": 600}, "value": 400},
        labelColor={"condition": {"test": head, "value": theme.INK}, "value": theme.SOFT},
        minExtent=150,
    )
    y = alt.Y("key:N", sort=order, title=None, scale=alt.Scale(domain=order, paddingInner=0.35), axis=labels)
    scale = alt.Scale(domain=days)
    span = (high - low).days
    axis = alt.Axis(
        format="%Y" if span > 800 else "%b %Y", tickCount="year" if span > 800 else 5, grid=True, gridColor=theme.LINE
    )
    base = alt.Chart(frame.with_columns(pl.col("start", "end").cast(pl.Datetime)))
    colours = alt.Color("group:N", scale=alt.Scale(domain=list(_COLOURS), range=list(_COLOURS.values())), legend=None)
    blocks = base.mark_bar(cornerRadius=0, height=10, stroke="#fff", strokeWidth=0.6).encode(
        x=alt.X("start:T", title=None, scale=scale, axis=axis),
        x2="end:T",
        y=y,
        color=colours,
        opacity=alt.condition("datum.through == ''", alt.value(1), alt.value(0.45)),
    )
    layers = blocks + _sex_signs(alt, frame, scale, order)
    if ended:
        mark = pl.DataFrame({"day": [end], "words": [ended], "key": [order[0]]})
        at = alt.Chart(mark.with_columns(pl.col("day").cast(pl.Datetime)))
        x = alt.X("day:T", scale=scale)
        rule = at.mark_rule(color=theme.OUT, strokeWidth=1.2).encode(x=x)
        near = (end - low).days > 0.6 * max(1, (high - low).days)
        words = at.mark_text(align="right" if near else "left", dx=-5 if near else 5, color=theme.OUT, fontWeight=600)
        layers = layers + rule + words.encode(x=x, y=alt.Y("key:N", sort=order), text="words:N")
    return layers.properties(width=560, height=len(order) * _LANE)


def _sex_signs(alt: Any, frame: pl.DataFrame, scale: Any, order: list[str]) -> Any:
    """Square, circle and diamond where a sex begins, as in published pedigrees."""
    signs = frame.filter((pl.col("group") == "sex") & (pl.col("through") == ""))
    shape = alt.Shape("lane:N", scale=alt.Scale(domain=list(_SIGNS), range=list(_SIGNS.values())), legend=None)
    marks = alt.Chart(signs.with_columns(pl.col("start", "end").cast(pl.Datetime)))
    return marks.mark_point(size=75, fill="#fff", stroke=theme.INK, strokeWidth=1.2, opacity=1).encode(
        x=alt.X("start:T", scale=scale), y=alt.Y("key:N", sort=order), shape=shape
    )


def balance(frame: pl.DataFrame, on: date) -> Any:
    """A lot's balance as steps from zero; counts as diamonds, the unexplained of each beside it with its sign."""
    alt = theme.altair()
    steps = frame.group_by("day", maintain_order=True).agg(pl.col("total").last())
    last = steps.tail(1).with_columns(day=pl.lit(on))
    steps = pl.concat([steps, last]).with_columns(pl.col("day").cast(pl.Datetime))
    counts = (
        frame.filter(pl.col("counted").is_not_null())
        .select("day", "total", "unexplained")
        .with_columns(
            pl.col("day").cast(pl.Datetime),
            words=pl.when(pl.col("unexplained") > 0)
            .then(pl.format("+{}", "unexplained"))
            .when(pl.col("unexplained") < 0)
            .then(pl.format("−{}", pl.col("unexplained").abs()))
            .otherwise(pl.lit("")),
        )
    )
    x = alt.X("day:T", title=None, axis=alt.Axis(grid=False, tickCount=6, domain=True, domainColor=theme.LINE))
    top = max([1, *steps["total"]])
    y = alt.Y(
        "total:Q",
        title=None,
        scale=alt.Scale(domain=[0, top * 1.1], nice=False),
        axis=alt.Axis(grid=True, gridColor=theme.LINE, tickCount=4),
    )
    line = alt.Chart(steps).mark_line(interpolate="step-after").encode(x=x, y=y)
    found = alt.Chart(counts).encode(x=x, y=y)
    dots = found.mark_point(shape="diamond", size=70, color=theme.SAND, fill=theme.SAND)
    words = found.mark_text(align="left", dx=8, dy=-9, color=theme.OUT, fontWeight=600).encode(text="words:N")
    end = (
        alt.Chart(steps.tail(1))
        .mark_text(align="left", dx=6, fontWeight=600)
        .encode(x=x, y=y, text=alt.Text("total:Q", format=","))
    )
    return (line + dots + words + end).properties(width=640, height=190)


def finding(frame: pl.DataFrame, number: str, ended: str) -> str:
    """The sentence over a timeline, from the same bars."""
    said = []
    places = frame.filter(pl.col("group") == "place")
    if places.height:
        n = places["lane"].n_unique()
        first = places["start"].min()
        assert isinstance(first, date)
        said.append(f"{number} is followed from {spoken(first)} through {n} {'place' if n == 1 else 'places'}")
    for group, one, many in (("mate", "bond", "bonds"), ("brood", "brood", "broods")):
        if n := frame.filter(pl.col("group") == group).height:
            said.append(f"{n} {one if n == 1 else many}")
    sexes = list(dict.fromkeys(frame.filter(pl.col("group") == "sex")["lane"]))
    if len(sexes) > 1:
        said.append(f"its sex stood as {', then '.join(sexes)}")
    said.append(ended or "in the book to this day")
    return "; ".join(said) + "."


def balance_finding(frame: pl.DataFrame, number: str) -> str:
    """The sentence over a balance, from the same frame."""
    counts = frame.filter(pl.col("counted").is_not_null())
    off = counts.filter(pl.col("unexplained") != 0)
    top = int(frame["total"].max() or 0)  # type: ignore[arg-type]
    now = int(frame["total"][-1])
    counted = f"{counts.height} {'count' if counts.height == 1 else 'counts'}" if counts.height else "never counted"
    differed = (
        f", {off.height} with an unexplained difference, {int(off['unexplained'].sum()):+d} together".replace("-", "−")
        if off.height
        else ""
    )
    first = int(frame["total"][0])
    return f"{number} began with {first:,}, had {top:,} at most and {now:,} at the end; {counted}{differed}."
