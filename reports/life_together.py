"""What entries say of one animal or lot among others: parents, mates, courtship, broods, young, rank, associations.

Definition. As in `life_told`: what stands, as known, by the day. A bond lasts from its pairing (or the `since` of it)
to its parting, or to the day either of the two died, left the houses of the book or went out of it, whatever was
first; an escape does not end it here. A change of sex that ends bonds in some taxa is not judged here. A brood
lasts from its start to its end entry, else to the last hatching or birth that names it. Young are those whose entry,
or whose brood, names the subject as dam or sire, and those a finding of parentage gives it. Parents with weights are
shown as written: under *each* the part that is theirs, else the probability.

Source: the design, D1 (end of a bond), D16 to D18; the report of bonds judges them in full.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any, Final, NamedTuple

from ledger.read import Written
from reports.life_lines import (
    Line,
    Telling,
    amount,
    days_of,
    fact,
    joined,
    listed,
    named,
    newest,
    plain,
    roles,
    spell,
)
from reports.life_stays import presence
from reports.papers import id_of

_OF_BROOD: Final = ("brood_check", "brood_move", "brood_end")
_YOUNG: Final = ("hatching", "birth", "propagation", "opening", "transfer", "acquisition")
_PARENT: Final = {"dam": "dam", "sire": "sire", "parents.dam": "dam", "parents.sire": "sire", "made_from": "source"}
_CARE: Final = {"carrier": "carrier", "social_mate": "social mate", "host": "host", "host_lot": "host"}


def together_lines(told: Telling) -> Iterator[Line]:
    """Lines of the topics that name others."""
    own = told.own
    yield from _parents(told, own)
    yield from _mates(told, own)
    yield from _broods(told, own)
    yield from _young(told, own)
    for event, where in own:
        if event.kind == "courtship":
            yield _courtship(told, event, where)
        elif event.kind == "hierarchy":
            yield _rank(told, event)
        elif event.kind == "association":
            yield _association(told, event, where)
        elif event.kind == "social_unit":
            yield spell("company", event, None, None, told.on, f"host of {told.words(event.payload['unit'])}")


Own = Sequence[tuple[Written, set[str]]]


# --- parents and young -----------------------------------------------------------------------------


def pairs_of(payload: Mapping[str, Any]) -> list[tuple[str, Any, str]]:
    """Parents that a payload names: as what, the reference, the weight where it is not sure."""
    out = [(role, payload[role], "") for role in ("dam", "sire", "made_from") if payload.get(role)]
    for pair in payload.get("parents") or ():
        out += [(role, pair[role], str(pair["weight"])) for role in ("dam", "sire") if pair.get(role)]
    return out


def _parents(told: Telling, own: Own) -> Iterator[Line]:
    """Parents as the arrival, its broods and findings name them; a finding rules over the brood, and both are shown."""
    for event, where in own:
        if event.kind == "parentage" and where & {"animal", "lot"}:
            yield from _named_parents(told, event, f"found: {plain(event.payload['basis'])}", event)
            if event.payload.get("sire_none"):
                yield fact("parents", event, "no sire", "virgin birth")
        elif where & {"animal", "lot", "into"} and event.kind in (*_YOUNG, "outside_animal"):
            yield from _named_parents(told, event, "as entered", event)
            for brood in named(event.payload.get("brood"), "b-"):
                laid = _brood(told, brood)
                if laid is not None:
                    yield from _named_parents(told, laid, f"of brood {told.called(brood)}", event)


def _named_parents(told: Telling, event: Written, basis: str, at: Written) -> Iterator[Line]:
    draw = plain(event.payload.get("draw"))
    for role, ref, weight in pairs_of(event.payload):
        sure = joined(f"weight {weight}", f"draw {draw}" * bool(draw)) if weight else ""
        words = "one of " if id_of(ref).startswith("g-") else ""
        said = fact("parents", at, f"{role} {words}{told.words(ref)}", joined(basis, sure), id_of(ref))
        yield said._replace(events=tuple(dict.fromkeys((at.root, event.root))))


def _brood(told: Telling, brood: str) -> Written | None:
    return next((e for e in told.entries.values() if e.kind == "brood" and id_of(e.payload["brood"]) == brood), None)


def _young(told: Telling, own: Own) -> Iterator[Line]:
    direct = {e.root: {_PARENT[w] for w in where & _PARENT.keys()} for e, where in own if e.kind != "brood"}
    laid = {id_of(e.payload["brood"]): where for e, where in own if e.kind == "brood"}
    for event in told.entries.values():
        if event.kind not in (*_YOUNG, "parentage", "outside_animal"):
            continue
        as_ = set(direct.get(event.root, ()))
        broods = [b for b in named(event.payload.get("brood"), "b-") if b in laid]
        as_ |= {_PARENT[w] for b in broods for w in laid[b] & _PARENT.keys()}
        if not as_:
            continue
        payload = event.payload
        ref: Any = next((payload[f] for f in ("animal", "lot", "into") if payload.get(f)), {})
        many = amount(payload.get("how_many"))
        of = f"of brood {', '.join(map(told.called, broods))}" if broods else ""
        how = f"found: {plain(payload['basis'])}" if event.kind == "parentage" else plain(event.kind)
        about = joined(how, f"as {' and '.join(sorted(as_))}", of, _other(told, event, broods))
        yield fact("young", event, joined(told.words(ref), many), about, id_of(ref))


def _other(told: Telling, event: Written, broods: Sequence[str]) -> str:
    """The other parents of young, as named with them or with their brood."""
    sources = [event.payload, *(b.payload for one in broods if (b := _brood(told, one)) is not None)]
    others = [told.words(ref) for p in sources for _, ref, _ in pairs_of(p) if id_of(ref) != told.subject]
    return f"with {listed(list(dict.fromkeys(others)))}" if others else ""


# --- mates -------------------------------------------------------------------------------------------


class _End(NamedTuple):
    """What ended a bond: its day, the first it can have been, in words, the entries."""

    day: date
    possible: date | None
    words: str
    events: tuple[int, ...]


def _mates(told: Telling, own: Own) -> Iterator[Line]:
    bonds = [(e, _mate(told, e)) for e, _ in own if e.kind == "pairing"]
    left = _departures(told) if bonds else {}
    parted = sorted((e for e, _ in own if e.kind == "parting"), key=lambda e: (e.last, e.root))
    ended: set[int] = set()
    for event, mate in sorted(bonds, key=lambda bond: (bond[0].last, bond[0].root)):
        begun = days_of(event.payload["since"])[1] if event.payload.get("since") else event.last
        begun = begun or event.last
        ends = [_End(end.day, end.possible, f"{_who(told, s)} {end.words}", end.events)
                for s in (told.subject, mate) for end in left[s] if end.day >= begun]  # fmt: skip
        parting = next((p for p in parted if _mate(told, p) == mate and p.last >= begun and p.root not in ended), None)
        if parting is not None:
            ends.append(
                _End(parting.last, parting.first, joined("parted", told.said(parting, "a", "b")), (parting.root,))
            )
        end = min(ends, key=lambda e: e.day, default=None)
        if parting is not None and end is not None:
            ended.add(parting.root)
        line = spell("mate", event, event.payload.get("since"), end.day if end else None, told.on, told.called(mate))
        about = joined(
            plain(event.payload["basis"]), told.said(event, "a", "b", "basis", "since"), end.words if end else ""
        )
        roots = (event.root, *(end.events if end else ()), *((parting.root,) if parting else ()))
        yield line._replace(
            about=about, ref=mate, until_possible=end.possible if end else None, events=tuple(dict.fromkeys(roots))
        )
    for parting in parted:
        if parting.root not in ended:
            mate = _mate(told, parting)
            yield fact("mate", parting, told.called(mate), joined("parted", told.said(parting, "a", "b")), mate)


def _who(told: Telling, subject: str) -> str:
    return "it" if subject == told.subject else told.called(subject)


def _mate(told: Telling, event: Written) -> str:
    sides = [id_of(event.payload[side]) for side in ("a", "b")]
    return sides[1] if sides[0] == told.subject else sides[0]


def _departures(told: Telling) -> dict[str, list[_End]]:
    """When the subject and its mates died, left the houses of the book or went out of it."""
    words = {"died": "died", "transfer_out": "went to another house", "released": "was released"}
    return {
        subject: [
            _End(span.until, span.until_possible, words.get(span.why_ended, plain(span.why_ended)), span.went)
            for span in presence(own)
            if span.until is not None
        ]
        for subject, own in {**told.mates, told.subject: told.steps}.items()
    }


def _courtship(told: Telling, event: Written, where: set[str]) -> Line:
    payload = event.payload
    by, with_ = ([r for r in payload[side] if id_of(r) != told.subject] for side in ("by", "with"))
    others = [*by, *with_]
    part = "both sides" if payload.get("mutual") else "it courts" if "by" in where else "it is courted"
    seen = (
        f"seen on {payload['seen']} of {payload['watched']} days" if "seen" in payload and "watched" in payload else ""
    )
    less = ("by", "with", "act", "outcome", "mutual", *(("seen", "watched") if seen else ()))
    what = f"{plain(payload['act'])} with {listed([told.words(r) for r in others])}"
    about = joined(part, plain(payload.get("outcome")), seen, told.said(event, *less))
    return fact("courtship", event, what, about, id_of(others[0]) if len(others) == 1 else "")


# --- broods -------------------------------------------------------------------------------------------


def _broods(told: Telling, own: Own) -> Iterator[Line]:
    of_brood: dict[str, list[Written]] = defaultdict(list)
    for event in told.entries.values():
        for brood in set(named(event.payload, "b-")):
            of_brood[brood].append(event)
    for event, where in own:
        if event.kind != "brood":
            continue
        payload, brood = event.payload, id_of(event.payload["brood"])
        about_it = [e for e in of_brood[brood] if e.root != event.root]
        ends = [e for e in about_it if e.kind == "brood_end"] or [
            e for e in about_it if e.kind in ("hatching", "birth")
        ]
        end = max(ends, key=lambda e: (e.last, e.root), default=None)
        parts = sorted({_PARENT.get(w) or _CARE.get(w) or "carer" for w in where})
        eggs = (
            f"{'at least ' * (payload.get('eggs_are') == 'at_least')}{payload['eggs']} eggs"
            if "eggs" in payload
            else ""
        )
        others = _mates_of(told, payload)
        less = (
            "brood",
            "taxon",
            "eggs",
            "eggs_are",
            "started",
            "dam",
            "sire",
            "parents",
            "mode",
            "carrier",
            "social_mate",
        )
        about = joined(f"as {' and '.join(parts)}", others, plain(payload["mode"]), eggs, told.said(event, *less))
        line = spell(
            "brood", event, payload.get("started"), end.last if end else None, told.on, told.called(brood), about, brood
        )
        if end is not None:
            line = line._replace(until_possible=end.first)
        yield line._replace(events=tuple(dict.fromkeys((event.root, *((end.root,) if end else ())))))
        for one in about_it:
            if one.kind in _OF_BROOD:
                what = f"{told.called(brood)}: {plain(one.kind.removeprefix('brood_'))}"
                yield fact("brood", one, what, told.said(one, "brood"), brood)
    mine = {id_of(e.payload["brood"]) for e, _ in own if e.kind == "brood"}
    for event, _ in own:  # as a carer that took a brood over
        if event.kind in _OF_BROOD and not mine & set(named(event.payload.get("brood"), "b-")):
            brood = id_of(event.payload["brood"])
            yield fact(
                "brood",
                event,
                f"{told.called(brood)}: {plain(event.kind.removeprefix('brood_'))}",
                told.said(event, "brood"),
                brood,
            )


def _mates_of(told: Telling, payload: Mapping[str, Any]) -> str:
    """The other animals of a brood, each as what."""
    found = [(role, ref, weight) for role, ref, weight in pairs_of(payload) if id_of(ref) != told.subject]
    found += [
        (_CARE[k], payload[k], "")
        for k in ("carrier", "social_mate")
        if payload.get(k) and id_of(payload[k]) != told.subject
    ]
    return listed([f"{role} {told.words(ref)}{f' ({weight})' if weight else ''}" for role, ref, weight in found])


# --- rank and company ------------------------------------------------------------------------------------


def _rank(told: Telling, event: Written) -> Line:
    order = event.payload["order"]
    size = sum(len(place) if isinstance(place, list) else 1 for place in order)
    rank, above = 0, 0
    tied = False
    for place in order:
        here = place if isinstance(place, list) else [place]
        if any(id_of(ref) == told.subject for ref in here):
            rank, tied = above + 1, len(here) > 1
        above += len(here)
    what = f"{'shares ' * tied}{rank} of {size}" if rank else "of no known rank"
    whole = " > ".join("=".join(map(told.words, p)) if isinstance(p, list) else told.words(p) for p in order)
    about = joined(f"unit {told.words(event.payload['unit'])}", whole, told.said(event, "unit", "order", "unranked"))
    return fact("rank", event, what, about, id_of(event.payload["unit"]))


def _association(told: Telling, event: Written, where: set[str]) -> Line:
    payload = event.payload
    own = bool(where & {"animal", "lot"})
    first, until = days_of(payload["until"]) if payload.get("until") else (None, None)
    other = next((payload[k] for k in ("unit", "with", "brood") if payload.get(k)), None) if own else None
    if not own:
        other = payload.get("animal") or payload.get("lot")
    words = {"member": "member of", "host": "lives with" if own else "host of", "seen_together": "seen with"}
    word = words.get(payload["relation"], "rearing" if own else "reared by")
    name = told.words(other) if other else plain(payload.get("place"))
    what = f"territory {plain(payload['place'])}" if payload["relation"] == "territory" else f"{word} {name}"
    about = joined(
        plain(payload.get("role")),
        told.said(event, "relation", "unit", "with", "brood", "role", "since", "until", "place"),
    )
    line = spell("company", event, payload.get("since"), until, told.on, what, about, id_of(other))
    begun = line.since or event.last
    gone = next((end for end in _departures(told)[told.subject] if end.day >= begun), None)
    if gone is not None and (line.until is None or gone.day < line.until):  # who has died or left is in no company
        about = joined(about, gone.words)
        line = spell("company", event, payload.get("since"), gone.day, told.on, what, about, line.ref)
        return line._replace(until_possible=gone.possible, events=tuple(dict.fromkeys((event.root, *gone.events))))
    return line._replace(until_possible=first if line.until else None)


def mates_named(written: Sequence[Written], subject: str) -> list[str]:
    """Those the subject was ever paired with or parted from, by entries that stand."""
    found = (e.payload for e in newest(written).values() if e.kind in ("pairing", "parting"))
    return sorted({id_of(payload[side]) for payload in found for side in ("a", "b")} - {subject})


def broods_named(written: Sequence[Written], subject: str) -> list[str]:
    """Broods that tell of the subject: those it has a part in, and those it came of."""
    found: set[str] = set()
    for event in newest(written).values():
        if next(roles(event.payload, subject), ""):
            found.update(named(event.payload.get("brood"), "b-"))
    return sorted(found)
