"""Tables of the annual report: which columns, in which words, under which bands."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

import polars as pl

from reports.annual_figures import CAUSES, COLLECTION, Figures, by_taxon
from reports.common import NOT_COUNTED, OURS_HERE, SIDE_WORDS, UNDERWAY
from reports.tables import MINUS, TAXON, Col, counted, field, figure, mfu, short, table

Row = Mapping[str, Any]
UNITS: Final = {"animals": "", "colonies": ", colonies", "not_counted": ", not counted"}
STANDING_WORDS: Final = {
    "held_for_another": "Held for another",
    "rehabilitation": "In rehabilitation",
    "feeder": "Feeders",
    "study": "Under study",
    "on_trial": "On trial",
}
OPEN_WORDS: Final = {
    "cause": "Cause of death not determined",
    "sex": "Sex not known",
    "owner": "Owner not settled",
    "permit missing": "No permit named",
    "permit ends": "Permit ends",
    "agreement ends": "Agreement ends",
    "loan ends": "Loan ends",
    "question": "Question",
    "not seen": "Not seen",
    "sheet": "Day sheet not received",
}


def _band(row: Row) -> str:
    name = str(row["class"] or "Class not known")
    standing = "" if row["standing"] == COLLECTION else f"{STANDING_WORDS.get(row['standing'], row['standing'])} · "
    return f"{standing}{name}{UNITS.get(row['unit'], '')}"


def _sexes(title: str, column: str, *, strong: bool = False) -> Col:
    """A column in m.f.u; hermaphrodites stand beneath. Of what is not counted, only that it is there."""

    def words(row: Row) -> str:
        m, f, u, h = (row[f"{column}.{letter}"] for letter in "mfuh")
        if row["unit"] == NOT_COUNTED and column != "re_sexed":
            return "present" if m or f or u or h else ""
        return mfu(m, f, u) or ("0.0.0" if h else "")

    def beneath(row: Row) -> str:
        h = row[f"{column}.h"]
        return f"{MINUS if h < 0 else '+'} {abs(h)} h" if h else ""

    return Col(title, words, strong=strong, under=beneath)


def _mfu(row: Row) -> str:
    """In m.f.u; of what is not counted, only that it is there."""
    return "present" if row["unit"] == NOT_COUNTED else mfu(row["m"], row["f"], row["u"], row["h"])


def rollforward_table(figures: Figures) -> str:
    """A row a taxon: opening and closing in m.f.u, movements as totals, re-classed sexes signed."""
    period, limit = figures.asked.period, figures.asked.limit
    plain = [
        ("brought_forward", "brought forward"),
        ("hatched_and_born", "hatch., born"),
        ("propagated", "propa- gated"),
        ("acquired", "ac- quired"),
        ("transfer_in", "in"),
        ("title_in", "title in"),
        ("recovered", "recov- ered"),
        ("died_within_30", f"died ≤ {limit} d"),
        ("died_older", "died older"),
        ("died_age_unknown", "died, age not sure"),
        ("count_deaths_unseen", "of them not seen"),
        ("transfer_out", "out"),
        ("title_out", "title out"),
        ("released", "re- leased"),
        ("escaped_missing", "esc., miss- ing"),
        ("fed_out", "fed out"),
        ("standing_changed", "standing"),
        ("count_difference", "count"),
    ]
    rows = by_taxon(figures)
    there = rows[0].keys() if rows else ()
    columns = [
        TAXON,
        _sexes(short(period.first), "opening"),
        *(Col(title, figure(key)) for key, title in plain if key in there),
        _sexes("re- sexed", "re_sexed"),
        *([Col("re- deter- mined", figure("redetermined"))] if "redetermined" in there else []),
        _sexes(short(period.last), "closing", strong=True),
    ]
    caption = (
        "Opening and closing are males.females.unknown at the close of the day before and of the last day; "
        f"{figures.asked.basis.how} animals. Between them animals, in and out; count and re-classed carry their sign."
    )
    return table(rows, columns, caption, _band, "roll")


def places_table(figures: Figures) -> str:
    """A row an enclosure: who lives in it, and how many animals in all."""
    rows: dict[tuple[str, str], dict[str, Any]] = {}
    for taxon in figures.places.sort("section", "enclosure_name", "enclosure", "taxon").iter_rows(named=True):
        key = (taxon["section"], taxon["enclosure_id"])
        row = rows.setdefault(key, taxon | {"taxa": [], "total": 0, "low": 0, "high": 0})
        name = taxon["common_name"] or taxon["taxon"]
        notes = [] if taxon["standing"] == COLLECTION else [STANDING_WORDS[taxon["standing"]].lower()]
        notes += [] if taxon["whose"] == OURS_HERE else ["another’s"]
        said = f" ({', '.join(notes)})" if notes else ""
        row["taxa"].append(f"{name}\u00a0{_mfu(taxon) or taxon['mfu']}{said}")
        if taxon["unit"] == "animals":
            row["total"] += taxon["total"]
            for end in ("low", "high"):
                known = row[end] is not None and taxon[end] is not None
                row[end] = row[end] + taxon[end] if known else None
    columns = [
        Col("Enclosure", field("enclosure_name"), text=True, whole=True, under=_code),
        Col("Purpose", lambda r: r["purpose"].replace("_", " ").replace(UNDERWAY, ""), text=True),
        Col("Who lives there, m.f.u", lambda r: "; ".join(r["taxa"]), text=True),
        Col("animals", lambda r: counted(r["total"], r["low"], r["high"]), strong=True),
    ]
    caption = (
        "Every animal held at the close, by section and enclosure. Colonies, and what is not counted, are named and "
        "not added."
    )
    return table(rows.values(), columns, caption, _section, "fine line")


def _code(row: Row) -> str:
    return "" if row["enclosure"] == row["enclosure_name"] else str(row["enclosure"])


def _section(row: Row) -> str:
    return "On the way" if row["section"] == UNDERWAY else str(row["section"]) or "No section"


def elsewhere_table(figures: Figures) -> str:
    """Ours and elsewhere, another's and here, and other standings: with whom, whose."""
    rows = figures.elsewhere.to_dicts()

    def band(row: Row) -> str:
        standing = row["standing"]
        side = SIDE_WORDS[row["whose"]]
        return side.capitalize() if standing == COLLECTION else f"{STANDING_WORDS.get(standing, standing)} · {side}"

    columns = [
        TAXON,
        Col("With", field("holder"), text=True),
        Col("Owner", field("owner"), text=True),
        Col("m.f.u", _mfu),
        Col("number", _number, strong=True),
    ]
    rows.sort(key=lambda r: (r["standing"] != COLLECTION, r["standing"], r["whose"] != "ours_elsewhere"))
    return table(rows, columns, "At the close of the period.", band)


