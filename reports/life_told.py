"""What entries say of one animal or lot alone: origin, marks, findings, sizes, transfers, losses, counts, notes, end.

Definition. Of every line of corrections the newest, unless struck out, as known, that occurred by the day. A mark lasts
from its marking to its unmarking, whatever became of its bearer; an accession number from the entry that gave it. A
number from before the book has no first day. A birth that is not the entry's own day is what the entry says was
known of it (`born`, `hatched_on`), in its own words.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from typing import Any, Final

from ledger.read import Written
from reports.life_lines import Line, Telling, amount, fact, joined, plain, spell
from reports.papers import called as typed
from reports.papers import id_of

ARRIVALS: Final = ("opening", "hatching", "birth", "propagation", "acquisition", "transfer")
BROUGHT: Final = {
    "opening": "on hand when the book began",
    "hatching": "hatched",
    "birth": "born",
    "propagation": "propagated",
    "draw": "drawn out of",
    "split": "parted from",
}
OUT_OF: Final = ("draw", "split")
ENDS: Final = {"death": "died", "release": "released", "fed_out": "fed to others", "join": "joined a lot"}
AWAY: Final = {"escape": "escaped", "missing": "missing", "recovery": "back"}
_NAMING: Final = ("name", "earlier_numbers", "numbers_there", "number_there", "new_number")
_PARENTS: Final = ("dam", "sire", "parents", "draw", "sire_none")


def told_lines(telling: Telling) -> Iterator[Line]:
    """Lines of topics that rest on single entries naming the subject."""
    for event, where in telling.own:
        for teller in _TELLERS.get(event.kind, ()):
            yield from teller(telling, event, where)
    yield from _marks(telling)


# --- origin, numbers and marks -----------------------------------------------------------------------


def _subject(event: Written, where: set[str]) -> bool:
    """Whether an arrival brings the subject in, and does not only name it as a parent."""
    return bool(where & {"animal", "lot", "into", "new"}) and not (event.kind in OUT_OF and "lot" in where)


def _origin(told: Telling, event: Written, where: set[str]) -> Iterator[Line]:
    if not _subject(event, where) or (event.kind == "transfer" and not followed_from(told, event)):
        return
    payload = event.payload
    less = (*_NAMING, *_PARENTS, "enclosure", "taxon", "sex", "owner", "from", "to", "terms", "new", "into", "kept")
    what = BROUGHT.get(event.kind)
    if event.kind == "transfer":
        what = f"{plain(payload['terms'])} from {told.words(payload['from'])}"
    elif event.kind in OUT_OF:
        what = f"{what} {told.words(payload['lot'])}"
    elif event.kind == "acquisition":
        what = plain(payload["manner"])
    elif event.kind == "outside_animal":
        what = "of another house, never held" if "party" not in payload else f"with {told.words(payload['party'])}"
    many = amount(payload.get("how_many"))
    yield fact("origin", event, what or plain(event.kind), joined(many, told.said(event, "how_many", "manner", *less)))


def followed_from(told: Telling, event: Written) -> bool:
    """Whether a transfer is what brought it into the book, or back from where the book no longer followed it."""
    legs = [step for step in told.steps if step.effect == event.root and step.delta < 0]
    return any(step.place.startswith("o-") and not step.owner.startswith("h-") for step in legs)


def _numbers(told: Telling, event: Written, where: set[str]) -> Iterator[Line]:
    """Accession numbers and names that an entry gives it, and numbers it had or has elsewhere."""
    if not _subject(event, where) or "into" in where:
        return
    payload, on = event.payload, told.on
    field = "new" if event.kind in OUT_OF else "animal" if "animal" in where else "lot"
    given = event.kind != "transfer" or _gives(told, event)
    if given and event.kind != "outside_animal":
        yield spell("mark", event, None, None, on, typed(payload[field]).rpartition(":")[2], "accession number")
    elif event.kind == "outside_animal":
        yield spell("mark", event, None, None, on, typed(payload[field]), "its number where it lives")
    if new := payload.get("new_number"):
        house = told.words(payload["to"])
        yield spell("mark", event, None, None, on, typed(new).rpartition(":")[2], f"accession number of {house}")
    if payload.get("name"):
        yield spell("mark", event, None, None, on, str(told.words(payload["name"])), "name")
    if payload.get("number_there"):
        side = "to" if id_of(payload["to"]).startswith("o-") else "from"
        yield spell(
            "mark", event, None, None, on, str(payload["number_there"]), f"number at {told.words(payload[side])}"
        )
    for number in (*payload.get("earlier_numbers", ()), *payload.get("numbers_there", ())):
        words = "earlier number" if event.kind == "opening" else "number elsewhere"
        yield Line("mark", None, None, None, None, None, str(number), words, "", "", (event.root,))


def _gives(told: Telling, event: Written) -> bool:
    """Whether a transfer is the entry that first gave it a number: none of its line's entries did before."""
    before = (
        e for e, where in told.own if e.root < event.root and e.kind in (*ARRIVALS, *OUT_OF) and _subject(e, where)
    )
    return next(before, None) is None


