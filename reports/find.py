"""Who bore it: any mark, number or name, or a part of one, and who stood in an enclosure on a day.

Definition. A text is looked for, small and capital letters alike and spaces and hyphens left out, in every accession
number, name, mark, earlier number and number elsewhere that an entry known at the position gives, whether that entry
still stands or not; a part of three characters suffices, a shorter text must be the whole. `from` is the last possible
day of the entry that gave it, null where the number is older than the book; `until` the day the mark was taken off,
null where it was not. An enclosure is named by its whole code or name: then every animal and lot that stood in it at
the close of the day is a row, with the days of that stay.

Columns: `number` (the subject's first accession number), `sort` (accession number, name, earlier number, number
elsewhere, a marking scheme, enclosure), `value`, `about` (colour, side, place on the body; how many, or what sex),
`taxon`, `from`, `until` (dates), `state` (*stands*, *superseded by #n*, *struck out by #n*), `subject` (id), `event`
(position of the entry; of a stay, of the one that began it).

Source: the design §7 (every mark ever borne, and by whom); common practice, no source.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names, Written
from reports.common import mfu
from reports.papers import called as typed
from reports.papers import id_of

FOUND: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("number", "sort", "value", "about", "taxon"), pl.String),
    **dict.fromkeys(("from", "until"), pl.Date),
    **dict.fromkeys(("state", "subject"), pl.String),
    "event": pl.Int64,
}
SHORTEST: Final = 3  # characters of a part
_GIVING: Final = ("opening", "hatching", "birth", "propagation", "acquisition", "transfer", "split", "draw")
_KINDS: Final = (*_GIVING, "outside_animal", "marking", "unmarking")
_SPACE: Final = re.compile(r"[\s\-‐-―._/]+")


class Bearer(NamedTuple):
    """One name as one entry gives it."""

    subject: str
    sort: str
    value: str
    about: str
    since: date | None
    event: Written


def squeezed(text: str) -> str:
    """A text as it is compared: small letters, without spaces, hyphens, dots, strokes and underlines."""
    return _SPACE.sub("", text.casefold())


def find(copy: Copy, names: Names, asof: AsOf, text: str) -> pl.DataFrame:
    """Every bearer of a name with `text` in it, and all in an enclosure of that name on `asof.on`; columns as above."""
    wanted = squeezed(text)
    if not wanted:
        return pl.DataFrame(schema=FOUND)
    lines: dict[int, list[Written]] = defaultdict(list)
    for event in copy.versions(_KINDS, asof.known):
        lines[event.root].append(event)
    off = _taken_off(lines)
    taxa = _taxa(lines)
    rows: list[dict[str, Any]] = []
    seen: set[tuple[str, str, str]] = set()  # a transfer names an animal by a number that it bears already
    for events in lines.values():
        for place, event in enumerate(events):
            after = events[place + 1] if place + 1 < len(events) else None
            for one in _given(names, event):
                if not _matches(wanted, squeezed(one.value)) or _repeated(names, one, after) or one[:3] in seen:
                    continue
                if event.kind not in ("marking", "unmarking"):
                    seen.add(one[:3])
                rows.append(_row(names, one, _state(after), off, taxa))
    rows += _standing_in(copy, names, asof, wanted)
    order = pl.col("state") != "stands"
    return pl.DataFrame(rows, schema=FOUND).sort(order, "sort", "value", "from", "event", nulls_last=False)


def _matches(wanted: str, value: str) -> bool:
    return wanted == value or (len(wanted) >= SHORTEST and wanted in value)


def _given(names: Names, event: Written) -> Iterator[Bearer]:
    """Numbers, names and marks that an entry gives."""
    payload = event.payload
    field = next((f for f in ("new", "animal", "lot") if payload.get(f)), "")
    subject = id_of(payload.get(field))
    if not subject or event.kind in ("void", "unmarking"):
        return
    if event.kind == "marking":
        about = ", ".join(str(payload[k]) for k in ("colour", "side", "place") if payload.get(k))
        yield Bearer(subject, str(payload["scheme"]).replace("_", " "), str(payload["value"]), about, event.last, event)
        return
    elsewhere = event.kind == "outside_animal"
    number = typed(payload[field])
    if number:
        bare = number if elsewhere else number.rpartition(":")[2]
        yield Bearer(subject, "number elsewhere" if elsewhere else "accession number", bare, "", event.last, event)
    if payload.get("new_number"):
        bare, house = typed(payload["new_number"]).rpartition(":")[2], names.label(id_of(payload["to"]))
        yield Bearer(subject, "accession number", bare, house, event.last, event)
    if isinstance(payload.get("name"), str):
        yield Bearer(subject, "name", payload["name"], "", event.last, event)
    if payload.get("number_there"):
        side = "to" if id_of(payload["to"]).startswith("o-") else "from"
        where = names.label(id_of(payload[side]))
        yield Bearer(subject, "number elsewhere", str(payload["number_there"]), where, event.last, event)
    for number in payload.get("earlier_numbers") or ():
        yield Bearer(subject, "earlier number", str(number), "", None, event)
    for number in payload.get("numbers_there") or ():
        yield Bearer(subject, "number elsewhere", str(number), "", None, event)


def _repeated(names: Names, one: Bearer, after: Written | None) -> bool:
    """A superseded entry that gave what the next one gives too is no bearer of its own."""
    return after is not None and any(
        (other.subject, other.sort, other.value) == (one.subject, one.sort, one.value) for other in _given(names, after)
    )


def _state(after: Written | None) -> str:
    if after is None:
        return "stands"
    return f"{'struck out' if after.kind == 'void' else 'superseded'} by #{after.seq}"


def _taken_off(lines: Mapping[int, list[Written]]) -> dict[tuple[str, str, str], list[date]]:
    """Days on which marks were taken off: (subject, scheme, value) -> days, rising."""
    out: dict[tuple[str, str, str], list[date]] = defaultdict(list)
    for events in lines.values():
        newest = events[-1]
        if newest.kind == "unmarking":
            payload = newest.payload
            subject = id_of(payload.get("animal") or payload.get("lot"))
            out[subject, str(payload["scheme"]), str(payload["value"])].append(newest.last)
    return {key: sorted(days) for key, days in out.items()}


def _taxa(lines: Mapping[int, list[Written]]) -> dict[str, str]:
    """The taxon that the newest entry naming one gives each subject: id -> id."""
    told = ((event.payload, event) for events in lines.values() for event in events[-1:])
    return {
        id_of(payload[field]): id_of(payload["taxon"])
        for payload, event in told
        for field in ("new", "animal", "lot")
        if payload.get(field) and payload.get("taxon") and not (event.kind in ("draw", "split") and field == "lot")
    }


def _row(
    names: Names,
    one: Bearer,
    state: str,
    off: Mapping[tuple[str, str, str], list[date]],
    taxa: Mapping[str, str],
) -> dict[str, Any]:
    scheme = str(one.event.payload.get("scheme") or "")
    days = off.get((one.subject, scheme, one.value), []) if scheme else []
    return {
        "number": names.number(one.subject),
        "sort": one.sort,
        "value": one.value,
        "about": one.about,
        "taxon": names.label(taxa[one.subject]) if one.subject in taxa else "",
        "from": one.since,
        "until": next((day for day in days if one.since and day >= one.since), None),
        "state": state,
        "subject": one.subject,
        "event": one.event.root,
    }


def _standing_in(copy: Copy, names: Names, asof: AsOf, wanted: str) -> Iterator[dict[str, Any]]:
    """The animals and lots in the enclosures called so at the close of the day, with the days of their stay."""
    called = {t.id: t for t in names.of("enclosure") if wanted in (squeezed(t.code), squeezed(t.name))}
    if not called:
        return
    spells = copy.spells(asof.known).filter(pl.col("place").is_in(list(called)))
    stays: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for row in spells.sort("since").to_dicts():
        stays[row["subject"], row["place"]].append(row)
    for (subject, place), rows in stays.items():
        now = [r for r in rows if r["since"] <= asof.on and (r["until"] is None or r["until"] > asof.on)]
        if not now:
            continue
        begun = _begun([r for r in rows if r["since"] <= asof.on])
        ends = [r["until"] for r in _joined(rows, begun["since"])]
        counts = [sum(r["n"] for r in now if r["sex"] == sex) for sex in ("male", "female", "unknown", "hermaphrodite")]
        yield {
            "number": names.number(subject),
            "sort": "enclosure",
            "value": called[place].code,
            "about": mfu(*counts) if subject.startswith("g-") else str(now[0]["sex"]),
            "taxon": names.label(now[0]["taxon"]),
            "from": begun["since"],
            "until": None if None in ends else max(ends),
            "state": "stands",
            "subject": subject,
            "event": min(begun["since_events"]),
        }


def _begun(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """Of the spells of one place that began by a day, by their first days, the one that began the last stay."""
    first, end = rows[0], rows[0]["until"]
    for row in rows[1:]:
        if end is not None and row["since"] > end:
            first = row
        end = None if end is None or row["until"] is None else max(end, row["until"])
    return first


def _joined(rows: list[dict[str, Any]], since: date) -> list[dict[str, Any]]:
    """The spells that follow from a day on without a gap."""
    out: list[dict[str, Any]] = []
    for row in (r for r in rows if r["since"] >= since):
        ends = [r["until"] for r in out]
        if out and None not in ends and row["since"] > max(ends):
            break
        out.append(row)
    return out
