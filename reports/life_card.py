"""The card over a life: who it is, whence, whither, in ten items with the entries they rest on.

Columns (`CARD`): `item`, `words` (*not known* where the record says nothing), `events` (positions of entries).

Items: `identification` (numbers, names and marks it bears on the day), `taxon`, `sex`, `birth` (date as entered,
*estimated* where the entry says so or gives a range; of an animal out of a lot, of the lot), `acquired` and `disposed`
(each coming into and going out of the houses of the book, with its date), `source` (where from; of a wild one the
place of taking), `recipient` (each house or person it went to), `stranding` (whether it was acquired as the result of
one), `death` (date and cause).

Source: eight of these ten are the items (A) to (H) of an inventory of marine mammals, 16 USC 1374(c)(10), text seen;
any animal has them here. Local law differs and changes; the card gives no legal advice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

import polars as pl

from ledger.read import Written
from reports.common import mfu
from reports.life_lines import Line, Telling, joined, plain
from reports.life_stays import Span, presence
from reports.life_told import ARRIVALS, BROUGHT, OUT_OF, followed_from
from reports.papers import id_of

CARD: Final[Mapping[str, Any]] = {"item": pl.String, "words": pl.String, "events": pl.List(pl.Int64)}
ITEMS: Final = (
    *("identification", "taxon", "sex", "birth", "acquired", "disposed", "source", "recipient", "stranding", "death"),
)
UNKNOWN: Final = "not known"
_HERE: Final = ("hatching", "birth", "propagation")
_IN: Final = {"hatched": "hatched", "born": "born", "brought_forward": "on hand when the book began"}
_OUT: Final = {"died": "death", "passed_out": "into another number", "transfer_out": "transfer"}
Told = tuple[str, list[int]]


def card(told: Telling, lines: Sequence[Line], sources: Sequence[Telling]) -> pl.DataFrame:
    """The card of a subject. `sources`: of the lots it came out of, nearest first, each as of the day it left it."""
    own = [line for line in lines if not line.through]
    arrivals = _arrivals([told, *sources])
    deaths = [e for e in told.entries.values() if e.kind == "death" and _about(e, told.subject)]
    found: dict[str, Told] = {
        "identification": _identification(own),
        "taxon": _last(own, "taxon"),
        "sex": _sex(told, own),
        "birth": _births(arrivals, told.subject),
        "acquired": _acquired(told, sources),
        "disposed": _passages(told, came=False),
        "source": _sources(arrivals),
        "recipient": _recipients(told),
        "stranding": _strandings(arrivals),
        "death": (several([_death(told, e) for e in deaths]), [e.root for e in deaths]),
    }
    rows = [(item, found[item][0] or ("none" if item in _MAY_LACK else UNKNOWN), found[item][1]) for item in ITEMS]
    return pl.DataFrame(rows, schema=CARD, orient="row")


_MAY_LACK: Final = ("disposed", "recipient", "death")


def _about(event: Written, subject: str) -> bool:
    return subject in (id_of(event.payload.get(field)) for field in ("animal", "lot", "into", "new"))


def _arrivals(tellings: Sequence[Telling]) -> list[tuple[Telling, Written]]:
    """What brought in the subject, else the nearest lot it came out of that did not itself come out of another."""
    for told in tellings:
        kinds = (*ARRIVALS, "outside_animal")
        found = [e for e in told.entries.values() if e.kind in kinds and _about(e, told.subject)]
        found = [e for e in found if e.kind != "transfer" or followed_from(told, e)]
        if found:
            return [(told, event) for event in sorted(found, key=lambda e: (e.last, e.root))]
    return []


def _identification(own: Sequence[Line]) -> Told:
    marks = [line for line in own if line.topic == "mark" and line.until is None]
    said = dict.fromkeys(
        line.what if _plain_mark(line) else f"{line.about.split(',')[0]} {line.what}" for line in marks
    )
    return "; ".join(said), [root for line in marks for root in line.events]


def _plain_mark(line: Line) -> bool:
    return line.about.startswith(("accession number", "name"))


def _last(own: Sequence[Line], topic: str) -> Told:
    spells = [line for line in own if line.topic == topic and line.days is not None]
    return (spells[-1].what, list(spells[-1].events)) if spells else ("", [])


def _sex(told: Telling, own: Sequence[Line]) -> Told:
    if told.subject.startswith("a-"):
        word, events = _last(own, "sex")
        return word, events
    sums = dict.fromkeys(("male", "female", "unknown", "hermaphrodite"), 0)
    for step in told.steps:
        sums[step.sex] += step.delta * step.here
    return mfu(*sums.values()) if any(sums.values()) else "", []


def _births(arrivals: Sequence[tuple[Telling, Written]], subject: str) -> Told:
    said, events = dict[str, None](), []
    for told, event in arrivals:
        stated = str(event.payload.get("hatched_on") or event.payload.get("born") or "")
        if event.kind in _HERE:
            stated = stated or event.edtf
        if stated:
            guess = any(mark in stated for mark in "~?%/.") or len(stated) < len("2025-01-01")
            of = "" if told.subject == subject else f" (of {told.called(told.subject)})"
            said[f"{stated}{', estimated' if guess else ''}{of}"] = None
            events.append(event.root)
    return several(list(said)), events


def _acquired(told: Telling, sources: Sequence[Telling]) -> Told:
    """Each coming into the houses of the book; of what came out of a lot, the lot's before it left that."""
    tellings = [*reversed(sources), told]
    found = [_passages(one, came=True) for one in tellings]
    said = [
        f"{words} ({one.called(one.subject)})" if one is not told else words
        for one, (words, _) in zip(tellings, found, strict=True)
    ]
    return "; ".join(filter(None, said)), [root for _, events in found for root in events]


