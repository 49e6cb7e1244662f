"""Kinship and inbreeding, as expected over all that is not known about parents.

Definition. The kinship of two animals is the chance that a gene drawn from one and a gene drawn from the other are
copies of one gene of an ancestor; an animal's inbreeding is the kinship of its parents. Tabular method: parents
before young, k(x, y) = Σ w · (k(dam, y) + k(sire, y)) / 2 over the pairs of x, k(x, x) = (1 + F) / 2,
F = Σ w · k(dam, sire). Draws are independent, so the sum over pairs is exact; two of one draw have the same pair:
k(x, y) = Σ w · (k(dam, dam) + k(sire, sire) + 2 · k(dam, sire)) / 4.

An unknown parent is an unrelated, non-inbred founder of its own; so is "one of a lot". Young without a sire take all
their genes from the dam: k(x, y) = k(dam, y); their own F, and k(x, x) with it, is not defined here (it depends on how
the egg was doubled). A clone is its source: k = (1 + F) / 2 of that animal.

Source: tabular method, textbook quantitative genetics; with weights as in D17 and D18 of the design, derived, and
equal to enumeration in the tests.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import nan
from typing import Final

from reports.parents import NONE, Parentage

MOST: Final = 2_000  # animals in one table: a few seconds; a report on one animal needs its ancestors alone


class Roundabout(ValueError):
    """Some animal would be its own ancestor: `animals` on the way round, by id."""

    def __init__(self, animals: list[str]) -> None:
        super().__init__(f"their own ancestors: {', '.join(animals)}")
        self.animals = animals


class TooMany(ValueError):
    """More animals than a table is made of."""


class Kinship:
    """Kinships among some animals. Only ids of animals and lots that were asked for have one."""

    def __init__(self, known: Mapping[str, Parentage], of: Iterable[str]) -> None:
        """`known`: parentage by subject. Raises Roundabout, TooMany."""
        self._known = known
        wanted = _closure(known, [genet(known, subject) for subject in of])
        if len(wanted) > MOST:
            raise TooMany(f"{len(wanted):,} animals")
        self._at: dict[str, int] = {}
        self._rows: list[list[float]] = []
        self._inbred: list[float] = []
        for group in _in_order(known, wanted):
            for subject in group:
                self._add(subject, group)

    def between(self, a: str, b: str) -> float:
        """Kinship of two subjects; NaN where it is not defined."""
        i, j = self._at[genet(self._known, a)], self._at[genet(self._known, b)]
        return self._rows[max(i, j)][min(i, j)]

    def inbreeding(self, subject: str) -> float:
        """F of one subject; NaN where it has no sire at all."""
        return self._inbred[self._at[genet(self._known, subject)]]

    # --- the table ----------------------------------------------------------------------------------

    def _add(self, subject: str, group: list[str]) -> None:
        parentage = self._known.get(subject, Parentage())
        sisters = {self._at[s] for s in group if s in self._at}
        row = [self._shared(parentage) if j in sisters else self._mean(parentage, j) for j in range(len(self._rows))]
        inbred = 0.0
        for dam, sire, weight in parentage.pairs:
            inbred += float(weight) * (nan if sire == NONE else self._of(dam, sire))
        row.append((1 + inbred) / 2)
        self._at[subject] = len(self._rows)
        self._rows.append(row)
        self._inbred.append(inbred)

    def _mean(self, parentage: Parentage, other: int) -> float:
        """Kinship with one that stands in the table and is no descendant."""
        out = 0.0
        for dam, sire, weight in parentage.pairs:
            of_dam = self._cell(dam, other)
            out += float(weight) * (of_dam if sire == NONE else (of_dam + self._cell(sire, other)) / 2)
        return out

    def _shared(self, parentage: Parentage) -> float:
        """Kinship of two of one draw."""
        out = float(parentage.rest) / 4  # two unknown parents, the same for both: (1/2 + 1/2) / 4
        for dam, sire, weight in parentage.pairs:
            one = self._self(dam)
            out += float(weight) * (one if sire == NONE else (one + self._self(sire) + 2 * self._of(dam, sire)) / 4)
        return out

    def _self(self, parent: str) -> float:
        """Kinship of a parent with itself; one not in the table is a founder."""
        i = self._find(parent)
        return 0.5 if i is None else self._rows[i][i]

    def _of(self, dam: str, sire: str) -> float:
        """Kinship of two parents; one not in the table is a founder of its own."""
        i, j = self._find(dam), self._find(sire)
        return 0.0 if i is None or j is None else self._rows[max(i, j)][min(i, j)]

    def _cell(self, parent: str, other: int) -> float:
        i = self._find(parent)
        return 0.0 if i is None else self._rows[max(i, other)][min(i, other)]

    def _find(self, parent: str) -> int | None:
        return self._at.get(genet(self._known, parent)) if parent.startswith("a-") else None


def genet(known: Mapping[str, Parentage], subject: str) -> str:
    """The animal that a clone is one with: its source's source, and so on; itself where it is no clone."""
    seen = {subject}
    while (source := known[subject].clone_of if subject in known else "") and source not in seen:
        seen.add(source)
        subject = source
    return subject


def _parents(known: Mapping[str, Parentage], subject: str) -> list[str]:
    pairs = known[subject].pairs if subject in known else ()
    return [genet(known, p) for pair in pairs for p in pair[:2] if p.startswith("a-")]


def _closure(known: Mapping[str, Parentage], of: Iterable[str]) -> dict[str, None]:
    """Those asked for and all their ancestors."""
    found: dict[str, None] = dict.fromkeys(of)
    ahead = list(found)
    while ahead:
        for parent in _parents(known, ahead.pop()):
            if parent not in found:
                found[parent] = None
                ahead.append(parent)
    return found


def _in_order(known: Mapping[str, Parentage], wanted: Iterable[str]) -> list[list[str]]:
    """The animals by draw, every draw after those of its parents. Raises Roundabout.

    Those of one draw stand together: what is said of one's young is said of the draw.
    """
    groups: dict[str, list[str]] = {}
    key: dict[str, str] = {}
    for subject in wanted:
        draw = known[subject].draw if subject in known else ""
        key[subject] = draw or subject
        groups.setdefault(key[subject], []).append(subject)
    needs = {k: {key[p] for s in group for p in _parents(known, s)} for k, group in groups.items()}
    for_whom: dict[str, list[str]] = {k: [] for k in groups}
    for k, before in needs.items():
        for b in before:
            for_whom[b].append(k)
    left = {k: len(before) for k, before in needs.items()}
    ready = [k for k, n in left.items() if not n]
    out: list[list[str]] = []
    while ready:
        k = ready.pop()
        out.append(groups[k])
        for after in for_whom[k]:
            left[after] -= 1
            if not left[after]:
                ready.append(after)
    if len(out) < len(groups):
        raise Roundabout([s for k, n in left.items() if n for s in groups[k]])
    return out
