"""Bonds, broods, changes of sex and groups, as they stand in the annual report of a house.

Definition. Of a period: bonds that stood at the close of any of its days; broods that began in it, with what had
become of their young by its last day (young *of* the year by fate, which is not the deaths *in* the year of the
roll-forward; definition D36); changes of sex whose first sign, completion or end fell in it; groups as they stood at
its close. Figures are those of `reports/pairs.py`, `broods.py`, `sexes.py` and `succession.py`; this file chooses rows
and columns and computes nothing but its sentences. A section without a row is left out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import polars as pl

from ledger.dates import spoken
from ledger.read import AsOf, Copy, Names
from reports import bond_charts, charts, pair_page
from reports.broods import broods
from reports.common import Period
from reports.page import Part, paragraph, section
from reports.sexes import sexes
from reports.succession import succession
from reports.tables import Col, field, figure, short, table

Row = Mapping[str, Any]
FATES: Final = {
    "alive": "alive at 30 days",
    "dead_30": "died by then",
    "left_30": "left before",
    "not_yet": "not yet 30 days old",
    "cannot_say": "cannot be said",
}
DRAWN: Final = 40  # bonds up to which the timeline can be read; a longer one is left to `tidemark pairs`


@dataclass(frozen=True)
class Together:
    """Frames of the four reports, their rows chosen; `asked` and `bars` for the picture of the bonds."""

    period: Period
    pairs: pl.DataFrame
    bars: pl.DataFrame
    blocks: pl.DataFrame
    broods: pl.DataFrame
    changes: pl.DataFrame
    units: pl.DataFrame


def gather(copy: Copy, names: Names, asof: AsOf, period: Period, house: str) -> Together:
    """The four reports of a house ("" the whole book), asked once at the close of the period."""
    question = pair_page.Question(copy, names, asof, house)
    inside = pl.col("end").is_null() | (pl.col("end") > period.first)
    stood = question.pairs.filter((pl.col("start") <= period.last) & inside)
    bars, blocks = pair_page.rows(question)
    there = pl.col("start").is_null() | (pl.col("stop") > period.first)
    bars = bars.filter(there)
    head = pl.col("mark") == bond_charts.HEAD
    empty = head & head.shift(-1, fill_value=True)  # a heading with no bond under it goes
    days = [pl.col(c).is_between(period.first, period.last) for c in ("sign_high", "completed_high", "ended_on")]
    found = broods(copy, names, asof, house)
    return Together(
        period=period,
        pairs=stood,
        bars=bars.filter(~empty),
        blocks=blocks.filter(pl.col("who").is_in(bars["who"].to_list())),
        broods=found.filter(pl.col("start").is_between(period.first, period.last)),
        changes=sexes(copy, names, asof, house).filter(pl.any_horizontal(days)),
        units=succession(copy, names, asof, house),
    )


def part(told: Together) -> Part:
    """The sections one after the other, those without a row left out."""
    made = (
        _pairs(told) if told.pairs.height else None,
        _broods(told) if told.broods.height else None,
        _changes(told) if told.changes.height else None,
        _units(told) if told.units.height else None,
    )
    return Part("".join(one.html for one in made if one is not None))


def _day(day: Any) -> str:
    return spoken(day) if day else ""


def plain(word: str | None) -> str:
    """A word of the book as it is read."""
    return (word or "").replace("_", " ")


# --- bonds ------------------------------------------------------------------------------------------
def _days(row: Row) -> str:
    low, high = row["days_low"], row["days_high"]
    return f"{row['days']:,}" if low == high == row["days"] else f"{row['days']:,} ({low:,}–{high:,})"


PAIRS: Final = (
    Col("Pair", field("a"), text=True, strong=True, whole=True, under=lambda r: f"and {r['b']}, {plain(r['basis'])}"),
    Col("Since", lambda r: spoken(r["start"]), text=True, whole=True),
    Col("Ended", lambda r: r["how_ended"] or "stands", text=True, under=lambda r: _day(r["end"])),
    Col("Days", _days),
    Col("apart", figure("apart")),
    Col("Broods", figure("broods")),
    Col("Young", figure("young")),
    Col("Kept in", field("enclosure"), text=True, under=lambda r: plain(r["purpose"])),
)


def _pairs(told: Together) -> Part:
    said = pair_page.finding(told.pairs)
    bonds = told.bars.filter(pl.col("mark") != bond_charts.HEAD).height
    drawing = charts.figure(bond_charts.timeline(told.bars, told.blocks), said, "broad") if 0 < bonds <= DRAWN else ""
    caption = "Bonds that stood at the close of any day of the period"
    shown = table(told.pairs.to_dicts(), PAIRS, caption, band=lambda row: row["taxon"])
    return section("Bonds", paragraph(said), drawing, shown)


# --- broods -------------------------------------------------------------------------------------------
def _range(row: Row) -> str:
    low, high, most_likely = row["carried_low"], row["carried_high"], row["carried"]
    if most_likely is None:
        return "" if low is None else f"{low} or more"
    return f"{most_likely}" if low == high else f"{most_likely} ({low}–{high})"


def _survival(row: Row) -> str:
    low, high = row["survival_30_low"], row["survival_30_high"]
    if low is None or high is None:
        return row["survival_why"] or ""
    return f"{low:.0%}" if low == high else f"{low:.0%} to {high:.0%}"


def _parents(row: Row) -> str:
    return row["dam"] or ("dam not settled" if row["sire"] else "not settled")


def _others(row: Row) -> str:
    sire = f"and {row['sire']}" if row["sire"] else "sire not settled" if row["dam"] else ""
    carrier = (
        f"carried by {row['carrier']}" if row["carrier"] and row["carrier"] not in (row["dam"], row["sire"]) else ""
    )
    return ", ".join(filter(None, (sire, carrier)))


BROODS: Final = (
    Col(
        "Brood",
        field("brood"),
        text=True,
        strong=True,
        whole=True,
        under=lambda r: short(r["start"]) if r["start"] else "",
    ),
    Col("Parents", _parents, text=True, whole=True, under=_others),
    Col("Days carried", _range, under=lambda r: f"{r['range']}: {r['within']}" if r["range"] and r["within"] else ""),
    Col("Eggs", lambda r: f"{'≥' if r['eggs_are'] == 'at_least' else ''}{r['eggs']:,}" if r["eggs"] else ""),
    Col("Live young", figure("live")),
    Col("alive at 30 d", figure("alive")),
    Col("died by 30 d", figure("dead_30")),
    Col("left before", figure("left_30")),
    Col("not yet 30 d", figure("not_yet")),
    Col("cannot say", figure("cannot_say")),
    Col("Survival", _survival, text=True),
    Col("State", field("state"), text=True),
)


def _broods(told: Together) -> Part:
    frame = told.broods
    sums = {fate: int(frame[fate].sum()) for fate in ("live", *FATES)}
    fates = ", ".join(f"{sums[fate]:,} {words}" for fate, words in FATES.items() if sums[fate])
    said = f"{frame.height} broods began in the period; {sums['live']:,} live young{f': {fates}' if fates else ''}."
    note = "Young of the year by what had become of them at its end; deaths in the year stand in the roll-forward."
    caption = f"Broods begun in the period, as at {spoken(told.period.last)}"
    shown = table(frame.sort("taxon", "start").to_dicts(), BROODS, caption, band=lambda row: row["taxon"])
    return section("Broods", paragraph(said), shown, paragraph(note, "small"))


# --- changes of sex -------------------------------------------------------------------------------------
CHANGES: Final = (
    Col("Animal", field("animal"), text=True, strong=True, whole=True, under=field("unit")),
    Col("Change", lambda r: f"{r['from'] or 'not known'} to {r['to']}", text=True, under=field("fits")),
    Col("First sign", field("sign"), text=True, under=field("sign_basis")),
    Col("Completed", field("completed"), text=True, under=field("completed_basis")),
    Col("Stage", field("stage"), text=True),
    Col("Loss that opened the place", field("loss"), text=True, under=field("loss_by")),
    Col("Days to sign", field("loss_to_sign")),
    Col("to completion", field("loss_to_completed")),
    Col("Rank then", field("rank"), text=True, under=lambda r: f"by {r['rank_by']}" if r["rank_by"] else ""),
)


def _empty(row: dict[str, Any]) -> dict[str, Any]:
    """A row whose texts that are not known are empty."""
    return {key: "" if value is None else value for key, value in row.items()}


def _changes(told: Together) -> Part:
    stages = Counter(told.changes["stage"].to_list())
    said = f"{told.changes.height} animals or parts of a lot changed sex: " + ", ".join(
        f"{n} {stage}" for stage, n in stages.most_common()
    )
    note = "Until completed an animal counts with its former sex. A loss is presumed where no entry names it."
    rows = [_empty(row) for row in told.changes.sort("taxon", "sign_high").to_dicts()]
    caption = "Changes of sex whose first sign, completion or end fell in the period"
    shown = table(rows, CHANGES, caption, band=lambda row: row["taxon"])
    return section("Changes of sex", paragraph(f"{said}."), shown, paragraph(note, "small"))


# --- groups ---------------------------------------------------------------------------------------------
UNITS: Final = (
    Col("Group", field("unit"), text=True, strong=True, under=field("enclosure")),
    Col("m.f.u", field("mfu"), under=lambda r: f"({r['mfu_range']})" if r["mfu_range"] else ""),
    Col("State", field("state"), text=True, under=lambda r: r["dominant"]),
    Col(
        "Place open since",
        lambda r: spoken(r["open_since"]) if r["open_since"] else "",
        text=True,
        under=field("opened_by"),
    ),
    Col("Days", lambda r: f"{r['days_open']:,}" if r["days_open"] != "" else ""),
    Col("Presumed next", field("presumed_next"), text=True, under=field("presumed_by")),
    Col("To mind", field("flags"), text=True),
)


def _units(told: Together) -> Part:
    states = Counter(told.units["state"].to_list())
    shares = (f"{n} {'stand' if state == 'stands' and n > 1 else state}" for state, n in states.most_common())
    said = f"{told.units.height} groups: {', '.join(shares)}"
    note = "What is presumed follows the taxon’s rule and the order last seen; it enters no census."
    rows = [_empty(row) for row in told.units.sort("taxon", "unit").to_dicts()]
    caption = f"Groups and who is next, as at {spoken(told.period.last)}"
    shown = table(rows, UNITS, caption, band=lambda row: row["taxon"])
    return section("Groups", paragraph(f"{said}."), shown, paragraph(note, "small"))