def _passages(told: Telling, *, came: bool) -> Told:
    """Each coming into the houses of the book, or each going out of them."""
    found = presence(told.steps)
    said: list[str] = []
    events: list[int] = []
    for span in found:
        day = span.since if came else span.until
        if day is None:
            continue
        said.append(f"{day} {_manner(told, span, came=came)}")
        events += span.came if came else span.went
    return several(said), events


def _manner(told: Telling, span: Span, *, came: bool) -> str:
    for root in span.came if came else span.went:
        event = told.entries.get(root)
        if event is not None and event.kind == "transfer":
            side, word = ("from", "from") if came else ("to", "to")
            return f"{plain(event.payload['terms'])} {word} {told.words(event.payload[side])}"
        if event is not None and event.kind in OUT_OF:
            return f"{BROUGHT[event.kind]} {told.words(event.payload['lot'])}"
        if event is not None and event.kind == "acquisition":
            return plain(event.payload["manner"])
    return _IN.get(span.why, plain(span.why)) if came else _OUT.get(span.why_ended, plain(span.why_ended))


def _sources(arrivals: Sequence[tuple[Telling, Written]]) -> Told:
    said = [_source(told, event) for told, event in arrivals]
    return "; ".join(dict.fromkeys(filter(None, said))), [event.root for _, event in arrivals]


def _source(told: Telling, event: Written) -> str:
    payload = event.payload
    code = f"source code {payload['source_code']}" if payload.get("source_code") else ""
    origin = str(payload.get("origin") or "")
    if event.kind in _HERE:
        return (
            f"{BROUGHT[event.kind]} in {told.words(payload['holder'])}"
            if payload.get("holder")
            else BROUGHT[event.kind]
        )
    if event.kind == "acquisition":
        return joined(plain(payload["manner"]), told.text(payload.get("where")), code)
    if event.kind == "transfer":
        return joined(told.words(payload["from"]), origin, code) if followed_from(told, event) else ""
    party = told.words(payload["party"]) if payload.get("party") else told.text(payload.get("earlier_house"))
    return joined(party, origin, code)


def _recipients(told: Telling) -> Told:
    sent = [e for e in told.entries.values() if e.kind == "transfer" and _about(e, told.subject)]
    sent = [e for e in sent if id_of(e.payload["from"]).startswith("h-")]
    said = [f"{told.words(e.payload['to'])}, {plain(e.payload['terms'])} {e.edtf}" for e in sent]
    return several(said), [e.root for e in sent]


def _strandings(arrivals: Sequence[tuple[Telling, Written]]) -> Told:
    found = [(t, e) for t, e in arrivals if e.payload.get("manner") == "stranding"]
    said = [joined(f"yes, {e.edtf}", t.text(e.payload.get("where"))) for t, e in found]
    told_of = any(e.kind in ("acquisition", *_HERE) for _, e in arrivals)
    return "; ".join(said) or ("no" if told_of else "none recorded"), [e.root for _, e in found]


def _death(told: Telling, event: Written) -> str:
    payload = event.payload
    many = f"{sum(payload['how_many'].values())} on " if isinstance(payload.get("how_many"), dict) else ""
    cause = joined(
        plain(payload.get("cause") or "not_determined"),
        told.text(payload.get("cause_text")),
    )
    return f"{many}{event.edtf}, cause {cause}"


def several(said: Sequence[str], most: int = 4) -> str:
    """The first of many, and how many more."""
    return "; ".join([*said[:most], *([f"and {len(said) - most} more"] if len(said) > most else [])])


def items(frame: pl.DataFrame) -> Iterator[tuple[str, str]]:
    """Items and words of a card, in order."""
    yield from frame.select("item", "words").iter_rows()
