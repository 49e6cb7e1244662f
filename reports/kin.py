"""Kin of one animal or lot: parents, siblings, offspring and clones, with their chances, and where they are now.

Definitions (D17, D18, D32 of the design; parentage itself in `parents.py`).

- *Full* siblings have the same parents, *half* siblings share one of two, in any role: one that was the sire of the
  one and the dam of the other is shared. Young of a virgin birth have one parent, and share all they have. Over pairs
  `P(full) = Σ w · v` where the pairs are the same, `P(half)` where they share one; draws are independent. Of one draw
  they are full siblings, whoever the parents are. A parent not known, or one of a lot, is shared with nobody else:
  what the chances leave to one is not known, and `why` says so where a lot or a clutch is in common.
- Offspring are those of which it may be a parent in any role, with the weight of that.
- Relatives are those that lived by the day asked about, as known at the position. Parents are named always.
- `kinship` as in `kinship.py`.

Source: D18, derived; P(full), P(half) equal to enumeration over all draws in the tests.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping
from datetime import date
from fractions import Fraction
from math import isnan
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import AsOf, Copy, Names
from reports.kinship import Kinship, Roundabout, TooMany, genet
from reports.parents import COMPOSITION, NONE, UNKNOWN, Family, Parentage, family, weighted
from reports.whereabouts import Where, whereabouts

PARENT, FULL, HALF, EITHER, MAYBE = "parent", "full sibling", "half sibling", "full or half sibling", "possible sibling"
OFFSPRING, SOURCE, RAMET = "offspring", "clone source", "clone"
RELATIONS: Final = (PARENT, SOURCE, RAMET, FULL, EITHER, HALF, MAYBE, OFFSPRING)
COLUMNS: Final[dict[str, Any]] = {
    **dict.fromkeys(("relation", "role", "number", "subject", "taxon", "sex", "weight"), pl.String),
    **dict.fromkeys(("p_full", "p_half", "kinship"), pl.Float64),
    "shared": pl.String,
    **dict.fromkeys(("born", "born_possible"), pl.Date),
    "state": pl.String,
    "since": pl.Date,
    "n": pl.Int64,
    **dict.fromkeys(("enclosure", "enclosure_name", "purpose", "holder", "basis", "why"), pl.String),
    "event": pl.Int64,
}


class Kin(NamedTuple):
    """The answer: `rows` (columns `COLUMNS`), `inbreeding` (None: not defined), `notes` as whole sentences.

    A row is a relation to one relative. `role`: of a parent dam or sire, of offspring the part the animal asked about
    had in it (`dam and sire` of a self-fertilised one). `weight`: that chance as a fraction. `born`, `born_possible`:
    last and first possible day, null where not known. `n`: how many stand. `basis` and `event`: what it rests on.
    """

    subject: str
    rows: pl.DataFrame
    inbreeding: float | None
    notes: list[str]


class _Tie(NamedTuple):
    relation: str
    other: str  # an id; "" where nobody is known, `none` where there is nobody
    role: str = ""
    weight: Fraction | None = None
    full: Fraction | None = None
    half: Fraction | None = None
    shared: tuple[str, ...] = ()
    why: str = ""


def kin(copy: Copy, names: Names, asof: AsOf, subject: str) -> Kin:
    """The kin of an animal or a lot (its id) at the close of `asof.on`, as known at `asof.known`."""
    known = family(copy, asof)
    ties = [*_parents(known.of, subject), *_clones(known, subject, asof.on), *_siblings(names, known, subject, asof.on)]
    ties += _offspring(known, subject, asof.on)
    others = sorted({t.other for t in ties} - {UNKNOWN, NONE, subject})
    table, notes = _table(names, known.of, [subject, *others])
    where = whereabouts(copy, names, asof, others)
    rows = [_row(names, known, table, where.get(tie.other), subject, tie) for tie in ties]
    frame = pl.DataFrame(sorted(rows, key=_place), schema=COLUMNS, orient="row")
    notes += _notes(names, known.of, subject)
    return Kin(subject, frame, _said(table.inbreeding(subject)) if table else None, notes)


def _row(
    names: Names, known: Family, table: Kinship | None, where: Where | None, subject: str, tie: _Tie
) -> dict[str, Any]:
    """A tie as a row of the frame."""
    about_other = tie.relation in (OFFSPRING, FULL, HALF, EITHER, MAYBE, RAMET)
    resting = known.of.get(tie.other if about_other else genet(known.of, subject), Parentage())
    life = known.lives.get(tie.other)
    row = {
        "relation": tie.relation,
        "role": tie.role,
        "number": _called(names, tie.other),
        "subject": tie.other,
        "weight": None if tie.weight is None else str(tie.weight),
        "p_full": None if tie.full is None else float(tie.full),
        "p_half": None if tie.half is None else float(tie.half),
        "kinship": _said(table.between(subject, tie.other)) if table and where else None,
        "shared": ", ".join(_called(names, s) for s in tie.shared),
        "born": life.last if life else None,
        "born_possible": life.first if life else None,
        "basis": resting.basis if resting.kind else "",
        "why": tie.why,
        "event": resting.event or None,
    }
    if where is not None:
        row |= {"taxon": where.taxon, "sex": where.sexes, "state": where.state, "since": where.since, "n": where.n}
        row |= {"enclosure": where.place, "enclosure_name": where.name, "purpose": where.purpose}
        row["holder"] = where.holder
    return row


def _said(value: float) -> float | None:
    return None if isnan(value) else value


def _place(row: Mapping[str, Any]) -> tuple[Any, ...]:
    """Where a row stands: by relation; parents by role and weight, the others by birth."""
    weight = Fraction(row["weight"] or 0) if row["relation"] == PARENT else 0
    role = row["role"] if row["relation"] == PARENT else ""
    nobody = row["subject"] in (UNKNOWN, NONE)
    return RELATIONS.index(row["relation"]), role, nobody, -weight, row["born"] or date.min, row["number"]


def chances(a: Parentage, b: Parentage) -> tuple[Fraction, Fraction]:
    """P(full) and P(half) of two subjects of such parentage."""
    if a.draw and a.draw == b.draw:
        return Fraction(1), Fraction(0)
    full = half = Fraction(0)
    for one in a.pairs:
        for other in b.pairs:
            mine, theirs = (Counter(p for p in pair[:2] if p.startswith("a-")) for pair in (one, other))
            common = sum((mine & theirs).values())
            if not common:
                continue
            whole = all(p.startswith("a-") or p == NONE for pair in (one, other) for p in pair[:2])
            if whole and mine == theirs:
                full += one.weight * other.weight
            else:
                half += one.weight * other.weight
    return full, half


# --- ties -----------------------------------------------------------------------------------------------


def _parents(of: Mapping[str, Parentage], subject: str) -> Iterator[_Tie]:
    parentage = of.get(genet(of, subject), Parentage())
    for role in ("dam", "sire"):
        found = weighted(role, parentage.pairs)
        for parent, weight in sorted(found.items(), key=lambda f: (-f[1], f[0])):
            why = "one of the lot" if parent.startswith("g-") else "virgin birth" if parent == NONE else ""
            yield _Tie(PARENT, parent, role, weight, why=why)
        rest = 1 - sum(found.values(), Fraction(0))
        if rest:
            yield _Tie(PARENT, UNKNOWN, role, rest)


def _clones(known: Family, subject: str, on: date) -> Iterator[_Tie]:
    own = genet(known.of, subject)
    source = known.of.get(subject, Parentage()).clone_of
    if source:
        yield _Tie(SOURCE, source)
    for other, parentage in known.of.items():
        if parentage.clone_of and other not in (subject, source) and genet(known.of, other) == own:
            yield from [_Tie(RAMET, other)] * _lived(known, other, on)
    if source and own not in (source, subject):
        yield _Tie(RAMET, own)


def _siblings(names: Names, known: Family, subject: str, on: date) -> Iterator[_Tie]:
    own = genet(known.of, subject)
    mine = known.of.get(own, Parentage())
    parents = {p for pair in mine.pairs for p in pair[:2]} - {UNKNOWN, NONE}
    for other, theirs in known.of.items():
        if other in (own, subject) or not _lived(known, other, on):
            continue
        shared = parents & {p for pair in theirs.pairs for p in pair[:2]}
        clutch = bool(mine.clutch) and mine.clutch == theirs.clutch
        if not shared and not clutch and not (mine.draw and mine.draw == theirs.draw):
            continue
        full, half = chances(mine, theirs)
        relation = FULL if full == 1 else HALF if half == 1 else EITHER if full + half == 1 else MAYBE
        yield _Tie(
            relation, other, "", None, full, half, tuple(sorted(shared)), _why(names, shared, mine, clutch, full)
        )


def _why(names: Names, shared: Iterable[str], mine: Parentage, clutch: bool, full: Fraction) -> str:
    """What the chances do not say."""
    lots = [f"both may have the same parent in lot {names.number(s)}" for s in sorted(shared) if s.startswith("g-")]
    same = [f"of one clutch, {names.label(mine.clutch)}"] if clutch and full != 1 else []
    return "; ".join([*same, *lots])


def _offspring(known: Family, subject: str, on: date) -> Iterator[_Tie]:
    for other, parentage in known.of.items():
        roles: dict[str, Fraction] = defaultdict(Fraction)
        for dam, sire, weight in parentage.pairs:
            if subject in (dam, sire):
                roles["dam and sire" if dam == sire else "dam" if dam == subject else "sire"] += weight
        if roles and _lived(known, other, on):
            why = "one of the lot is the parent" if subject.startswith("g-") else ""
            yield from (_Tie(OFFSPRING, other, role, weight, why=why) for role, weight in roles.items())


def _lived(known: Family, subject: str, on: date) -> bool:
    return subject in known.lives and known.lives[subject].by <= on


# --- the rest -------------------------------------------------------------------------------------------


def _table(names: Names, of: Mapping[str, Parentage], subjects: list[str]) -> tuple[Kinship | None, list[str]]:
    try:
        return Kinship(of, subjects), []
    except Roundabout as error:
        said = ", ".join(_called(names, animal) for animal in error.animals[:6])
        return None, [f"Kinship is not worked out: by what is recorded, {said} would be their own ancestors."]
    except TooMany as error:
        return None, [f"Kinship is not worked out: {error} are too many for this report."]


def _notes(names: Names, of: Mapping[str, Parentage], subject: str) -> list[str]:
    own = of.get(genet(of, subject), Parentage())
    notes = []
    if of.get(subject, Parentage()).clone_of:
        notes.append(
            f"A clone of {_called(names, genet(of, subject))}: its parents and siblings are those of that one."
        )
    if any(p.startswith("g-") for pair in own.pairs for p in pair[:2]):
        notes.append("A parent is one of a lot, not known which: kinship takes it for an unrelated animal.")
    if any(pair.sire == NONE for pair in own.pairs):
        notes.append("It has no sire (virgin birth): its inbreeding is not defined.")
    if own.basis == COMPOSITION and own.kind == "draw":
        lot = subject.startswith("g-")
        came, when = ("It is made", "on the day") if lot else ("It came out of a lot", "at the draw")
        notes.append(f"{came} of several cohorts: the weights are their balances {when}.")
    return notes


def _called(names: Names, subject: str) -> str:
    return {UNKNOWN: "not known", NONE: "none"}.get(subject) or names.number(subject)
