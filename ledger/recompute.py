"""The journal worked out a second way and held against the one that stands (`tidemark verify --recompute`).

`verify` tells every history anew with the same fold that wrote it; a fault of the fold itself it would not see. Here
the lines of all subjects whose acts stand each on a day of its own are derived by one set-based question that shares
nothing with the fold but what an act says. The rest (ranges, several acts on one day, untold sexes, acts on all of a
lot, counts for another day, findings after the end) is what order is about, and is left to the fold: how many is said.
Days a line could have counted, and open rows, are the fold's alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from datetime import date
from typing import Any, NamedTuple

from ledger.acts import UNTOLD, Back, Enter, Entry, Level, Shift, Step
from ledger.index import Index
from ledger.read.derive import derived
from ledger.replay import extend
from ledger.store.port import Store

LETTERS = {"male": 0, "female": 1, "hermaphrodite": 2, "unknown": 3}
FIXED_OF_LOTS = {"taxon", "owner", "standing"}


class Recomputed(NamedTuple):
    """Subjects derived and left to the fold, lines compared, and the lines that one way has and the other has not.

    `missing`: derived, and not in the journal; `extra`: in the journal, and not derived; both as
    (effect, subject, day as ordinal, taxon, sex, place, holder, owner, standing, reason, delta).
    """

    subjects: int
    left: int
    lines: int
    missing: list[tuple[Any, ...]]
    extra: list[tuple[Any, ...]]

    @property
    def agrees(self) -> bool:
        """Both ways come to the same lines."""
        return not self.missing and not self.extra

    def sentence(self) -> str:
        """One sentence: the same, or the first that differs."""
        counted = f"{self.subjects:,} animals and lots, {self.lines:,} lines"
        left = f"{self.left:,} more are told by the fold alone"
        if self.agrees:
            return f"Derived a second way: {counted}, all the same; {left}."
        first = min([*self.missing, *self.extra])
        day = date.fromordinal(first[2]).isoformat()
        which = f"first at event #{first[0]}, {first[1]}, {day}"
        return f"Derived a second way: {counted}; {len(self.missing) + len(self.extra):,} differ ({which}); {left}."


def recompute(store: Store) -> Recomputed:
    """Derive the lines that stand at the head and compare them with the sums of the journal."""
    index = Index()
    extend(index, store.events())
    rows: list[tuple[Any, ...]] = []
    plain: set[str] = set()
    subjects = [s for s in index.of_subject if s[:2] in ("a-", "g-") and index.entries(s)]
    for subject in subjects:
        entries = index.entries(subject)
        if _plain(entries):
            plain.add(subject)
            rows += _columns(entries)
    mine = {tuple(row[:-1]): row[-1] for row in derived(rows)}
    counted = {row[0] for row in rows if row[4] == "level"}
    plain -= counted - {
        key[1] for key in mine
    }  # a count that re-classes sexes: left to the fold by the question itself
    journal = _journal(store, plain)
    missing = [(*key, n) for key, n in mine.items() if journal.get(key) != n]
    extra = [(*key, n) for key, n in journal.items() if mine.get(key) != n]
    return Recomputed(len(plain), len(subjects) - len(plain), len(journal), sorted(missing), sorted(extra))


def _journal(store: Store, subjects: set[str]) -> dict[tuple[Any, ...], int]:
    total: Counter[tuple[Any, ...]] = Counter()
    for posting in store.postings():
        line = posting.line
        if line.subject in subjects:
            total[line.effect, line.subject, line.counts_on, *line.cell, line.reason] += line.delta
    return {key: n for key, n in total.items() if n}


def _plain(entries: list[Entry]) -> bool:
    """Every act on one day, and on a day of its own, and of a sort that needs no telling in turn."""
    days = [entry.first for entry in entries]
    if len(set(days)) < len(days) or any(e.first != e.last for e in entries):
        return False
    acts = [entry.act for entry in entries]
    if any(a.since or a.uncounted or a.likely or a.stands_for for a in acts):
        return False
    if acts[0].individual:
        ended = [e.first for e in entries if e.act.step is Step.END or e.act.gone]
        return not any(e.act.finding and e.first > min(ended, default=e.first) for e in entries)
    return all(map(_part_of_a_lot, acts)) and _one_of_each(acts)


def _part_of_a_lot(act: Any) -> bool:
    op = act.op
    if isinstance(op, Back) or act.whole or op.amount is None or UNTOLD in dict(op.amount):
        return False
    if isinstance(op, Shift):
        sets = dict(op.sets)
        return op.at[:2] == "e-" and not FIXED_OF_LOTS & set(sets) and not _elsewhere(sets)
    return not isinstance(op, Level) or not op.owned_by


def _elsewhere(sets: dict[str, str]) -> bool:
    """Gone to where the lot can be taken from again: escaped, away on loan, on the way."""
    return sets.get("place", "e-")[:2] != "e-" and sets["place"] not in ("dead", "released", "fed_out", "passed")


def _one_of_each(acts: Iterable[Any]) -> bool:
    """One taxon, owner and standing all along, and one holder of every place."""
    cells = {(a.op.taxon, *a.op.target[2:]) for a in acts if isinstance(a.op, Enter)}
    return len(cells) == 1


def _columns(entries: list[Entry]) -> list[tuple[Any, ...]]:
    """Acts of one subject as rows of `derive.ACTS`."""
    ordered = sorted(entries, key=lambda e: e.first)
    first = next((e.act.op for e in ordered if isinstance(e.act.op, Enter)), None)
    lot = ("", "", "", "")
    if first is not None and not ordered[0].act.individual:
        lot = (first.taxon, "", first.target[2], first.target[3])
    holders: dict[str, str] = {}
    rows: list[tuple[Any, ...]] = []
    parts: tuple[str | None, ...]
    for entry in ordered:
        act, op = entry.act, entry.act.op
        if isinstance(op, Enter):
            holders[op.target[0]] = op.target[1]
            parts = (*op.source, "", op.taxon, op.amount[0][0] if act.individual else None, *op.target)
            name, at = "enter", op.target[0]
        elif isinstance(op, Shift):
            sets = dict(op.sets)
            holders.setdefault(sets.get("place", ""), holders.get(op.at, ""))
            part = [sets.get(p) for p in ("taxon", "sex", "place", "holder", "owner", "standing")]
            parts, name, at = (op.at, "", "", "", *part), "shift", op.at
        elif isinstance(op, Back):
            part = [None, None, op.place, op.holder, op.owner or None, op.standing or None]
            parts, name, at = (op.at, "", "", "", *part), "back", op.at
        else:
            parts, name, at = (op.place, "", "", op.account, *[None] * 6), "level", op.place
        n = [0, 0, 0, 0]
        for sex, count in op.amount or ():
            n[LETTERS[sex or "unknown"]] += count
        same = (lot[0], holders.get(at, ""), *lot[2:])
        head = (act.subject, act.individual, entry.root, entry.first, name, act.reason, act.reason_in)
        rows.append((*head, *n, *parts, *same))
    return rows
