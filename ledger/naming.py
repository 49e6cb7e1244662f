"""Names to ids: what people call a thing, and the id the book has for it or makes for it."""

from __future__ import annotations

from difflib import get_close_matches
from typing import Any

from ledger.chance import Chance
from ledger.findings import Finding
from ledger.index import Index, Standing
from ledger.kinds.base import Carried, Ref
from ledger.refs import RefField, renamed
from ledger.spelling import Odd, odd_code
from ledger.spot import Refused, Spot
from ledger.things import SUBJECTS, bare, house_for_number, introduced, namespace, new_code
from ledger.words import PREFIX


class Namer:
    """Resolves the references of payloads on one index; `forced` are ids settled beforehand, by code."""

    def __init__(self, index: Index, chance: Chance, forced: dict[str, str]) -> None:
        self.index, self.chance, self.forced = index, chance, forced

    def resolve(self, payload: Carried, old: Standing | None, at: Spot) -> Carried:
        """The payload with every reference resolved. Raises Refused with a finding for each that names nothing."""
        problems: list[Finding] = []

        def one(f: RefField, where: str, value: Ref | str) -> Ref | str:
            if f.new == "plain" or isinstance(value, str):
                return self._plain(value, f)
            # what gives a number stands in a field of its own; the parts of a payload have nothing they were before
            was = getattr(old.payload, f.attr, None) if old is not None and where == f.name else None
            return self._one(value, f, was, payload, at, problems)

        resolved = renamed(payload, one)
        if problems:
            raise Refused(*problems)
        return resolved

    def _plain(self, value: Ref | str, f: RefField) -> Ref | str:
        """A thing of the register where the text names one; else the text."""
        text = value if isinstance(value, str) else value.id or value.as_ or ""
        found = self.index.find(f.sorts, text.strip())
        return Ref(as_=self.index.name(found[0]) if text == found[0] else text, id=found[0]) if found else text

    def _one(self, ref: Ref, f: RefField, was: Any, payload: Carried, at: Spot, problems: list[Finding]) -> Ref:
        before = was.id if isinstance(was, Ref) else None
        if ref.id is not None:
            if ref.id not in self.index.things and ref.id != before:
                way = "Name it by its number or code."
                problems.append(at.finding("unknown-name", f"no {ref.id!r}", "an id of this book", way, f.name))
            return ref
        text = (ref.as_ or "").strip()
        found = [] if f.new == "must" else self.index.find(f.sorts, text)
        if f.new == "outside":
            found = [i for i in found if self.index.outside(i)]
        if f.new != "never" and not found and (odd := self._odd(text, f, payload)):
            problems.append(at.finding("bad-field", odd.found, odd.expected, odd.way_out, f.name))
            return ref
        if before and f.new != "never" and not found:
            return self._stored(before, text, f.name, payload)  # the same subject, called otherwise
        if len(found) == 1:
            return self._stored(found[0], text, f.name, payload)
        if found:
            houses = [self.index.name(self.index.things[i].house) for i in found]
            where = f"{text!r} is borne at {' and '.join(houses)}"
            problems.append(at.finding("ambiguous-name", where, "one of them", f"Write {houses[0]}:{text}.", f.name))
        elif f.new != "never":
            sort = f.name if f.name in f.sorts else f.sorts[0]
            new = self.forced.pop(text, "") or self.chance.new_id(PREFIX[sort])
            return self._stored(new, text, f.name, payload)
        else:
            problems.append(self._nothing(text, f, at))
        return ref

    def _odd(self, text: str, f: RefField, payload: Carried) -> Odd | None:
        """What is wrong with the spelling of a number or a code that is given."""
        typed, _, number = text.rpartition(":")
        held = hasattr(payload, "enclosure") and set(f.sorts) & set(
            SUBJECTS
        )  # an outside animal's is taken as it stands
        if held and typed and not self.index.find(("house",), typed):
            return Odd(f"{text!r}, a number of no house", "a number of the house it comes to", f"Write {number}.")
        return odd_code(number if held else text)

    def _nothing(self, text: str, f: RefField, at: Spot) -> Finding:
        """The finding for a name that names nothing, or something of another sort."""
        code = "unknown-person" if f.sorts == ("person",) else "unknown-name"
        wanted = _a(" or ".join(f.sorts))
        other = [self.index.things[i].sort for i in self.index.find(tuple(PREFIX), text)]
        if other:
            way = f"Write {other[0]}={text}." if f.name in SUBJECTS and other[0] in SUBJECTS else f"Name {wanted}."
            return at.finding(code, f"{text!r} is {_a(other[0])}", wanted, way, f.name)
        found, way = f"no {' or '.join(f.sorts)} {text!r}", self.like(text, f.sorts)
        if "," in text:
            way = f"Several are given one by one: {f.name}=… {f.name}=…."
        return at.finding(code, found, f"{wanted} of the book", way, f.name)

    def _stored(self, id_: str, text: str, field_name: str, payload: Carried) -> Ref:
        """Persons, and parties that are persons, stand in the bytes by id alone."""
        thing = self.index.things.get(id_)
        natural = thing is not None and thing.fields.get("sort") == "natural_person"
        natural = natural or (field_name == "party" and getattr(payload, "sort", "") == "natural_person")
        return Ref(id=id_) if natural or id_.startswith(PREFIX["person"]) else Ref(as_=text, id=id_)

    def like(self, text: str, sorts: tuple[str, ...]) -> str:
        """The way out for a name that names nothing: the nearest that does."""
        spaces = {namespace(sort) for sort in sorts}
        near = get_close_matches(text, {k[2] for k in self.index.names if k[0] in spaces}, 1, 0.75)
        return f"Did you mean {near[0]!r}?" if near else "Enter it first, or mend the name."

    def people(self, given: Any, at: Spot) -> list[str]:
        """Ids of the persons named in `observed_by`."""
        given = [given] if isinstance(given, str) else given or []
        out, problems = [], []
        for code in given if isinstance(given, list) else [given]:
            found = self.index.find(("person",), str(code))
            out += found[:1]
            if not found:
                way = self.like(str(code), ("person",))
                problems.append(
                    at.finding("unknown-person", f"no person {code!r}", "the code of a person", way, "observed_by")
                )
        if problems:
            raise Refused(*problems)
        return out

    def must_be_free(self, event: Standing, old: Standing | None, at: Spot) -> None:
        """A number or code given for the first time, or changed, must not be in standing use."""
        for sort, id_, house, text, name in _given(event, old, self.index):
            holder = self.index.names.get((namespace(sort), house, text))
            if holder and holder != id_:
                made = self.index.made_by.get(holder, 0)
                way = "Take another, or mend the entry that gave it."
                at.refuse(
                    "number-in-use",
                    f"{text!r} is in use since #{made}",
                    "a number or code that is free",
                    way,
                    name,
                    made,
                )


def _a(words: str) -> str:
    return f"{'an' if words[0] in 'aeio' else 'a'} {words}"


def _given(event: Standing, old: Standing | None, index: Index) -> list[tuple[str, str, str, str, str]]:
    """(sort, id, house, text, field) of the numbers and codes an event gives."""
    out: list[tuple[str, str, str, str, str]] = []
    payload = event.payload
    code, number, to = (vars(payload).get(a) for a in ("code", "new_number", "to"))
    for sort, ref, name in introduced(event):
        id_ = ref.id or ""
        house = house_for_number(payload) if sort in SUBJECTS else ""
        made_here = id_ not in index.things or (old is not None and index.made_by.get(id_) == event.root)
        if made_here or (house and not number and index.outside(id_)):
            out.append((sort, id_, house, bare(ref.as_ or str(code or ""), house), name))
        if number and isinstance(to, Ref):
            out.append((sort, id_, to.id or "", number, "new_number"))
        if sort not in SUBJECTS and (renamed := new_code(event)):
            out.append((sort, id_, "", renamed, "name" if event.kind == "taxon_renamed" else "code"))
    return out
