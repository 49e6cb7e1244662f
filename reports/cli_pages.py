"""Frames of the reports as pages for people.

Which columns, in which order they go where there is little room, and the one line that says whether it adds
up. JSON and CSV take the frames' own rows.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, Final

from reports.cli_say import Column, Page
from reports.common import OURS_HERE, SIDE_WORDS

if TYPE_CHECKING:
    import polars as pl

    from reports.cli_book import Balance, Reading
    from reports.common import Period

QUIET: Final = {"standing": "collection", "unit": "animals", "whose": OURS_HERE}  # not said where all rows are so
TITLES: Final = {
    "class": "class",
    "taxon": "taxon",
    "common_name": "common name",
    "enclosure": "enclosure",
    "enclosure_name": "name",
    "unit": "counted in",
    "standing": "standing",
    "whose": "whose",
    "sex": "sex",
}
# a census on a narrow terminal loses columns from the right end of this list; its first column stays
_GO: Final = (
    *("whose", "standing", "unit", "taxon", "enclosure", "range", "mfu", "holder", "owner", "purpose", "section"),
    *("enclosure_name", "class", "common_name"),
)
# a roll-forward on a narrow terminal loses columns from the right end of this list
_KEEP: Final = (
    *("hatched_and_born", "died_older", "transfer_in", "transfer_out", "acquired", "died_within_30"),
    *("count_difference", "escaped_missing", "recovered", "released", "died_age_unknown", "brought_forward"),
    *("title_in", "title_out", "re_sexed", "redetermined", "propagated", "fed_out", "standing_changed", "passed"),
    *("common_name", "class"),
)
_WHO: Final = ("class", "taxon", "common_name", "sex")
_SEX: Final = {"hermaphrodite": "herm."}
_YEAR_TITLES: Final = {
    "brought_forward": "brought fwd",
    "hatched_and_born": "born",
    "transfer_in": "in",
    "title_in": "title in",
    "died_within_30": "died ≤30 d",
    "died_older": "died",
    "died_age_unknown": "died, age ?",
    "transfer_out": "out",
    "title_out": "title out",
    "escaped_missing": "escaped",
    "count_difference": "count ±",
    "re_sexed": "re-sexed ±",
    "redetermined": "species ±",
}


# --- census -----------------------------------------------------------------------------------


def census_page(
    book: Reading, day: date, by: Sequence[str], frame: pl.DataFrame, lost: pl.DataFrame, balance: Balance
) -> Page:
    """The census: keys, m.f.u, total and range; what escaped or is missing in a line of its own."""
    from reports.census import columns

    rows = frame.to_dicts()
    keys = [key for key in columns(by) if not key.endswith("_id")]
    lines = [
        {
            **{key: _word(key, row[key]) for key in keys},
            **({"whose": f"{_word('whose', row['whose'])}, {row['share']}"} if row["share"] else {}),
            "mfu": row["mfu"],
            "total": row["total"] if row["unit"] != "not_counted" else "present",
            "range": _range(row),
        }
        for row in _without_repeats(rows, keys)
    ]
    first = keys[0] if "taxon" not in by else "taxon"
    shown = [Column(key, TITLES.get(key, key), drop=0 if key == first else _GO.index(key) + 1) for key in keys]
    numbers = [
        Column("mfu", "m.f.u", right=True, drop=_GO.index("mfu") + 1),
        Column("total", "total", right=True, always=True),
        Column("range", "could be", drop=_GO.index("range") + 1),
    ]
    whole, part = ([row for row in rows if bool(row["share"]) is shared] for shared in (False, True))
    parts = [_totals(whole), *([f"Apart from these, ours in part: {_totals(part)}"] if part else [])]
    if lost.height:
        away = "; ".join(f"{row['total']} {row['taxon']} {row['where']}" for row in lost.to_dicts())
        parts.append(f"In no figure: {away}.")
    parts.append(_balanced(balance))
    head = book.head(f"census on {day}", day)
    return Page(head, book.about(on=day), frame.columns, rows, lines, [*shown, *numbers], " ".join(parts))


def _without_repeats(rows: Sequence[Mapping[str, Any]], keys: Sequence[str]) -> list[dict[str, Any]]:
    """Rows whose leading key columns are blank where they repeat the row above; keys after a change are said anew."""
    out: list[dict[str, Any]] = []
    above: Mapping[str, Any] = {}
    for row in rows:
        line, same = dict(row), True
        for key in keys:
            same = same and above.get(key) == row[key]
            if same and key not in QUIET:
                line[key] = ""
        out.append(line)
        above = row
    return out


def _word(key: str, value: str) -> str:
    """A value in words; what is so for most rows is left unsaid."""
    if value == QUIET.get(key):
        return ""
    return SIDE_WORDS.get(value, value) if key == "whose" else value.replace("_", " ") if key in QUIET else value


def _range(row: Mapping[str, Any]) -> str:
    if row["low"] is None or row["high"] is None:
        return "range not known"
    return "" if row["low"] == row["high"] == row["total"] else f"{row['low']} to {row['high']}"


def _totals(rows: Sequence[Mapping[str, Any]]) -> str:
    sums: dict[str, int] = {}
    for row in rows:
        if row["unit"] != "not_counted":
            sums[row["unit"]] = sums.get(row["unit"], 0) + row["total"]
    said = [
        f"{n:,} {unit if n != 1 else unit.removesuffix('s').replace('colonie', 'colony')}" for unit, n in sums.items()
    ]
    return (" and ".join(said) or "No animals") + "."


def _balanced(balance: Balance) -> str:
    if balance.wrong:
        return f"DOES NOT ADD UP for {', '.join(balance.wrong[:5])}: run tidemark verify."
    return f"Adds up: {balance.taxa} of {balance.taxa} taxa sum to zero over all accounts."


# --- year -------------------------------------------------------------------------------------


def year_page(book: Reading, period: Period, frame: pl.DataFrame, after: str) -> Page:
    """The roll-forward, a line a taxon and sex; columns in which nothing moved are left out of the table."""
    from reports.rollforward import IN, OUT, SIGNED, WHO

    rows = frame.to_dicts()
    figures = [c for c in frame.columns if c not in WHO and c != "adds_up"]
    named = [{**row, "taxon": _apart(row)} for row in rows]
    lines = [
        {
            **{key: line[key] for key in ("class", "taxon", "common_name")},
            "sex": _SEX.get(row["sex"], row["sex"]),
            **{c: _signed(row[c]) if c in SIGNED else row[c] for c in figures},
            "came": sum(row[c] for c in IN),
            "went": sum(row[c] for c in OUT),
            "other": _signed(row["closing"] - row["opening"] - sum(row[c] for c in IN) + sum(row[c] for c in OUT)),
        }
        for line, row in zip(_without_repeats(named, ("class", "taxon", "common_name")), rows, strict=True)
    ]
    who = [Column(key, TITLES[key], drop=0 if key in ("taxon", "sex") else _drop(key)) for key in _WHO]
    titles = {**_YEAR_TITLES, "opening": _short(period.eve), "closing": _short(period.last)}
    shown = [
        Column(c, titles.get(c, c.replace("_", " ")), right=True, drop=_drop(c), always=c in ("opening", "closing"))
        for c in figures
    ]
    sums = [
        Column("came", "in", right=True),
        Column("went", "out", right=True),
        Column("other", "±", right=True),
    ]
    narrow = [*who, shown[0], *sums, shown[-1]]
    head = book.head(f"{period.first} to {period.last}", period.last)
    about = book.about(from_=period.first, to=period.last)
    return Page(head, about, frame.columns, rows, lines, [*who, *shown], _ties(frame), after, narrow)


def _signed(n: int) -> str:
    return f"{'+' if n > 0 else '−'}{abs(n):,}" if n else ""


def _short(day: date) -> str:
    return f"{day.day} {day:%b} {day.year}"


def _apart(row: Mapping[str, Any]) -> str:
    """A taxon, and what sets a row apart: `Hippocampus kuda, held for another`."""
    return ", ".join(
        word for word in (row["taxon"], _word("standing", row["standing"]), _word("unit", row["unit"])) if word
    )


def _drop(column: str) -> int:
    return _KEEP.index(column) + 1 if column in _KEEP else 0 if column in ("opening", "closing") else 99


def _ties(frame: pl.DataFrame) -> str:
    """The line under a roll-forward: `Adds up: 57 of 57 lines. 480 animals + 96 in − 71 out = 505.`."""
    from reports.rollforward import IN, OUT

    good = int(frame["adds_up"].sum())
    said = (
        f"Adds up: {good} of {frame.height} lines."
        if good == frame.height
        else (f"DOES NOT ADD UP: {frame.height - good} of {frame.height} lines; run tidemark verify.")
    )
    for unit in sorted(set(frame["unit"]) - {"not_counted"}):
        part = frame.filter(frame["unit"] == unit)
        sums = {c: int(part[c].sum()) for c in part.columns if part[c].dtype.is_integer()}
        came = sum(sums[c] for c in IN) + sums.get("propagated", 0)
        went = sum(sums[c] for c in OUT) + sums.get("fed_out", 0)
        other = sums["closing"] - sums["opening"] - came + went
        rest = f" {'−' if other < 0 else '+'} {abs(other):,} by counts" if other else ""
        said += f" {sums['opening']:,} {unit} + {came:,} in − {went:,} out{rest} = {sums['closing']:,}."
    return said


# --- register and census over time ---------------------------------------------------------------

_REGISTER: Final = (
    Column("date", "date"),
    Column("number", "number"),
    Column("taxon", "taxon", drop=2),
    Column("mfu", "m.f.u", right=True),
    Column("way", "way"),
    Column("manner", "manner"),
    Column("party", "from or to", drop=1),
    Column("right", "of", drop=5),
    Column("source_code", "source", drop=6),
    Column("purpose_code", "purpose", drop=9),
    Column("permits", "permits", drop=4),
    Column("origin", "place", drop=8),
    Column("cause", "cause", drop=7),
    Column("sent", "sent", right=True, drop=11),
    Column("arrived_alive", "alive", right=True, drop=12),
    Column("dead_on_arrival", "dead", right=True, drop=10),
    Column("left", "left", drop=13),
    Column("agreement", "agreement", drop=14),
    Column("number_there", "number there", drop=15),
    Column("days", "days it can have been", drop=16),
    Column("sources", "came from", drop=17),
    Column("event", "entry", drop=3),
)


def register_page(book: Reading, period: Period, frame: pl.DataFrame) -> Page:
    """The register: a line a number and event, in the order of days."""
    rows = frame.to_dicts()
    lines = [{**row, "event": f"#{row['told_by']}", "cause": row["cause"].replace("_", " ")} for row in rows]
    sums = {way: sum(row["total"] for row in rows if row["way"] == way) for way in ("in", "out")}
    said = f"{len(rows):,} lines: {sums['in']:,} in, {sums['out']:,} out, custody and title together."
    head = book.head(f"register {period.first} to {period.last}", period.last)
    about = book.about(from_=period.first, to=period.last)
    return Page(head, about, frame.columns, rows, lines, list(_REGISTER), said)


def over_time_page(book: Reading, first: date, last: date, frame: pl.DataFrame) -> Page:
    """The census over time: a line a day, a column a class."""
    rows = frame.to_dicts()
    lines: dict[date, dict[str, Any]] = {}
    groups: dict[str, int] = {}
    for row in rows:
        said = [_word(key, row[key]) for key in ("class", "standing", "unit") if row[key] != QUIET.get(key)]
        group = ", ".join(said)
        groups[group] = max(groups.get(group, 0), row["total"])
        possible = _range(row)
        lines.setdefault(row["day"], {"day": row["day"]})[group] = (
            f"{row['total']} ({possible})" if possible else str(row["total"])
        )
    smallest = sorted(groups, key=lambda group: -groups[group])
    columns = [
        Column("day", "close of"),
        *(Column(g, g or "not known", right=True, drop=smallest.index(g) + 1, always=True) for g in groups),
    ]
    head = book.head(f"census over time, {first} to {last}", last)
    about = book.about(from_=first, to=last)
    return Page(
        head, about, frame.columns, rows, list(lines.values()), columns, f"{len(lines)} days, each its own sum."
    )
