"""Stock take: the sheet of what is expected in an enclosure, and the filled sheet read back as entries.

Definition. Expected are all animals and lots in the enclosure, and in those inside it, at the close of the day, as
known at the position. The finder fills `found` (an animal: yes or no; a lot: a number, or males.females.unknown),
and may write further animals beneath, by number, with the enclosure they were seen in. A blank says nothing: it is
neither *not seen* nor zero. `no` is a sighting that did not see it, `0` a count of nobody.

Columns: `enclosure` (code), `enclosure_name`, `number`, `subject`, `sort` (animal or lot), taxon, common_name, `mfu`,
`total` (animals; of a lot that is not counted, what the journal has for *present*), `unit`, `marks` (as they stand),
`last_seen` (day of the last entry in which somebody had it before their eyes; null where none). On the sheet, beside
them, blank: found, note.

Source: that a stock take compares what is there with what the record says, and never corrects by silence, is common
practice, no source; fields as the sighting and the count take them.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any, Final

import polars as pl

from ledger.dates import spoken
from ledger.read import AsOf, Copy, Names, Standing
from reports.common import NOT_COUNTED, by_sex, mfu_column, seen, tagged
from reports.page import Part, paragraph, section
from reports.page import page as page_of
from reports.papers import id_of
from reports.tables import Col, field, shown, table

SCHEMA: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("enclosure", "enclosure_name", "number", "subject", "sort", "taxon", "common_name"), pl.String),
    "mfu": pl.String,
    "total": pl.Int64,
    "unit": pl.String,
    "marks": pl.String,
    "last_seen": pl.Date,
}
SHEET: Final = (
    "enclosure",
    "number",
    "sort",
    "taxon",
    "common_name",
    "expected",
    "marks",
    "last_seen",
    "found",
    "note",
)
YES: Final = frozenset(("yes", "y", "x", "✓", "true", "seen", "1"))
NO: Final = frozenset(("no", "n", "not seen", "false", "0"))
_NOT_LOOKED: Final = ("title_change", "standing_change", "redetermination", "escape", "missing")
_COUNT: Final = re.compile(r"\d{1,9}|\d{1,9}\.\d{1,9}\.\d{1,9}", re.ASCII)
_FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")


class BadSheet(ValueError):
    """A filled sheet that cannot be read: which lines, what was found, what to write."""


def expected(copy: Copy, names: Names, asof: AsOf, enclosure: str) -> pl.DataFrame:
    """What is expected in an enclosure (an id) and those inside it; columns as above, by enclosure and number."""
    places = inside(names, enclosure)
    cells = seen(copy.cells(asof), names).filter(pl.col("place").is_in(places))
    facts = _facts(copy, asof)
    keys = ["enclosure", "enclosure_name", "subject", "taxon", "common_name", "unit"]
    rows = tagged(cells, names).group_by(keys).agg(by_sex()).with_columns(mfu=mfu_column())
    told = [
        {
            **{key: row[key] for key in (*keys, "mfu", "total")},
            "number": names.number(row["subject"], names.house_of(enclosure)),
            "sort": "animal" if row["subject"].startswith("a-") else "lot",
            "marks": "; ".join(facts[row["subject"]][0]) if row["subject"] in facts else "",
            "last_seen": facts[row["subject"]][1] if row["subject"] in facts else None,
        }
        for row in rows.filter(pl.col("total") > 0).iter_rows(named=True)
    ]
    return pl.DataFrame(told, schema=SCHEMA).sort("enclosure", "sort", "taxon", "number")


def inside(names: Names, enclosure: str) -> list[str]:
    """The enclosure and all that are part of it, on the day, by id."""
    children: dict[str, list[str]] = {}
    for place, parent in names.enclosures.select("place", "parent").iter_rows():
        children.setdefault(parent, []).append(place)
    found, ahead = [enclosure], [enclosure]
    while ahead:
        below = [p for p in children.get(ahead.pop(), ()) if p not in found]
        found += below
        ahead += below
    return found


def _facts(copy: Copy, asof: AsOf) -> dict[str, tuple[list[str], date | None]]:
    """Subject -> its marks as they stand, and the day somebody last had it before their eyes."""
    out: dict[str, tuple[list[str], date | None]] = {}
    for event in sorted(copy.standing_all(asof.known), key=lambda e: (e.last, e.root)):
        if event.last > asof.on:
            continue
        for subject in {id_of(event.payload.get(name)) for name in ("animal", "lot", "into", "new")} - {""}:
            marks, last = out.get(subject, ([], None))
            looked = event.kind not in _NOT_LOOKED and event.payload.get("seen") is not False
            out[subject] = (_marked(marks, event), event.last if looked else last)
    return out


def _marked(marks: list[str], event: Standing) -> list[str]:
    payload = event.payload
    if event.kind not in ("marking", "unmarking"):
        return marks
    mark = f"{str(payload.get('scheme')).replace('_', ' ')} {payload.get('value')}"
    if event.kind == "unmarking":
        return [m for m in marks if m.partition(",")[0] != mark]
    return [*marks, ", ".join([mark, *(str(payload[k]) for k in ("colour", "side") if payload.get(k))])]


# --- the sheet --------------------------------------------------------------------------------


def _line(row: Mapping[str, Any]) -> dict[str, str]:
    """A row as the sheet has it: blanks for the finder."""
    said = (
        row["mfu"]
        if row["sort"] == "lot"
        else {"1.0.0": "male", "0.1.0": "female", "0.0.1": "sex unknown"}.get(row["mfu"], row["mfu"])
    )
    return {
        **{key: row[key] for key in ("enclosure", "number", "sort", "taxon", "common_name", "marks")},
        "expected": "present" if row["unit"] == NOT_COUNTED else said,
        "last_seen": row["last_seen"].isoformat() if row["last_seen"] else "",
        "found": "",
        "note": "",
    }


def as_csv(rows: pl.DataFrame) -> str:
    """The sheet as CSV; a text that a spreadsheet would take for a formula gets an apostrophe before it."""
    text = io.StringIO()
    writer = csv.DictWriter(text, SHEET, lineterminator="\n")
    writer.writeheader()
    for row in rows.iter_rows(named=True):
        writer.writerow({k: f"'{v}" if v.startswith(_FORMULA) else v for k, v in _line(row).items()})
    return text.getvalue()


def as_page(rows: pl.DataFrame, names: Names, enclosure: str, known: str) -> str:
    """The sheet as a printable page. `known`: in words, when and at which position it was known."""
    label, day = names.label(enclosure), spoken(names.asof.on)
    blank = "Blank says nothing; write 0 for a lot of which none was there."
    head = f"Expected at the close of {day}, as known {known}. {blank}"
    columns = [
        Col("Number", field("number"), text=True, whole=True),
        Col("Taxon", field("taxon"), text=True, under=field("common_name"), italic=True),
        Col("Expected", field("expected"), text=True),
        Col("Marks", field("marks"), text=True),
        Col("Last seen", field("last_seen"), text=True),
        Col("Found", field("found"), text=True),
        Col("Note", field("note"), text=True),
    ]
    lines = [_line(row) | {"band": f"{row['enclosure']} {row['enclosure_name']}"} for row in rows.iter_rows(named=True)]
    caption = "Animals: yes or no. Lots: how many, in all or as males.females.unknown."
    title = f"Stock take, {label}"
    body = section(
        "Expected", table(lines, columns, caption, field("band"), "fine line sheet"), paragraph(_SIGN, "small")
    )
    house = names.label(names.house_of(enclosure))
    top = Part(
        f'<header><div class="house">{shown(house)}</div><h1>{shown(title)}</h1>{paragraph(head, "basis")}</header>'
    )
    return page_of(title, f"{house} · {title} · {day}", [top, body])


_SIGN: Final = (
    "Counted by ____________________ on ____________________. "
    "Animals found that are not listed: write number and enclosure beneath."
)


# --- and back ---------------------------------------------------------------------------------


def read_back(text: str, day: date, sorts: Mapping[str, str]) -> list[dict[str, Any]]:
    """Entries of a filled CSV sheet, for the book to judge: sightings of animals, counts of lots.

    `sorts`: number -> animal or lot, for lines that do not say it. Raises BadSheet naming every line it cannot read.
    """
    reader = csv.DictReader(io.StringIO(text.removeprefix("\ufeff")))
    lacking = {"number", "found"} - set(reader.fieldnames or ())
    if lacking:
        raise BadSheet(f"no column {' and '.join(sorted(lacking))}; the sheet has {', '.join(SHEET)}")
    entries: list[dict[str, Any]] = []
    wrong = []
    for no, row in enumerate(reader, 2):
        said = {k: _plain(v) for k, v in row.items() if isinstance(k, str)}
        try:
            entries += _entry(said, day, sorts)
        except BadSheet as error:
            wrong.append(f"line {no}: {error}")
    if wrong:
        raise BadSheet("; ".join(wrong))
    return entries


def _plain(value: Any) -> str:
    text = str(value or "").strip()
    return text[1:] if text.startswith("'") and text[1:].startswith(_FORMULA) else text


def _entry(row: Mapping[str, str], day: date, sorts: Mapping[str, str]) -> Iterable[dict[str, Any]]:
    number, found = row.get("number", ""), row.get("found", "").lower()
    if not found:
        return []
    if not number:
        raise BadSheet(f"“{found}” was found, of no number; write the number, or leave it blank")
    sort = row.get("sort") or sorts.get(number, "")
    payload: dict[str, Any] = {"enclosure": row["enclosure"]} if row.get("enclosure") else {}
    payload |= {"note": row["note"]} if row.get("note") else {}
    if sort == "animal":
        if found not in YES | NO:
            raise BadSheet(f"“{found}” for animal {number}; write yes or no, or leave it blank")
        kind, payload = "sighting", {"animal": number, "seen": found in YES, **payload}
    elif sort == "lot":
        if not _COUNT.fullmatch(found):
            raise BadSheet(f"“{found}” for lot {number}; write a number or males.females.unknown, or leave it blank")
        counted: int | str = int(found) if found.isdigit() else found
        kind, payload = "count", {"lot": number, "how_many": counted, **payload}
    else:
        raise BadSheet(f"{number} is neither an animal nor a lot of the sheet; say which in the column sort")
    return [{"kind": kind, "occurred": day.isoformat(), "payload": payload}]