def _marks(told: Telling) -> Iterator[Line]:
    """Marks from marking to unmarking, by scheme and value, first on first off."""
    own = [e for e, where in told.own if where & {"animal", "lot"}]
    taken = sorted((e for e in own if e.kind == "unmarking"), key=lambda e: (e.last, e.root))
    for event in sorted((e for e in own if e.kind == "marking"), key=lambda e: (e.last, e.root)):
        payload = event.payload
        off = next((t for t in taken if _same(t, payload) and t.last >= event.last), None)
        where = joined(*(plain(payload[k]) for k in ("colour", "side", "place") if payload.get(k)))
        party = f"at {told.words(payload['party'])}" if payload.get("party") else ""
        about = joined(plain(payload["scheme"]), where, party, told.note(event))
        line = spell("mark", event, None, off.last if off else None, told.on, str(payload["value"]), about)
        if off is not None:
            taken.remove(off)
            words = joined(about, "taken off", told.said(off, "scheme", "value"))
            line = line._replace(events=(event.root, off.root), until_possible=off.first, about=words)
        yield line
    for event in taken:
        yield fact("mark", event, str(event.payload["value"]), f"{plain(event.payload['scheme'])} taken off")


def _same(off: Written, payload: Mapping[str, Any]) -> bool:
    return all(off.payload.get(key) == payload.get(key) for key in ("scheme", "value"))


# --- findings, sizes, transfers, losses ----------------------------------------------------------------


def _finding(told: Telling, event: Written, where: set[str]) -> Iterator[Line]:
    """A finding or a change: of an animal only the stages that move no figure; the others stand in its spells."""
    payload = event.payload
    lot = "lot" in where
    if event.kind == "sexing" and lot:
        yield fact("sex", event, f"found {payload['to']}", told.said(event, "to"))
    elif event.kind == "sex_change" and (lot or payload["stage"] != "completed"):
        what = f"change to {payload['to']}: {plain(payload['stage'])}"
        yield fact("sex", event, what, told.said(event, "to", "stage"))


def _size(told: Telling, event: Written, _where: set[str]) -> Iterator[Line]:
    payload = event.payload
    several = joined(*(f"{key} {payload[key]}" for key in ("mean", "least", "most", "n") if payload.get(key)))
    what = f"{plain(payload['measure'])} {told.words(payload.get('value', ''))}".strip()
    unit = f" {payload['unit']}" if payload.get("unit") else ""
    less = ("measure", "value", "unit", "mean", "least", "most", "n")
    yield fact(
        "size", event, f"{what}{unit}" if payload.get("value") else f"{what}, {several}{unit}", told.said(event, *less)
    )


def _transfer(told: Telling, event: Written, _where: set[str]) -> Iterator[Line]:
    payload = event.payload
    many = amount(payload.get("how_many"))
    if event.kind == "title_change":
        what = f"title to {told.words(payload['owner'])}"
        return (
            yield fact(
                "transfer", event, what, joined(many, told.said(event, "owner", "how_many")), id_of(payload["owner"])
            )
        )
    what = f"{plain(payload['terms'])}, {told.words(payload['from'])} to {told.words(payload['to'])}"
    less = ("from", "to", "terms", "taxon", "sex", "how_many", "enclosure", "owner", *_NAMING)
    other = id_of(payload["to"]) if id_of(payload["from"]).startswith("h-") else id_of(payload["from"])
    return (yield fact("transfer", event, what, joined(many, told.said(event, *less)), other))


def _loss(told: Telling, event: Written, where: set[str]) -> Iterator[Line]:
    """What took animals away, or brought them back; of an animal what ended it is its end."""
    word = {**ENDS, **AWAY}[event.kind]
    many = amount(event.payload.get("how_many"))
    if event.kind == "join":
        if "animal" in where:
            what = f"joined {told.words(event.payload['into'])}"
            yield fact(
                "end", event, what, joined("no longer told apart", told.note(event)), id_of(event.payload["into"])
            )
        return
    cause = plain(event.payload.get("cause") or "not_determined") if event.kind == "death" else ""
    about = joined(f"cause {cause}" * bool(cause), told.said(event, "how_many", "cause"))
    topic = "end" if event.kind in ENDS and "animal" in where else "loss"
    yield fact(topic, event, f"{many} {word}".strip(), about)


