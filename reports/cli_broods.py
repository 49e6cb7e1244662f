"""`broods`: each brood from its start to day 30 of its young, or rates by pairing, carrier, dam, taxon or year."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from reports import cli_say as out
from reports.cli_book import Asked, Reading, reading
from reports.cli_guard import REFUSED, Stop
from reports.cli_say import Column, Page

if TYPE_CHECKING:
    import polars as pl

    from ledger.read import Names
    from reports.brood_lanes import Lanes
    from reports.clutches import Clutch

BROOD: Final = "brood"
_DRAWN: Final = (".svg", ".png")
_STATES: Final = (("alive", "alive"), ("dead_30", "dead ≤30"), ("left_30", "left"), ("not_yet", "not yet"))
_NAMED: Final = 5  # broods named in the line that says whether it adds up
_MORE: Final = "--format csv has every column; --by pairing, carrier, dam or year has rates"


class Wish(NamedTuple):
    """Options of the command: rates by what, of which dam, begun from and to, a chart into which file."""

    by: str
    dam: str | None
    first: str | None
    last: str | None
    chart: Path | None


def broods(asked: Asked, on: str | None, wish: Wish) -> None:
    """`tidemark broods`."""
    from reports import brood_rates
    from reports.broods import frame, of_house
    from reports.clutches import clutches

    if wish.by not in (BROOD, *brood_rates.BY):
        raise Stop(f"--by is {', '.join((BROOD, *brood_rates.BY))}; not “{wish.by}”.")
    if wish.chart is not None and wish.chart.suffix not in _DRAWN:
        raise Stop(f"A chart is drawn as {' or '.join(_DRAWN)}; not “{wish.chart.name}”.")
    with reading(asked) as book:
        day = book.day(on) if on else book.today
        names, asof = book.named(day), book.asof(day)
        found = of_house(clutches(book.copy, names, asof), book.copy, names, asof, book.house)
        found = _begun(book, found, wish)
        dam = _dam(names, wish.dam, book.house)
        if dam:
            found = [c for c in found if c.dam == dam]
        drawn = _lanes(found, dam, names, book.house) if wish.chart is not None else None
        if wish.by == BROOD:
            page = _brood_page(book, day, frame(found, names, day, book.house), found)
        else:
            page = _rate_page(book, day, brood_rates.rates(found, names, day, wish.by, book.house), wish.by)
    out.show(page, asked.form)
    if drawn is not None and wish.chart is not None:
        draw(drawn, page.head, wish.chart)
        out.say(f"Drawn in {wish.chart}: {drawn.finding}", err=True)


def _begun(book: Reading, found: Sequence[Clutch], wish: Wish) -> list[Clutch]:
    first = book.day(wish.first) if wish.first else date.min
    last = book.day(wish.last) if wish.last else date.max
    return [c for c in found if first <= c.start <= last]


def _dam(names: Names, typed: str | None, house: str) -> str:
    """The id of the dam a person names by number; "" where none is asked for."""
    if typed is None:
        return ""
    number = typed.rpartition(":")[2]
    rows = [row for row in names.numbers.iter_rows(named=True) if row["number"] == number]
    ours = {row["subject"] for row in rows if row["house"] == house} or {row["subject"] for row in rows}
    if len(ours) != 1:
        said = "no animal of that number is known" if not ours else "several bear that number; name a --house"
        raise Stop(f"“{typed}”: {said} at that position.", REFUSED)
    return str(ours.pop())


def _lanes(found: Sequence[Clutch], dam: str, names: Names, house: str) -> Lanes:
    from reports.brood_lanes import busiest, lanes

    hers = dam or busiest(found)
    if not any(c.dam == hers for c in found) or not hers:
        raise Stop("There is no clutch of a settled dam to draw.")
    return lanes(found, hers, names, house)


def draw(drawn: Lanes, head: str, file: Path) -> None:
    """The chart to a file, the finding and what it stands on above it."""
    from reports import brood_charts, theme

    alt = theme.altair()
    said = drawn.finding.replace(". ", ".|").split("|")
    under = {"subtitle": [head, brood_charts.key()], "subtitleFontSize": 10.5, "subtitleColor": theme.SOFT}
    title = alt.TitleParams(said, anchor="start", fontSize=13, color=theme.INK, offset=14, **under)
    brood_charts.clutches(drawn.rows).properties(title=title, background="white").save(str(file), scale_factor=2)


# --- pages ------------------------------------------------------------------------------------


def _brood_page(book: Reading, day: date, rows: pl.DataFrame, found: Sequence[Clutch]) -> Page:
    columns = [
        Column("brood", "brood"),
        Column("taxon", "taxon", drop=4),
        Column("parents", "parents"),
        Column("carrier", "carrier", drop=6),
        Column("start", "start"),
        Column("eggs", "eggs", right=True),
        Column("carried", "days", right=True),
        Column("range", "range", drop=7),
        Column("within", "within", drop=8),
        Column("live", "live", right=True),
        Column("stillborn", "stillborn", right=True, drop=9),
        Column("hatch_rate", "hatched", right=True, drop=3),
        *(Column(key, title, right=True) for key, title in _STATES),
        Column("cannot_say", "cannot say", right=True, drop=2),
        Column("survival", "to 30 d", right=True, drop=5),
        Column("state", "state", drop=1),
    ]
    lines = [_brood_line(row) for row in rows.iter_rows(named=True)]
    return Page(
        book.head(f"broods on {day}", day), book.about(on=day), rows.columns, rows.to_dicts(), lines, columns,
        _brood_sums(rows, found), _MORE,
    )  # fmt: skip


def _brood_line(row: dict[str, Any]) -> dict[str, Any]:
    days = row["carried"]
    if days is None and row["carried_low"] is not None:
        days = f"≥{row['carried_low']}"
    elif days is None and row["carried_high"] is not None:
        days = f"≤{row['carried_high']}"
    elif days is not None and row["carried_low"] != row["carried_high"]:
        days = f"{days} ({row['carried_low']}–{row['carried_high']})"
    yet: Any = row["not_yet"]
    if row["not_yet_low"] != yet:
        yet = f"{yet} ({row['not_yet_low']}–{yet})"
    eggs = f"≥{row['eggs']}" if row["eggs_are"] == "at_least" else row["eggs"]
    return {
        **{key: row[key] for key in ("brood", "taxon", "parents", "carrier", "range", "within", "live", "stillborn")},
        **{key: row[key] for key in ("alive", "dead_30", "left_30", "cannot_say", "state")},
        "start": row["start"].isoformat(),
        "eggs": eggs,
        "carried": days,
        "not_yet": yet,
        "hatch_rate": percent(row["hatch_rate"]),
        "survival": span_of(row["survival_30_low"], row["survival_30_high"]),
    }


def _brood_sums(rows: pl.DataFrame, found: Sequence[Clutch]) -> str:
    """Whether the five states are the live-born, and every ledger balances."""
    live = int(rows["live"].sum())
    five = sum(int(rows[key].sum()) for key in ("alive", "dead_30", "left_30", "not_yet", "cannot_say"))
    told = [c for c in found if c.left is not None and c.exact]
    wrong = [c.code for c in told if c.not_accounted]
    balance = (
        f"the eggs of {len(told):,} exactly counted clutches are accounted for"
        if told
        else "no eggs were counted exactly"
    )
    if wrong:
        which = ", ".join(wrong[:_NAMED]) + "…" * (len(wrong) > _NAMED)
        balance = f"of {len(told):,} exactly counted clutches {len(wrong):,} leave eggs not accounted for ({which})"
    same = "=" if live == five else "≠"
    states = f"{live:,} born alive {same} {five:,} alive, dead, left, not yet or cannot say"
    return f"{rows.height:,} broods: {states}; {balance}."


def _rate_page(book: Reading, day: date, rows: pl.DataFrame, by: str) -> Page:
    columns = [
        Column("group", by),
        Column("taxon", "taxon", drop=3),
        Column("broods", "broods", right=True),
        Column("over", "over", right=True, drop=6),
        *(Column(key, key, right=True, drop=7) for key in ("own", "received", "given")),
        Column("counted", "with rate", right=True, drop=5),
        Column("eggs", "eggs", right=True),
        Column("hatched", "hatched", right=True),
        Column("hatch_rate", "rate", right=True, always=True),
        Column("of_fertile", "of fertile", right=True, drop=4),
        Column("live", "live", right=True),
        *(Column(key, title, right=True) for key, title in _STATES),
        Column("cannot_say", "cannot say", right=True, drop=2),
        Column("survival", "to 30 d", right=True, always=True),
        Column("left_out_why", "no rate", drop=1),
    ]
    lines = [
        {
            **row,
            "hatch_rate": percent(row["hatch_rate"]),
            "of_fertile": percent(row["of_fertile"]),
            "survival": span_of(row["survival_30_low"], row["survival_30_high"]),
        }
        for row in rows.iter_rows(named=True)
    ]
    late = int(rows["found_late"].sum())
    sums = f"{int(rows['broods'].sum()):,} broods, {int(rows['left_out'].sum()):,} without a hatch rate."
    if late:
        sums += f" {late:,} were found after their start: what failed before is never seen, so rates are too high."
    head = book.head(f"broods by {by} on {day}", day)
    return Page(head, book.about(on=day) | {"by": by}, rows.columns, rows.to_dicts(), lines, columns, sums)


def percent(share: float | None) -> str:
    """A share as a person reads it, `47 %`."""
    return "" if share is None else f"{100 * share:.0f} %"


def span_of(low: float | None, high: float | None) -> str:
    """Two bounds of a share: `92 %`, or `73–92 %`."""
    if low is None or high is None:
        return ""
    return percent(low) if f"{100 * low:.0f}" == f"{100 * high:.0f}" else f"{100 * low:.0f}–{100 * high:.0f} %"
