"""Sex changes and succession as one page: figures, picture and tables put together for the notebook.

Every figure is that of `reports.sexes`, `reports.succession` and `reports.sex_findings`; the page computes nothing but
its sentences, and the rows of its picture.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import polars as pl

from ledger.dates import spoken
from ledger.read import AsOf, Copy, Names, position_of
from reports import charts, sex_charts
from reports.page import Part, look, paragraph, section
from reports.sex_findings import sex_findings
from reports.sexes import sexes
from reports.succession import succession
from reports.tables import Col, field, figure, table

_ENDS: Final = ("given up", "gone before completion")
_LINES: Final[Mapping[str, Any]] = {
    "who": pl.String,
    **dict.fromkeys(("start", "stop"), pl.Int64),
    "text": pl.String,
    **dict.fromkeys(("range_low", "range_high"), pl.Int64),
}
_MARKS: Final[Mapping[str, Any]] = {"who": pl.String, "low": pl.Int64, "high": pl.Int64, "what": pl.String}
_PRESUMED: Final = (
    "A loss that no entry names is presumed: the oldest open place of the unit at the first sign. Who is next is "
    "presumed by the rule of the taxon’s sexual system. Nothing presumed is in a census."
)


@dataclass(frozen=True)
class SexPage:
    """The page in parts, and the frames they were made of."""

    head: Part
    picture: Part
    transitions: Part
    units: Part
    findings: Part
    frames: Mapping[str, pl.DataFrame]

    @property
    def look(self) -> Part:
        """The style of the parts, for a notebook that shows them one by one."""
        return look()


def from_words(copy: Copy, *, on: str, house: str, known_at: str | int) -> SexPage:
    """The page asked for in a person's words.

    `on`: an ISO day. `house`: code or name of a member house, "" the whole book. `known_at`: a day, a UTC instant or a
    position (`@500`). Raises `NotAPosition`, KeyError for an unknown house, ValueError for a day that is none.
    """
    day = date.fromisoformat(on)
    known = position_of(known_at, copy.ends(), str(copy.book().get("time_zone", "UTC")))
    names = Names(copy, AsOf(day, known))
    return page(copy, names, AsOf(day, known), names.find("house", house) if house else "")


def page(copy: Copy, names: Names, asof: AsOf, house: str) -> SexPage:
    """The page for a house (an id; "" the whole book), at the close of `asof.on`, as known at `asof.known`."""
    changed, units = sexes(copy, names, asof, house), succession(copy, names, asof, house)
    told = sex_findings(copy, names, asof, house)
    name = names.label(house) if house else "All houses of the book"
    lines, marks = rows(changed, units, asof.on)
    said = finding(changed)
    drawing = charts.figure(sex_charts.intervals(lines, marks), said) if lines.height else ""
    band = "The band is the published time to completion." if lines["range_high"].drop_nulls().len() else ""
    when = f"at the close of {spoken(asof.on)}, as known at log position @{asof.known}"
    invented = " Recording times invented: this book is a demonstration." if names.simulated else ""
    return SexPage(
        head=Part(
            f"<header><h1>Who changed sex, and who is next</h1>{paragraph(f'{name}, {when}.{invented}')}</header>"
        ),
        picture=section(
            "From the loss to the change", paragraph(said), drawing, paragraph(f"{_PRESUMED} {band}", "small")
        ),
        transitions=section("Every change", _changes(changed)),
        units=section("Units and their open places", paragraph(_alert(units)), _units(units)),
        findings=section("What each entry did to figures", _findings(told)),
        frames={"sexes": changed, "succession": units, "findings": told, "lines": lines, "marks": marks},
    )


def rows(changed: pl.DataFrame, units: pl.DataFrame, on: date) -> tuple[pl.DataFrame, pl.DataFrame]:
    """The rows of the picture: one a change with a loss (`sex_charts.intervals`)."""
    ranges = {r["taxon"]: (r["range_low"], r["range_high"]) for r in units.to_dicts()}
    lines: list[dict[str, Any]] = []
    marks: list[dict[str, Any]] = []
    seen: Counter[str] = Counter()
    for row in (r for r in changed.to_dicts() if r["loss_on"] is not None):
        who = f"{row['animal']} to {row['to']}"
        seen[who] += 1
        who += f" ({seen[who]})" if seen[who] > 1 else ""
        own = _marks(row, on)
        marks += [{"who": who, **mark} for mark in own]
        low, high = ranges.get(row["taxon"], (None, None)) if row["fits"] == "expected" else (None, None)
        stop = max(mark["high"] for mark in own)
        start = min(0, *(mark["low"] for mark in own))
        lines.append(
            {"who": who, "start": start, "stop": stop, "text": _text(row), "range_low": low, "range_high": high}
        )
    return pl.DataFrame(lines, schema=_LINES), pl.DataFrame(marks, schema=_MARKS)


def _marks(row: Mapping[str, Any], on: date) -> list[dict[str, Any]]:
    kind = "recorded" if row["loss_by"] == "recorded" else "presumed"
    out = [{"low": 0, "high": 0, "what": f"loss, {kind}"}]
    for name, what in (("loss_to_sign", "first sign"), ("loss_to_completed", "completed")):
        if row[f"{name}_low"] is not None and row[f"{name}_high"] is not None:
            out.append({"low": row[f"{name}_low"], "high": row[f"{name}_high"], "what": what})
    if row["stage"] in _ENDS:
        days = (row["ended_on"] - row["loss_on"]).days
        out.append({"low": days, "high": days, "what": row["stage"]})
    if row["stage"] == "under way":
        days = (on - row["loss_on"]).days
        out.append({"low": days, "high": days, "what": "still under way"})
    return out


def _text(row: Mapping[str, Any]) -> str:
    said = [f"after {row['loss']}"]
    said += [f"{row['loss_to_sign']} d to the first sign"] if row["loss_to_sign"] else []
    said += [f"{row['loss_to_completed']} d to completion"] if row["loss_to_completed"] else []
    return ", ".join(said)


def finding(changed: pl.DataFrame) -> str:
    """What the picture shows, in words."""
    own = changed.filter(pl.col("loss_on").is_not_null())
    if not own.height:
        return "No sex change is set against a loss by that day."
    presumed = own.filter(pl.col("loss_by") == "presumed").height
    said = f"{own.height} sex change{'s' if own.height > 1 else ''} after a loss, {presumed} of the losses presumed."
    for name, words in (("loss_to_sign", "To the first sign"), ("loss_to_completed", "To completion")):
        known = own.drop_nulls([f"{name}_low", f"{name}_high"])
        if known.height:
            low, high = known[f"{name}_low"].to_list(), known[f"{name}_high"].to_list()
            span = f"{min(low)} to {max(high)}" if min(low) != max(high) else f"{max(high)}"
            said += f" {words} {span} days ({known.height} of them)."
    without = changed.height - own.height
    return said + (f" {without} more without a loss on record are in the table only." if without else "")


def _alert(units: pl.DataFrame) -> str:
    alone = units.filter(pl.col("without_days").is_not_null())
    if not alone.height:
        return "No unit that once had its dominant sex stands without it."
    each = ", ".join(f"{r['unit']} for {r['without_days']} days" for r in alone.to_dicts())
    return f"Without the dominant sex, of units that once had it and hold two or more others: {each}."


def _changes(changed: pl.DataFrame) -> str:
    columns = [
        Col("Animal", field("animal"), text=True, strong=True, under=lambda r: f"{r['from']} to {r['to']}"),
        Col("Taxon", field("taxon"), text=True, under=lambda r: f"unit {r['unit']}" if r["unit"] else "", italic=True),
        Col("Stage", field("stage"), text=True, under=lambda r: r["completed"] or f"first sign {r['sign']}"),
        Col(
            "Loss",
            lambda r: r["loss"] or "none on record",
            text=True,
            whole=True,
            under=lambda r: r["loss_by"] if r["loss"] else "",
        ),
        Col("Days to sign", field("loss_to_sign"), text=True, whole=True),
        Col("To completion", field("loss_to_completed"), text=True, whole=True),
        Col(
            "Rank then",
            field("rank"),
            text=True,
            under=lambda r: f"by {r['rank_by']}, {r['rank_seen']}" if r["rank"] else "",
        ),
    ]
    return table(changed.to_dicts(), columns, "Sex changes, from the first sign to how they ended")


def _units(units: pl.DataFrame) -> str:
    columns = [
        Col("Unit", field("unit"), text=True, strong=True, under=lambda r: "a lot, assumed" if r["assumed"] else ""),
        Col("Taxon", field("taxon"), text=True, italic=True, under=lambda r: r["system"]),
        Col("m.f.u", field("mfu"), text=True, whole=True, under=lambda r: r["mfu_range"]),
        Col("State", field("state"), text=True, under=lambda r: r["dominant"] or r["changing"]),
        Col("Open", figure("places_open")),
        Col("Days", figure("days_open"), under=lambda r: r["opened_by"]),
        Col("Over by", figure("over_by")),
        Col("Presumed next", _next, text=True, under=lambda r: r["presumed_by"]),
        Col("Order seen", field("order"), text=True, under=lambda r: str(r["order_on"] or "")),
    ]
    known = [row | {k: row[k] or 0 for k in ("places_open", "days_open", "over_by")} for row in units.to_dicts()]
    return table(known, columns, "Social units, longest without their dominant sex first")


def _next(row: Mapping[str, Any]) -> str:
    other = row["presumed_for"] not in ("", row["dominant_sex"])
    return f"{row['presumed_next']} ({row['presumed_for']} place)" if other else str(row["presumed_next"])


def _findings(told: pl.DataFrame) -> str:
    columns = [
        Col("Animal", field("animal"), text=True, strong=True),
        Col("Entry", field("what"), text=True, under=lambda r: r["stage"]),
        Col("Day", field("day"), text=True, whole=True),
        Col("To", field("to"), text=True, under=lambda r: f"was {r['said_before']}" if r["said_before"] else ""),
        Col(
            "Effect",
            field("effect"),
            text=True,
            under=lambda r: f"from {r['figures_from']}" if r["figures_from"] else "",
        ),
        Col("Event", lambda r: f"#{r['event']}", text=True),
    ]
    return table(told.to_dicts(), columns, "A sexing, a sex change and a corrected finding are three things")
