"""Open items: what the record still waits for on a day, and what ends soon, in one list.

Definition. Each row is one thing that is open at the close of the day, as known at the position, for the house:

- `cause`: a death of the house's animals (held or owned, at home or away) whose cause is empty or *not determined*;
- `sex`: an animal of unknown sex that the house holds or owns and that has a number of its own, of a taxon whose
  sexes are told; one younger than the taxon's stated age at maturity (`maturity_age`) is not listed;
- `owner`: young whose owner was entered as *not settled*;
- `permit missing`: a transfer, or a collection from the wild, of a CITES-listed taxon without a permit, no authority
  on either side; local law and the licensing authority decide whether one is needed;
- `permit ends`, `agreement ends`: last day within `ahead` days of the day, or past, and neither closed nor extended;
- `loan ends`: animals still in or out under an agreement that ends so;
- `question`: a note of that topic that no later note closes;
- `not seen`: an animal or lot in the house's enclosures about which nothing was recorded for more than `unseen`
  days, or that was looked for and not seen, last;
- `sheet`: a section that sent day sheets and then, for more than `sheets` days, did not.

Columns: `item` (as above), `what` (number, name or section), `about` (words), `since` (the day from which it is
open; of what ends, the last day), `days` (from `since` to the day; below zero: still to come), `event` (position of
the entry it hangs on; 0 where there is none), `taxon` (what the animals are called, where the item is about animals
of one taxon, else empty), `animals` (how many it is about; 0 where it is about none). `open_groups` puts those that are
one piece of work together.

Source: practice of registrars (the design §7, *what is open*); limits are parameters, no source.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.dates import End, parse
from ledger.read import AsOf, Copy, Names, Standing
from ledger.read.names import Thing
from reports.common import Basis, seen
from reports.papers import called, id_of, permits_of

SCHEMA: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("item", "what", "about"), pl.String),
    "since": pl.Date,
    "days": pl.Int64,
    "event": pl.Int64,
    "taxon": pl.String,
    "animals": pl.Int64,
}
ITEMS: Final = (
    *("cause", "sex", "owner", "permit missing", "permit ends", "agreement ends", "loan ends", "question"),
    *("not seen", "sheet"),
)
LENDING: Final = ("loan", "breeding_loan", "held_for_another")
APPENDICES: Final = ("I", "II", "III")
_ARRIVALS: Final = ("opening", "hatching", "birth", "propagation", "acquisition", "transfer")
_PAPER: Final = ("title_change", "standing_change", "redetermination", "escape", "missing")  # nobody looked
_DAYS: Final = {"d": 1.0, "day": 1.0, "days": 1.0, "week": 7.0, "weeks": 7.0, "month": 30.4, "months": 30.4}
_YEARS: Final = {"a": 365.25, "y": 365.25, "year": 365.25, "years": 365.25}


class Item(NamedTuple):
    """One open thing, as in the columns."""

    item: str
    what: str
    about: str
    since: date
    event: int = 0
    taxon: str = ""
    animals: int = 0


@dataclass(frozen=True)
class _Open:
    """What every part of the list reads."""

    copy: Copy
    names: Names
    asof: AsOf
    basis: Basis  # held or owned by the house
    events: Sequence[Standing]  # all that stand on the day
    here: pl.DataFrame  # cells of the house
    by_subject: Mapping[str, list[Standing]] = field(default_factory=dict)

    @property
    def on(self) -> date:
        return self.asof.on

    def number(self, subject: str) -> str:
        return self.names.number(subject, self.basis.house or None)


def open_items(
    copy: Copy, names: Names, asof: AsOf, house: str, *, unseen: int = 90, ahead: int = 60, sheets: int = 7
) -> pl.DataFrame:
    """All open items of a house (an id; "" the whole book) at the close of `asof.on`; columns as above."""
    basis = Basis("both", house)
    events = [e for e in copy.standing_all(asof.known) if e.last <= asof.on]
    by_subject: dict[str, list[Standing]] = defaultdict(list)
    for event in events:
        for subject in _subjects(event):
            by_subject[subject].append(event)
    here = seen(copy.cells(asof), names).filter(basis.counts)
    asked = _Open(copy, names, asof, basis, events, here, by_subject)
    parts = (
        *(_causes(asked), _sexes(asked), _owners(asked), _permits(asked), _ending(asked, ahead)),
        *(_questions(asked), _not_seen(asked, unseen), _sheets(asked, sheets)),
    )
    rows = [(*i[:4], (asof.on - i.since).days, *i[4:]) for part in parts for i in part]
    rows.sort(key=lambda row: (ITEMS.index(row[0]), row[3], row[1]))
    return pl.DataFrame(rows, schema=SCHEMA, orient="row")


def _subjects(event: Standing) -> set[str]:
    """Ids of the animals and lots an entry is about."""
    return {id_of(event.payload.get(name)) for name in ("animal", "lot", "into", "new")} - {""}


def _causes(asked: _Open) -> Iterator[Item]:
    deaths = [e for e in asked.events if e.kind == "death" and e.payload.get("cause") in (None, "not_determined")]
    lines = asked.copy.lines(date.min, asked.on, asked.asof.known).filter(
        asked.basis.counts & (pl.col("reason") == "died") & (pl.col("delta") < 0)
    )
    dead = {row[0]: (row[1], -row[2]) for row in lines.group_by("effect").agg(_day(), _n()).iter_rows()}
    for event in deaths:
        if event.root in dead:
            day, n = dead[event.root]
            subject = next(iter(_subjects(event)), "")
            who = "died" if subject.startswith("a-") else f"{n} died"
            yield Item("cause", asked.number(subject), f"{who}, cause not determined", day, event.root, animals=n)


def _day() -> pl.Expr:
    return pl.col("counts_on").max()


def _n() -> pl.Expr:
    return pl.col("delta").sum()


def _sexes(asked: _Open) -> Iterator[Item]:
    animals = asked.here.filter(pl.col("subject").str.starts_with("a-") & (pl.col("sex") == "unknown"))
    for subject, taxon in animals.select("subject", "taxon").unique().sort("subject").iter_rows():
        thing = asked.names.thing(taxon)
        fields = thing.fields if thing else {}
        if fields.get("sexual_system") == "both_at_once" or fields.get("counted_in") == "colonies":
            continue
        arrived = next((e for e in asked.by_subject.get(subject, []) if e.kind in (*_ARRIVALS, "draw")), None)
        since = arrived.last if arrived else asked.on
        mature = _maturity(fields)
        if arrived and mature and (asked.on - _born(arrived)).days < mature:
            continue
        about, root = f"{_name(thing)}, sex not known", arrived.root if arrived else 0
        yield Item("sex", asked.number(subject), about, since, root, _name(thing), 1)


def _maturity(fields: Mapping[str, Any]) -> float:
    """The lower stated age at maturity, in days; 0 where none is stated."""
    for fact in fields.get("facts") or ():
        unit = {**_DAYS, **_YEARS}.get(str(fact.get("unit")))
        if fact.get("fact") in ("maturity_age", "age_at_maturity") and unit:
            return float(fact["low"]) * unit
    return 0.0


def _born(arrival: Standing) -> date:
    """The last possible day of birth, as stated; of what came from outside without one, its arrival."""
    stated = arrival.payload.get("born")
    last = parse(stated).last if isinstance(stated, str) else None
    return arrival.last if last is None or isinstance(last, End) else min(date(*last), arrival.last)


def _name(thing: Thing | None) -> str:
    return (str(thing.fields.get("common_name") or "") or thing.name) if thing else "taxon not known"


def _owners(asked: _Open) -> Iterator[Item]:
    for event in asked.events:
        if event.payload.get("owner_settled") is False and _at(asked, id_of(event.payload.get("holder"))):
            subject = next(iter(_subjects(event)), "")
            if not _retitled(asked, subject, event):
                yield Item("owner", asked.number(subject), "owner of the young not settled", event.last, event.root)


def _at(asked: _Open, house: str) -> bool:
    return not asked.basis.house or house == asked.basis.house


def _retitled(asked: _Open, subject: str, birth: Standing) -> bool:
    """Whether a later title change of the whole subject settled it."""
    later = (e for e in asked.by_subject.get(subject, []) if e.kind == "title_change" and e.root > birth.root)
    return any("how_many" not in e.payload for e in later)


def _permits(asked: _Open) -> Iterator[Item]:
    for event in asked.events:
        payload = event.payload
        wild = event.kind == "acquisition" and payload.get("manner") == "wild_collection"
        if permits_of(payload) or not (wild or event.kind == "transfer"):
            continue
        sides = [id_of(payload.get(side)) for side in ("from", "to")]
        mine = id_of(payload.get("holder")) if wild else asked.basis.house
        if asked.basis.house and asked.basis.house not in (*sides, mine if wild else ""):
            continue
        if any((t := asked.names.thing(s)) and t.fields.get("sort") == "authority" for s in sides):
            continue
        subject = next(iter(_subjects(event)), "")
        listing = _listing(asked, _taxon(asked, event, subject), event.last)
        if listing:
            about = f"no permit named, CITES Appendix {listing}"
            yield Item("permit missing", asked.number(subject), about, event.last, event.root)


def _taxon(asked: _Open, event: Standing, subject: str) -> str:
    """The taxon an entry names, else the one its subject came as."""
    named = (e.payload.get("taxon") for e in (event, *asked.by_subject.get(subject, [])))
    return next((id_of(t) for t in named if id_of(t)), "")


def _listing(asked: _Open, taxon: str, day: date) -> str:
    """The strictest Appendix a taxon stood in on a day; "" for none."""
    thing = asked.names.thing(taxon)
    stood = {
        str(each["listing"]).upper().removeprefix("APPENDIX ").strip()
        for each in (thing.fields.get("listings") or () if thing else ())
        if str(each["instrument"]).upper() == "CITES" and str(each.get("since") or "") <= day.isoformat()
    }
    return next((a for a in APPENDICES if a in stood), "")


def _ending(asked: _Open, ahead: int) -> Iterator[Item]:
    limit = asked.on + timedelta(days=ahead)
    for sort, key in (("permit", "until"), ("agreement", "ends")):
        for thing in asked.names.of(sort):
            fields, last = thing.fields, str(thing.fields.get(key) or "")
            if not last or fields.get("closed") or date.fromisoformat(last) > limit or thing.since > asked.on:
                continue
            end = date.fromisoformat(last)
            with_ = [id_of(p) for p in (fields.get("parties") or [fields.get("authority")])]
            others = [asked.names.label(p) for p in with_ if p and p != asked.basis.house]
            if fields.get("house") and not _at(asked, id_of(fields["house"])):
                continue
            if sort == "agreement" and asked.basis.house and asked.basis.house not in with_:
                continue
            about = " ".join(x for x in (str(fields.get("terms") or "").replace("_", " "), ", ".join(others)) if x)
            yield Item(f"{sort} ends", thing.code, about, end, thing.event)
            if sort == "agreement":
                yield from _loans(asked, thing, end)


def _loans(asked: _Open, agreement: Thing, end: date) -> Iterator[Item]:
    """Animals still in or out under an agreement: the last transfer of each lends it."""
    for subject, events in asked.by_subject.items():
        last = next((e for e in reversed(events) if e.kind == "transfer"), None)
        if last is None or id_of(last.payload.get("agreement")) != agreement.id:
            continue
        still = asked.here.filter(pl.col("subject") == subject)["n"].sum()
        if last.payload.get("terms") in LENDING and still:
            about = f"{still} {'lent to' if _out(asked, last) else 'on loan from'} {_other(asked, last)}"
            yield Item("loan ends", asked.number(subject), f"{about}, {agreement.code}", end, last.root)


def _out(asked: _Open, transfer: Standing) -> bool:
    giver = id_of(transfer.payload.get("from"))
    return giver == asked.basis.house if asked.basis.house else giver.startswith("h-")


def _other(asked: _Open, transfer: Standing) -> str:
    return asked.names.label(id_of(transfer.payload.get("to" if _out(asked, transfer) else "from")))


def _questions(asked: _Open) -> Iterator[Item]:
    ids = asked.copy.ids()
    closed = {
        int(said[1:]) if said[1:].isdigit() else ids.get(said, 0)
        for e in asked.events
        if e.kind == "note" and (said := str(e.payload.get("closes") or ""))
    }
    for event in asked.events:
        if event.kind == "note" and event.payload.get("topic") == "question" and not {event.root, event.seq} & closed:
            subject = next(iter(_subjects(event)), "")
            place = id_of(event.payload.get("enclosure"))
            what = asked.number(subject) if subject else asked.names.label(place) or "the house"
            yield Item("question", what, asked.copy.text(event.payload.get("text")), event.last, event.root)


def _not_seen(asked: _Open, unseen: int) -> Iterator[Item]:
    held = asked.here.filter(Basis("held", asked.basis.house).counts & pl.col("place").str.starts_with("e-"))
    for subject, taxon, n in (
        held.group_by("subject").agg(pl.col("taxon").first(), pl.col("n").sum()).sort("subject").iter_rows()
    ):
        told = [e for e in asked.by_subject.get(subject, []) if e.kind not in _PAPER]
        looks = [e for e in told if e.payload.get("seen") is not False]
        last = max(looks, key=lambda e: (e.last, e.root), default=None)
        missed = max((e for e in told if e.payload.get("seen") is False), key=lambda e: (e.last, e.root), default=None)
        since = last.last if last else date.min
        called_ = _name(asked.names.thing(taxon))
        name = f"{n} {called_}"
        if missed is not None and missed.last >= since:
            yield Item(
                "not seen",
                asked.number(subject),
                f"{name}, looked for and not seen",
                missed.last,
                missed.root,
                called_,
                n,
            )
        elif last is not None and (asked.on - since).days > unseen:
            kind = last.kind.replace("_", " ")
            about = f"{name}, last recorded by {'an' if kind[0] in 'aeio' else 'a'} {kind}"
            yield Item("not seen", asked.number(subject), about, since, last.root, called_, n)


def _sheets(asked: _Open, sheets: int) -> Iterator[Item]:
    last: dict[tuple[str, str], Standing] = {}
    for event in asked.events:
        if event.kind == "sheet_received" and _at(asked, id_of(event.payload.get("house"))):
            key = (id_of(event.payload.get("house")), called(event.payload.get("section")))
            if key not in last or event.last >= last[key].last:
                last[key] = event
    for (house, section), event in sorted(last.items()):
        if (asked.on - event.last).days > sheets:
            about = f"no day sheet from {asked.names.label(house)} after this one"
            yield Item("sheet", section, about, event.last, event.root)