def _passed(told: Telling, event: Written, where: set[str]) -> Iterator[Line]:
    """What went from or into a lot of another number; of an animal it is its origin or its end."""
    payload = event.payload
    many = amount(payload.get("how_many")) or "1"
    giver = "animal" if event.kind == "join" else "lot"
    taker = "into" if event.kind in ("merge", "join") else "new"
    if taker in where and event.kind in ("merge", "join"):
        yield fact(
            "passed", event, f"{many} from {told.words(payload[giver])}", told.note(event), id_of(payload[giver])
        )
    elif giver in where and giver == "lot":
        word = {"draw": "drawn out as", "split": "parted as", "merge": "into"}[event.kind]
        yield fact(
            "passed", event, f"{many} {word} {told.words(payload[taker])}", told.note(event), id_of(payload[taker])
        )


def _count(told: Telling, event: Written, _where: set[str]) -> Iterator[Line]:
    payload = event.payload
    place = f" in {told.words(payload['enclosure'])}" if payload.get("enclosure") else ""
    found = amount(payload.get("taken_as") or payload.get("how_many"))
    legs = [s for s in told.steps if s.effect == event.root and s.place.startswith("e-")]
    off = sum(s.delta for s in legs if s.reason.startswith("count_"))
    why = plain(payload.get("is") or "unaccounted")
    differs = f"{abs(off)} {'fewer' if off < 0 else 'more'} than the book: {why}" if off else "as the book has it"
    yield fact(
        "count", event, f"{found}{place}", joined(differs, told.said(event, "how_many", "enclosure", "is", "taken_as"))
    )


def _move(told: Telling, event: Written, where: set[str]) -> Iterator[Line]:
    """A move of part of a lot; a whole move is the end of one stay and the beginning of another."""
    if "lot" in where and event.payload.get("how_many"):
        source = f" from {told.words(event.payload['from'])}" if event.payload.get("from") else ""
        what = f"{amount(event.payload['how_many'])}{source} to {told.words(event.payload['to'])}"
        yield fact("place", event, what, joined("moved", told.note(event)))


def _standing(told: Telling, event: Written, where: set[str]) -> Iterator[Line]:
    if "lot" in where:
        yield fact("standing", event, plain(event.payload["standing"]), told.said(event, "standing"))


def _sighting(told: Telling, event: Written, _where: set[str]) -> Iterator[Line]:
    yield fact("sighting", event, "seen" if event.payload["seen"] else "looked for, not seen", told.said(event, "seen"))


def _note(told: Telling, event: Written, _where: set[str]) -> Iterator[Line]:
    closes = f"closes {told.words(event.payload['closes'])}" if event.payload.get("closes") else ""
    yield fact("note", event, plain(event.payload["topic"]), joined(told.words(event.payload["text"]), closes))


def _remains(told: Telling, event: Written, _where: set[str]) -> Iterator[Line]:
    yield fact("remains", event, plain(event.payload["fate"]), told.said(event, "fate"))


Teller = Callable[[Telling, Written, set[str]], Iterator[Line]]
_TELLERS: Final[Mapping[str, tuple[Teller, ...]]] = {
    **dict.fromkeys(("opening", "hatching", "birth", "propagation", "acquisition"), (_origin, _numbers)),
    "outside_animal": (_origin, _numbers),
    "transfer": (_origin, _numbers, _transfer),
    "draw": (_origin, _numbers, _passed),
    "split": (_origin, _numbers, _passed),
    "merge": (_passed,),
    "join": (_passed, _loss),
    "title_change": (_transfer,),
    **dict.fromkeys(("death", "release", "fed_out", "escape", "missing", "recovery"), (_loss,)),
    "sexing": (_finding,),
    "sex_change": (_finding,),
    "measurement": (_size,),
    "count": (_count,),
    "move": (_move,),
    "standing_change": (_standing,),
    "sighting": (_sighting,),
    "note": (_note,),
    "remains": (_remains,),
}


def further(told: Telling, lines: list[Line]) -> Iterator[Line]:
    """A line for every entry naming the subject that no other line rests on, so that nothing is left out."""
    used = {root for line in lines for root in line.events}
    for event, where in told.own:
        if event.root not in used:
            as_ = joined(*sorted(where))
            yield fact("further", event, plain(event.kind), joined(f"named as {plain(as_)}", told.said(event)))
