"""The broods of a house in parts for a page or a notebook: head, overlapping clutches, rates, the list, definitions.

Every figure is that of `broods` and `brood_rates`; here are its sentences and tables and nothing computed anew.
`from_words` takes a person's words.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

import polars as pl

from ledger.dates import spoken
from ledger.read import AsOf, Copy, Names, position_of
from reports import brood_charts, charts
from reports.brood_lanes import Lanes, busiest, lanes
from reports.brood_rates import rates
from reports.broods import frame, of_house
from reports.clutches import Clutch, clutches
from reports.page import Part, look, paragraph, section
from reports.tables import TAXON, Col, field, figure, table

DEFINITIONS: Final = (
    ("days", "From the start to the first young; of a nest from the last egg. Outside the range only if all of it is."),
    (
        "hatch rate",
        "Hatched of the eggs, over broods that are over and whose eggs were counted exactly; of a pouch there is none.",
    ),
    (
        "alive, dead, left, not yet, cannot say",
        "The born alive by what is known of their day 30, itself inside. The missing are with the dead. All add up.",
    ),
    (
        "to 30 days",
        "Those that left count until they left. The bounds are the worst and the best of what cannot be said.",
    ),
)
_BY: Final = (("pairing", "pairing"), ("carrier", "carrier"), ("year", "year"))


@dataclass(frozen=True)
class Broods:
    """The parts, and the frames they show: `rows` one a brood, `by` the rates by pairing, carrier and year."""

    head: Part
    overlap: Part
    rates: Part
    listed: Part
    definitions: Part
    rows: pl.DataFrame
    by: Mapping[str, pl.DataFrame]

    @property
    def look(self) -> Part:
        """The style of the parts, for a notebook that shows them one by one."""
        return look()


def made(copy: Copy, names: Names, asof: AsOf, house: str = "", dam: str = "") -> Broods:
    """The broods of a house (an id; "" for all) on a day, as known; the chart of `dam`, else of the busiest one."""
    found = of_house(clutches(copy, names, asof), copy, names, asof, house)
    rows = frame(found, names, asof.on, house)
    by = {key: rates(found, names, asof.on, key, house) for key, _ in _BY}
    hers = dam or busiest(found)
    return Broods(
        head=_head(names, asof, house, rows),
        overlap=_overlap(lanes(found, hers, names, house), found),
        rates=section(
            "Rates", *(table(by[k].to_dicts(), _rate_columns(w), f"By {w}", band=field("taxon")) for k, w in _BY)
        ),
        listed=section("Each brood", table(rows.to_dicts(), _BROOD, "Broods by start")),
        definitions=section("What the words mean", *(paragraph(f"{word}: {says}") for word, says in DEFINITIONS)),
        rows=rows,
        by=by,
    )


def from_words(copy: Copy, *, on: str, known_at: str | int, house: str = "", dam: str = "") -> Broods:
    """As `made`, from a day (YYYY-MM-DD), a day, instant or `@500`, the code of a house and the number of a dam.

    Raises KeyError for a house or a number that is not known; `NotAPosition` or ValueError for days that are none.
    """
    known = position_of(known_at, copy.ends(), str(copy.book().get("time_zone", "UTC")))
    asof = AsOf(date.fromisoformat(on), known)
    names = Names(copy, asof)
    hers = ""
    if dam:
        bearers = names.numbers.filter(pl.col("number") == dam)["subject"]
        if bearers.n_unique() != 1:
            raise KeyError(f"no one animal of number {dam!r} is known")
        hers = str(bearers[0])
    return made(copy, names, asof, names.find("house", house) if house else names.first_house(), hers)


def _head(names: Names, asof: AsOf, house: str, rows: pl.DataFrame) -> Part:
    whose = names.label(house) if house else "All houses of the book"
    live = int(rows["live"].sum())
    said = f"{rows.height:,} broods begun by {spoken(asof.on)}, as known at @{asof.known}; {live:,} young born alive."
    invented = " Recording times are invented." if names.simulated else ""
    return section(f"Broods of {whose}", paragraph(said + invented))


def _overlap(drawn: Lanes, found: list[Clutch]) -> Part:
    if drawn.rows.is_empty():
        return section("Overlapping clutches", paragraph("No clutch of a settled dam."))
    shown = charts.figure(brood_charts.clutches(drawn.rows), drawn.finding)
    columns = [
        Col("Carrier", field("carrier"), text=True, whole=True),
        Col("Brood", field("brood"), text=True, whole=True),
        Col("", field("phase"), text=True),
        Col("From", field("begin"), text=True, whole=True),
        Col("To", field("until"), text=True, whole=True),
        Col("Ended", field("ended"), text=True),
    ]
    behind = table(drawn.rows.to_dicts(), columns, f"Behind the chart, of {len(found):,} broods in all")
    return section("Overlapping clutches", paragraph(drawn.finding), shown, paragraph(brood_charts.key()), behind)


def _share(key: str) -> Any:
    return lambda row: "" if row[key] is None else f"{100 * row[key]:.0f} %"


def _to_30(row: Mapping[str, Any]) -> str:
    low, high = row["survival_30_low"], row["survival_30_high"]
    if low is None:
        return ""
    words = f"{100 * low:.0f}", f"{100 * high:.0f}"
    return f"{words[0]} %" if words[0] == words[1] else f"{words[0]}–{words[1]} %"


def _days(row: Mapping[str, Any]) -> str:
    low, high = row["carried_low"], row["carried_high"]
    if low is None and high is None:
        return ""
    if low is None or high is None:
        return f"at least {low}" if high is None else f"at most {high}"
    return str(row["carried"]) if low == high else f"{row['carried']} ({low} to {high})"


_STATES: Final = (
    Col("Live", figure("live")),
    Col("Alive", figure("alive")),
    Col("Dead", figure("dead_30")),
    Col("Left", figure("left_30")),
    Col("Not yet", figure("not_yet")),
    Col("Cannot say", figure("cannot_say")),
    Col("To 30 days", _to_30, strong=True, whole=True),
)


def _rate_columns(what: str) -> list[Col]:
    return [
        Col(what.capitalize(), field("group"), text=True, whole=True),
        Col("Broods", figure("broods")),
        Col("Eggs", figure("eggs")),
        Col("Hatched", figure("hatched")),
        Col("Rate", _share("hatch_rate"), strong=True),
        *_STATES,
    ]


_BROOD: Final = (
    Col("Brood", field("brood"), text=True, whole=True, under=field("state")),
    TAXON,
    Col("Parents", field("parents"), text=True, under=field("carers")),
    Col("Start", field("start"), text=True, whole=True),
    Col("Eggs", lambda r: f"{'≥' if r['eggs_are'] == 'at_least' else ''}{figure('eggs')(r)}"),
    Col("Days", _days, text=True, under=lambda row: f"{row['range']}, {row['within']}" if row["range"] else ""),
    Col("Rate", _share("hatch_rate")),
    *_STATES,
)
