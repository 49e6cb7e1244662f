"""Things of the register, built from the standing events about them: what they are called, and what is said of them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, NamedTuple

from ledger.acts import Act
from ledger.kinds.base import Carried, Ref
from ledger.refs import ref_fields
from ledger.words import PREFIX

SUBJECTS = ("animal", "lot")
STANDS = ("never", "plain")  # a field that names what stands already, and gives no number or code


class Standing(NamedTuple):
    """An event that stands, as the index holds it. `root`: the first event of its line of corrections."""

    seq: int
    root: int
    event_id: str
    kind: str
    payload: Carried
    acts: tuple[Act, ...]
    first: int  # possible days, as ordinals; an open start is the floor
    last: int
    edtf: str
    recorded: str
    observed_by: tuple[str, ...] = ()
    accepted: tuple[str, ...] = ()  # codes of the warnings accepted with it, or with what it supersedes

    def subjects(self) -> list[str]:
        """Ids of the subjects its acts touch, in order, each once."""
        return list(dict.fromkeys(act.subject for act in self.acts))


class Thing(NamedTuple):
    """Something of the register as it is now."""

    id: str
    sort: str
    code: str
    house: str  # of an enclosure, or of the number a subject bears
    fields: dict[str, Any]
    since: int  # ordinal from which it may be used
    until: int | None  # closed


def namespace(sort: str) -> str:
    """Animals and lots share their numbers, houses and parties their codes."""
    return {"animal": "subject", "lot": "subject", "house": "party"}.get(sort, sort)


def introduced(event: Standing) -> list[tuple[str, Ref, str]]:
    """(sort, reference, field) of what an event gives a number or a code, or changes."""
    out: list[tuple[str, Ref, str]] = []
    base = base_of(event.kind)
    for field in ref_fields(type(event.payload)):
        ref = getattr(event.payload, field.attr)
        if not isinstance(ref, Ref):
            continue
        if field.new not in STANDS or field.name == base:
            out.append((sort_of(ref, field.sorts), ref, field.name))
        elif field.name in SUBJECTS and vars(event.payload).get("new_number"):
            out.append((field.name, ref, field.name))
    return out


def base_of(kind: str) -> str:
    """The field by which a kind names the thing of the register that it makes or changes."""
    for suffix in ("_changed", "_closed", "_renamed"):
        kind = kind.removesuffix(suffix)
    return {"taxa_united": "taxon", "social_unit": "unit", "outside_animal": "animal"}.get(kind, kind)


def in_order(events: Iterable[Standing], made: int | None, until: int = 1 << 40) -> list[Standing]:
    """Events about a thing: the one that made it, then its changes up to a day, by day."""
    kept = (e for e in events if e.root == made or e.last <= until)
    return sorted(kept, key=lambda e: (e.root != made, e.last, e.root))


def sort_of(ref: Ref, sorts: tuple[str, ...]) -> str:
    """The sort of a reference, told by the prefix of its id."""
    return next((s for s in sorts if ref.id and ref.id.startswith(PREFIX[s])), sorts[0])


def house_for_number(payload: Carried) -> str:
    """The member house whose number an event gives: the holder, or the house it comes to."""
    for field in ("holder", "to", "from_"):
        ref = vars(payload).get(field)
        if isinstance(ref, Ref) and ref.id and ref.id.startswith("h-"):
            return ref.id
    return ""


def build(id_: str, sort: str, events: list[Standing]) -> Thing:
    """A thing from the standing events about it, the one that made it first."""
    fields: dict[str, Any] = {}
    keys: list[tuple[str, str, str]] = []
    code, house, until = "", "", None
    made = events[0]
    for event in events:
        payload = event.payload
        if event.kind.endswith("_closed"):
            until = event.last
            continue
        if sort in SUBJECTS:
            for as_, house_id in numbers_given(event, id_):
                keys.append(("subject", house_id, as_))
                code, house = as_, house_id
            if event is made:
                fields.update(taxon=vars(payload).get("taxon"), payload=payload)
            continue
        given = {k: v for k, v in payload if v is not None}
        fields.update(given)
        named = next((r.as_ for s, r, _ in introduced(event) if r.id == id_ and r.as_), None)
        former = code
        code = str(new_code(event) or given.get("code") or (named if event is made else code))
        if sort == "taxon" and former not in ("", code):  # what people have called it still names it
            keys.append(("former taxon", "", former))
        if given.get("closed"):
            until = event.last
        if "house" in given and isinstance(given["house"], Ref):
            house = given["house"].id or ""
    if sort not in SUBJECTS:
        keys = [key for key in keys if key[2] != code] + [(namespace(sort), "", code)]
    fields["_keys"] = keys
    return Thing(id_, sort, code, house, fields, made.first, until)


def new_code(event: Standing) -> str:
    """The code or name that a thing bears from an event on, other than the one it was made with; "" for none."""
    if event.kind == "taxon_renamed":
        return str(getattr(event.payload, "name", ""))
    return str(vars(event.payload).get("code") or "") if event.kind.endswith("_changed") else ""


def bare(number: str, house: str) -> str:
    """A number without the house it was typed with (`CODE:number`); an outside animal's is taken as it stands."""
    return number.rpartition(":")[2] if house else number


def numbers_given(event: Standing, id_: str) -> list[tuple[str, str]]:
    """(number, house) of the numbers that an event gives a subject."""
    house = house_for_number(event.payload)
    out = []
    for field in ref_fields(type(event.payload)):
        ref = getattr(event.payload, field.attr)
        if isinstance(ref, Ref) and ref.id == id_ and ref.as_ and field.new not in STANDS:
            out.append((bare(ref.as_, house), house))
    number = vars(event.payload).get("new_number")
    if number:
        to = vars(event.payload).get("to")
        out.append((number, to.id if to else house))
    return out
