"""Who the parents of every animal and lot are, as known: pairs with weights, and who shares a draw with whom.

Definition (D17, D18 of the design). A *pair* is a dam and a sire with the chance that they are the parents; what the
weights leave to one is not known. Animals with the same `draw` come of one pair, whichever it was (a clutch of which
`draw: one` is said); all others are drawn apart. Of a clutch without a word on it nothing is shared but the parents
it names: a dam with nobody known beside her may have laid for several sires. For one animal the expected part of a
clutch and the counted eggs of a dam are chances as well, so `each` and `counted_by_dam` differ from `one` in that only.

What rules: a finding about the animal (or its lot), then its brood, then the dam and sire of its arrival. Where the
ruling one names only a dam or only a sire, the other comes from the next. Of two findings the later day rules, then
the later entry. An animal that was drawn from a lot has the parents of the lot's cohorts, weighted by their balances
at the draw (`cohorts.py`), basis *composition*; of one cohort alone it has that cohort's, draw and all. Young of
several broods at once: weighted by their eggs where all are counted, else alike. A clone is no young of its source
and has no pairs of its own: its parents are its source's (D32).

A parent is known by its id; a lot stands for one of its animals, nobody knows which. `NONE` is no sire at all (virgin
birth), `UNKNOWN` a parent not known. Findings hold since birth: they ask for no day, only whether they are known.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from fractions import Fraction
from typing import Any, Final, NamedTuple

import orjson

from ledger.dates import End, Hemisphere, parse
from ledger.read import AsOf, Copy, Standing
from reports.cohorts import NOBODY, Cohort, Finding, Parts, cohorts

UNKNOWN: Final = ""
NONE: Final = "none"
ARRIVING: Final = ("opening", "hatching", "birth", "propagation", "acquisition", "transfer", "outside_animal")
RECORDED, COMPOSITION, CLONE = "recorded", "composition", "clone"
_PARTED: Final = ("split", "draw")
_FIELDS: Final = ("animal", "lot", "into", "new", "dam", "sire", "brood", "made_from", "hatched_on", "born")


class Pair(NamedTuple):
    """A dam and a sire (ids, `UNKNOWN`, the sire also `NONE`), and the chance that it is they."""

    dam: str
    sire: str
    weight: Fraction


class Parentage(NamedTuple):
    """The parents of one subject: pairs whose weights sum to one at most.

    `draw`: those that share it come of one pair; empty where it is the subject's own. `clutch`: the one brood it is
    of, else empty. `basis`: recorded, observed, genetic, assumed, composition or clone; `kind` and `event` what it
    rests on (position of the first of its line). `clone_of`: the animal it was made from, else empty.
    """

    pairs: tuple[Pair, ...] = ()
    draw: str = ""
    clutch: str = ""
    basis: str = RECORDED
    kind: str = ""
    event: int = 0
    clone_of: str = ""

    @property
    def rest(self) -> Fraction:
        """The chance that it is none of the pairs."""
        return 1 - sum((p.weight for p in self.pairs), Fraction(0))

    @property
    def sure(self) -> bool:
        """One pair, certain, each of its parents an animal or none at all."""
        return len(self.pairs) == 1 and self.rest == 0 and all(map(_named, self.pairs[0][:2]))


def _named(parent: str) -> bool:
    return parent.startswith("a-") or parent == NONE


class Life(NamedTuple):
    """Possible days of birth, first and last (None: not known), and the day the subject bore a number from.

    Of a lot and what is drawn of it: of all the cohorts it is made of, or may be of. `parted`: its number is of a part
    of a lot, which stood for it before.
    """

    first: date | None
    last: date | None
    entered: date
    parted: bool

    @property
    def by(self) -> date:
        """The day by which it certainly lived, under this number where it came out of a lot."""
        return self.entered if self.last is None or self.parted else min(self.last, self.entered)


class Family(NamedTuple):
    """Parentage by subject (animals and lots; those left out: nothing is known), by brood, and lives by subject."""

    of: dict[str, Parentage]
    broods: dict[str, Parentage]
    lives: dict[str, Life]


def family(copy: Copy, asof: AsOf) -> Family:
    """All parentage known at `asof.known`; of lots as they stand on `asof.on`, of animals drawn by then.

    What was recorded of days after `on` is there: whether a subject lived by then is for the caller to ask.
    """
    told = _Told(copy, asof)
    of = {s: p for s in told.subjects if (p := told.of(s)) != Parentage()}
    return Family(of, told.broods, {s: told.life(s) for s in told.entered})


def weighted(role: str, pairs: Iterable[Pair]) -> dict[str, Fraction]:
    """The chance of each parent in a role (`dam` or `sire`); UNKNOWN is not among them."""
    out: dict[str, Fraction] = defaultdict(Fraction)
    for pair in pairs:
        out[pair.dam if role == "dam" else pair.sire] += pair.weight
    return {parent: weight for parent, weight in out.items() if parent != UNKNOWN}


def id_of(value: Any) -> str:
    """The id of a reference in a payload; "" where there is none."""
    return str(value.get("id") or "") if isinstance(value, dict) else ""


def said(payload: Mapping[str, Any]) -> tuple[Pair, ...]:
    """The pairs that an entry names: `parents` with weights, else `dam` and `sire`; none where it names none."""
    listed = payload.get("parents") or ()
    if listed:
        pairs = [Pair(id_of(p.get("dam")), _sire(p), Fraction(str(p.get("weight") or 1))) for p in listed]
    else:
        pairs = [Pair(id_of(payload.get("dam")), _sire(payload), Fraction(1))]
    return merged(pairs)


def _sire(payload: Mapping[str, Any]) -> str:
    return NONE if payload.get("sire_none") else id_of(payload.get("sire"))


def merged(pairs: Iterable[Pair]) -> tuple[Pair, ...]:
    """The same pairs once, their weights added, in the order they were named; two unknown are no pair."""
    out: dict[tuple[str, str], Fraction] = defaultdict(Fraction)
    for dam, sire, weight in pairs:
        if (dam or sire) and weight:
            out[dam, sire] += weight
    return tuple(Pair(dam, sire, weight) for (dam, sire), weight in out.items())


def _filled(pairs: tuple[Pair, ...], below: Parentage) -> tuple[Pair, ...]:
    """A pair that names one parent alone, with the other from what rules next."""
    if len(pairs) != 1 or not below.pairs or UNKNOWN not in pairs[0][:2] or pairs[0].weight != 1:
        return pairs
    dam, sire, _ = pairs[0]
    others = weighted("sire" if dam else "dam", below.pairs)
    if not others:
        return pairs
    rest = 1 - sum(others.values(), Fraction(0))
    made = [Pair(dam or other, sire or other, weight) for other, weight in others.items()]
    return merged([*made, Pair(dam, sire, rest)])


class _Told:
    """What the entries that stand say about parents."""

    def __init__(self, copy: Copy, asof: AsOf) -> None:
        self._memo: dict[str, Parentage] = {}
        self._broods(copy, asof)
        self._findings(copy, asof)
        self._arrivals(copy, asof)
        lots = self._lots if any(s.startswith("g-") for s in self._lots) else set()
        found = [Finding(s, e.last, e.root) for s, events in self.findings.items() for e in events if s in lots]
        made = cohorts(copy, sorted(lots), asof, found)
        self.drawn, self.lots, self.settled = made
        self.subjects = sorted({*self.arrived, *self.findings, *self.drawn, *self.lots})

    def _broods(self, copy: Copy, asof: AsOf) -> None:
        self.broods: dict[str, Parentage] = {}
        self.eggs: dict[str, int] = {}
        for event in copy.standing(("brood",), asof.known):
            brood, pairs = id_of(event.payload.get("brood")), said(event.payload)
            draw = brood if event.payload.get("draw") == "one" else ""
            self.broods[brood] = Parentage(pairs, draw, brood, RECORDED, "brood", event.root)
            if event.payload.get("eggs") and event.payload.get("eggs_are") != "at_least":
                self.eggs[brood] = int(event.payload["eggs"])

    def _findings(self, copy: Copy, asof: AsOf) -> None:
        """By subject the findings about it, the one that rules last."""
        self.findings: dict[str, list[Standing]] = defaultdict(list)
        self.by_event: dict[int, Standing] = {}
        for event in sorted(copy.standing(("parentage",), asof.known), key=lambda e: (e.last, e.root)):
            self.by_event[event.root] = event
            self.findings[id_of(event.payload.get("animal")) or id_of(event.payload.get("lot"))].append(event)

    def _arrivals(self, copy: Copy, asof: AsOf) -> None:
        """By event what it says; by animal the event it came by (an outside animal's arrival says no less)."""
        self.events: dict[int, Parentage] = {}
        self.born: dict[int, tuple[date | None, date]] = {}
        self.arrived: dict[str, int] = {}
        self.entered: dict[str, date] = {}
        self._lots: set[str] = set()
        self._out_of: set[str] = set()
        paths = {name: f"$.{name}" for name in _FIELDS}
        half: Hemisphere = "south" if copy.book().get("hemisphere") == "south" else "north"
        frame = copy.told((*ARRIVING, *_PARTED), paths, asof.known)
        for row in frame.select("root", "kind", "first_day", "last_day", *_FIELDS).iter_rows(named=True):
            root, kind = row["root"], row["kind"]
            subject = _ref(row["new"] if kind in _PARTED else row["animal"] or row["lot"] or row["into"])
            self.entered[subject] = min(self.entered.get(subject, row["last_day"]), row["last_day"])
            if kind in _PARTED:
                self._lots.add(subject)
                self._out_of.add(subject)
                continue
            if born := _born(row, half):
                self.born[root] = born
            self.events[root] = parentage = self._said(kind, root, row)
            if subject.startswith("g-"):
                self._lots.add(subject)
            elif subject not in self.arrived or parentage.pairs or parentage.clone_of:
                self.arrived[subject] = root

    def _said(self, kind: str, root: int, row: Mapping[str, Any]) -> Parentage:
        """What an arrival says about parents."""
        dam, sire, brood, source = (orjson.loads(v) if (v := row[f]) else None for f in _FIELDS[4:8])
        if kind == "propagation":
            source = id_of(source) if id_of(source).startswith("a-") else ""
            return Parentage((), "", "", CLONE, kind, root, source) if source else Parentage()
        return self._arrival(kind, root, dam, sire, brood)

    def _arrival(self, kind: str, root: int, dam: Any, sire: Any, brood: Any) -> Parentage:
        own = Parentage(merged([Pair(id_of(dam), id_of(sire), Fraction(1))]), "", "", RECORDED, kind, root)
        broods = [self.broods.get(id_of(b)) for b in (brood if isinstance(brood, list) else [brood]) if b]
        known = [b for b in broods if b is not None]
        if not known:
            return own if own.pairs else Parentage()
        if len(known) == 1:
            ruling = known[0]
            pairs = _filled(ruling.pairs, own) if ruling.pairs else own.pairs
            return ruling._replace(pairs=pairs, draw=ruling.draw if pairs == ruling.pairs else "")
        eggs = [self.eggs.get(id_of(b), 0) for b in brood]
        weights = eggs if all(eggs) else [1] * len(known)
        parts = [(b, Fraction(w, sum(weights))) for b, w in zip(known, weights, strict=True)]
        mixed = _mixed(parts, kind, root)
        return mixed if mixed.pairs else own

    # --- one subject --------------------------------------------------------------------------------

    def of(self, subject: str) -> Parentage:
        """The parents of an animal or a lot."""
        if subject not in self._memo:
            self._memo[subject] = Parentage()  # what asks for itself on the way finds nothing
            self._memo[subject] = self._of(subject)
        return self._memo[subject]

    def _of(self, subject: str) -> Parentage:
        parts = self.drawn.get(subject) or self.lots.get(subject)
        base = self._made_of(parts) if parts else self._cohort(self.arrived.get(subject, NOBODY))
        if subject.startswith("g-"):  # what is found about a lot is in its parts
            return base
        for event in self.findings.get(subject, ()):
            base = _found(event, base)
        return base

    def _cohort(self, cohort: Cohort) -> Parentage:
        """The parents of all that one entry brought, or of the one animal that joined."""
        if isinstance(cohort, str):
            return self.of(cohort)
        if cohort in self.by_event:
            return _found(self.by_event[cohort], Parentage())
        base = self.events.get(cohort, Parentage())
        settled = self.settled.get(cohort)
        return _found(self.by_event[settled], base) if settled else base

    def _made_of(self, parts: Parts) -> Parentage:
        found = [(self._cohort(cohort), part) for cohort, part in parts.items()]
        if len(found) == 1:
            return found[0][0]
        if len({p for p, _ in found}) == 1:  # several entries of one clutch
            return found[0][0]
        return _mixed(found, "draw", max((c for c in parts if isinstance(c, int)), default=0))

    def life(self, subject: str) -> Life:
        """When it was born, and when it got its number."""
        parts = self.drawn.get(subject) or self.lots.get(subject) or {self.arrived.get(subject, NOBODY): Fraction(1)}
        days = [self._birth(cohort) for cohort in parts]
        known = [d for d in days if d is not None]
        entered, parted = self.entered[subject], subject not in self.arrived and subject in self._out_of
        if len(known) < len(days):
            return Life(None, None, entered, parted)
        first = None if any(f is None for f, _ in known) else min(f for f, _ in known if f is not None)
        return Life(first, max(last for _, last in known), entered, parted)

    def _birth(self, cohort: Cohort) -> tuple[date | None, date] | None:
        if isinstance(cohort, int):
            return self.born.get(cohort)
        life = self.life(cohort)
        return None if life.last is None else (life.first, life.last)


def _born(row: Mapping[str, Any], half: Hemisphere) -> tuple[date | None, date] | None:
    """Possible days of birth by an arrival: as stated, else of a hatching or a birth its own days; else None."""
    stated = row["hatched_on"] or row["born"]
    if stated is None:
        return (row["first_day"], row["last_day"]) if row["kind"] in ("hatching", "birth") else None
    value = parse(str(stated), hemisphere=half)
    last = row["last_day"] if isinstance(value.last, End) else min(date(*value.last), row["last_day"])
    return (None if isinstance(value.first, End) else date(*value.first)), last


def _ref(text: str | None) -> str:
    return id_of(orjson.loads(text)) if text else ""


def _mixed(parts: Sequence[tuple[Parentage, Fraction]], kind: str, event: int) -> Parentage:
    """One of several cohorts, nobody knows which: their pairs by part and weight, each animal drawn apart."""
    pairs = merged(Pair(p.dam, p.sire, p.weight * part) for of, part in parts for p in of.pairs)
    return Parentage(pairs, "", "", COMPOSITION, kind, event) if pairs else Parentage()


def _found(event: Standing, below: Parentage) -> Parentage:
    """A finding over what rules next. A finding about a lot whose animals are of one pair is one draw for them all."""
    pairs = _filled(said(event.payload), below)
    if not pairs:
        return below
    draw = f"#{event.root}" if event.payload.get("draw") == "one" and "lot" in event.payload else ""
    basis = str(event.payload.get("basis"))
    return Parentage(pairs, draw, below.clutch, basis, event.kind, event.root)