def _number(row: Row) -> str:
    unit = "" if row["unit"] == "animals" else f" {row['unit']}"
    return "" if row["unit"] == NOT_COUNTED else counted(row["total"], row["low"], row["high"]) + unit


def lost_table(figures: Figures) -> str:
    """Escaped and missing, in no figure above."""
    columns = [
        TAXON,
        Col("", field("where"), text=True),
        Col("m.f.u", field("mfu")),
        Col("animals", figure("total"), strong=True),
    ]
    return table(
        figures.lost.to_dicts(), columns, "Escaped or missing at the close: in neither basis, and in no figure above."
    )


def register_table(figures: Figures, *, died: bool) -> str:
    """The register by day, without its deaths or of deaths alone."""
    is_death = pl.col("manner") == "died"
    rows = figures.moves.filter(is_death if died else ~is_death).to_dicts()
    how = [Col("Cause", lambda r: CAUSES.get(r["cause"], r["cause"]).replace("_", " "), text=True)]
    if not died:
        how = [
            Col("What", _what, text=True, under=field("origin")),
            Col("From, to", field("party"), text=True, under=_shipped),
            Col("CITES", lambda r: " ".join(x for x in (r["source_code"], r["purpose_code"]) if x), text=True),
            Col("Permits", lambda r: r["permits"].replace(", ", " "), text=True),
        ]
    columns = [
        Col("Day", lambda r: short(r["date"]), text=True, under=field("days")),
        Col("Number", field("number"), text=True, whole=True),
        TAXON,
        Col("m.f.u", lambda r: ("+" if r["way"] == "in" else MINUS) + r["mfu"]),
        *how,
        Col("Entry", lambda r: f"#{r['event']}"),
    ]
    caption = (
        "Every death of the period, by the day it counts on."
        if died
        else "Every acquisition and disposition, by the day it counts on; + into, − out of custody or title. "
        "CITES: source code, then purpose code."
    )
    return table(rows, columns, caption, lambda r: f"{r['date']:%B %Y}", "fine line" if died else "fine")


def _what(row: Row) -> str:
    return (
        str(row["manner"])
        if row["right"] == "custody and title" or "title" in row["manner"]
        else f"{row['manner']} ({row['right']} only)"
    )


def _shipped(row: Row) -> str:
    """Of a shipment, what the day of arrival alone does not say."""
    sent, alive, dead = row["sent"], row["arrived_alive"], row["dead_on_arrival"]
    parts = [f"left {short(row['left'])}"] if row["left"] else []
    parts += (
        [f"sent {sent:,}, alive {alive:,}, dead {dead:,}"] if dead and sent is not None and alive is not None else []
    )
    parts += [f"there {row['number_there']}"] if row["number_there"] else []
    return "; ".join([*parts, *([f"agreement {row['agreement']}"] if row["agreement"] else [])])


def corrections_table(figures: Figures) -> str:
    """What was put right in the period, a row an entry."""
    columns = [
        Col("Recorded", lambda r: r["recorded"][:10], text=True, whole=True, under=field("by")),
        Col("Entry", lambda r: f"{r['kind']} {r['what']}", text=True, under=lambda r: f"of {r['days']}"),
        Col("What was done", lambda r: f"{r['done']}, {r['reason']}", text=True, under=field("why")),
        Col("What it says now", _now, text=True, under=field("moved_words")),
        Col("Entry", lambda r: f"#{r['event']}"),
    ]
    caption = "Recorded in the period; beneath, the change of every figure of that place from that day on."
    return table(figures.corrected.to_dicts(), columns, caption, kind="fine line")


def _now(row: Row) -> str:
    if row["anew"]:
        return f"entered anew as {row['anew']}"
    return str(row["changed"]) or ("nothing in its place" if row["done"] == "struck out" else "")


def open_table(figures: Figures) -> str:
    """Open items by sort: how many, the oldest, the first few by name."""
    rows = figures.open.group_by("item", maintain_order=True).agg(
        pl.len().alias("n"), pl.col("since").min(), pl.col("what").unique(maintain_order=True)
    )
    columns = [
        Col("What is open", lambda r: OPEN_WORDS.get(r["item"], r["item"]), text=True),
        Col("items", figure("n"), strong=True),
        Col("Oldest, or first to end", lambda r: r["since"].isoformat(), text=True),
        Col("Which", lambda r: ", ".join(r["what"][:5]) + (" …" if len(r["what"]) > 5 else ""), text=True),
    ]
    return table(
        rows.to_dicts(), columns, "At the close of the period; the command open-items lists each.", kind="fine"
    )
