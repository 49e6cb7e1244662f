"""Tables of the page of pairs: which columns, in which words."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import polars as pl

from reports.tables import TAXON, Col, counted, field, figure, short, table

_NONE: Final = {"has_another_mate": "has another mate", "not_on_hand": "not on hand"}
_PLAIN: Final = TAXON._replace(under=None)


def _who(x: str) -> Col:
    def wait(row: Mapping[str, Any]) -> str:
        state = row[f"{x}_wait_state"]
        if row[f"{x}_wait"] is None:
            return _NONE.get(state, "")
        days = counted(row[f"{x}_wait"], row[f"{x}_wait_low"], row[f"{x}_wait_high"])
        if row[f"{x}_next"]:
            return f"{row[f'{x}_next']} after {days} d"
        return f"{days} d, then {state}" if state != "waiting" else f"waiting {days} d"

    return Col("One" if x == "a" else "Other", field(x), text=True, whole=True, under=wait)


def _range(name: str) -> Col:
    return Col(
        name.replace("_", " "), lambda r: counted(r[name], r[f"{name}_low"], r[f"{name}_high"]) if r[name] else ""
    )


def _day(row: Mapping[str, Any], name: str) -> str:
    day = row[name]
    return "" if day is None else f"{short(day)} {day.year}"


def histories(found: pl.DataFrame) -> str:
    """A row a bond (`reports.pairs`)."""
    columns = [
        TAXON,
        _who("a"),
        _who("b"),
        Col("From", lambda r: _day(r, "start"), text=True, whole=True, under=lambda r: r["basis"].replace("_", " ")),
        Col("To", lambda r: _day(r, "end"), text=True, whole=True, under=lambda r: r["how_ended"]),
        _range("days"),
        Col("together", figure("together")),
        Col("apart", figure("apart")),
        Col("cannot say", figure("cannot_say")),
        Col("broods", figure("broods")),
        Col("young", figure("young"), strong=True),
    ]
    return table(found.to_dicts(), columns, "Pairs, by taxon and start")


def courtship(found: pl.DataFrame) -> str:
    """A row a two that courted (`reports.courting`)."""
    columns = [
        _PLAIN,
        Col("Who", field("who"), text=True, whole=True, under=lambda r: "a pair then" if r["bonded"] else ""),
        Col("Whom", field("whom"), text=True, whole=True),
        Col("bouts", figure("bouts"), strong=True),
        Col("with eggs", figure("with_eggs")),
        Col("broods without", figure("broods_without")),
        Col("Seen", lambda r: f"{r['seen']} of {r['watched']} d" if r["watched"] else "", text=True),
        Col("Acts", lambda r: ", ".join(r["acts"]).replace("_", " "), text=True),
        Col("Last", lambda r: _day(r, "last"), text=True, whole=True),
    ]
    return table(found.to_dicts(), columns, "Who courted whom, in bouts")


def waits(found: pl.DataFrame) -> str:
    """A row a wait for the next mate (`reports.waiting`)."""
    columns = [
        _PLAIN,
        Col("Animal", field("animal"), text=True, whole=True),
        Col("After", field("former"), text=True, whole=True, under=lambda r: _day(r, "end")),
        Col("days", lambda r: counted(r["days"], r["days_low"], r["days_high"]), strong=True),
        Col("Then", lambda r: r["next_mate"] or r["state"].replace("_", " "), text=True),
        Col("days with a possible mate", figure("days_with_mate")),
    ]
    return table(found.to_dicts(), columns, "Waiting for the next mate")


def same_again(found: pl.DataFrame) -> str:
    """Fidelity by taxon, of dams and of sires, over all gaps (`reports.fidelity`)."""
    columns = [
        _PLAIN,
        Col("Of", lambda r: f"{r['of']}s", text=True),
        Col("same", figure("same")),
        Col("another, former there", figure("changed_present")),
        Col("another, former gone", figure("changed_gone")),
        Col("cannot say", figure("cannot_say")),
        Col("concurrent", figure("concurrent")),
        Col("fidelity", lambda r: "" if r["fidelity"] is None else f"{r['fidelity']:.2f}", strong=True),
        Col("retention", lambda r: "" if r["retention"] is None else f"{r['retention']:.2f}"),
    ]
    return table(found.filter(pl.col("gap") == "both").to_dicts(), columns, "Steps from brood to brood")
