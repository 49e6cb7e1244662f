"""The journal's answers beside the oracle's: census, range, days, and earlier answers that must not move."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any

from oracle.census import Oracle
from oracle.journal import Cell, Open, Row, live
from oracle.log import subjects
from oracle.scene import Scene

Keep = Callable[[tuple[str, ...]], bool]  # of (subject, *cell)
TALLY: Counter[str] = Counter()


class Difference(AssertionError):
    """The book and the oracle do not agree."""


class Compared:
    """What was read of a book so far, and what the oracle makes of the same log."""

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.rows: list[Row] = []
        self.open: list[Open] = []
        self.kept: dict[tuple[int, int], dict[tuple[str, ...], int]] = {}

    @property
    def oracle(self) -> Oracle:
        return self.scene.oracle

    @property
    def known(self) -> int:
        return self.scene.known

    # --- asking --------------------------------------------------------------------------------------

    def cells(self, on: int, known: int) -> dict[tuple[str, ...], int]:
        """Every cell and account by subject: the one SUM."""
        out: dict[tuple[str, ...], int] = {}
        for row in self.rows:
            if row.known_from <= known and row.counts_on <= on:
                key = (row.subject, *row.cell)
                out[key] = out.get(key, 0) + row.delta
        return {k: n for k, n in out.items() if n}

    def states(self, on: int, known: int) -> dict[tuple[str, int, int], dict[int, dict[Cell, int]]]:
        """(subject, choice, part) -> state -> cells, of the open rows that stand."""
        weight: Counter[Open] = Counter()
        for row in self.open:
            if row.known_from <= known and row.from_day <= on < row.to_day:
                weight[row._replace(known_from=0, weight=0)] += row.weight
        out: dict[tuple[str, int, int], dict[int, dict[Cell, int]]] = {}
        for row, n in weight.items():
            if n > 0:
                cells = out.setdefault((row.subject, row.choice, row.part), {}).setdefault(row.state, {})
                if row.cell[0]:
                    cells[row.cell] = cells.get(row.cell, 0) + row.n
        return out

    def range_of(self, on: int, known: int, keep: Keep, only: Iterable[str] | None = None) -> tuple[int, int] | None:
        """Least and most of a filtered number by engine rule 21; None where a range is not known."""
        wanted = None if only is None else set(only)
        figure = sum(
            n
            for k, n in self.cells(on, known).items()
            if keep(k) and live(k[1:]) and (wanted is None or k[0] in wanted)
        )
        low = high = figure
        for (subject, _, _), states in self.states(on, known).items():
            if wanted is not None and subject not in wanted:
                continue
            if -1 in states:
                return None
            values = {
                s: sum(n for c, n in cells.items() if live(c) and keep((subject, *c))) for s, cells in states.items()
            }
            low += min(values.values()) - values.get(0, 0)
            high += max(values.values()) - values.get(0, 0)
        return low, high

    # --- comparing -----------------------------------------------------------------------------------

    def balanced(self, new: list[Row]) -> None:
        """Every taxon sums to zero on every day over all accounts, batch by batch; so does every subject."""
        total: Counter[tuple[str, str, int]] = Counter()
        for row in new:
            total[row.subject, row.cell[0], row.counts_on] += row.delta
            if row.could_from > row.counts_on:
                raise Difference(f"could have counted only after it counts: {row}")
        if left := {k: n for k, n in total.items() if n}:
            raise Difference(f"does not sum to zero: {left}")

    def compare(self, on: int, known: int) -> None:
        """The census, and where everybody is with all accounts, against the oracle."""
        skip = self.oracle.skipped(known)
        sums = {k: n for k, n in self.cells(on, known).items() if k[0] not in skip}
        got = {k: n for k, n in sums.items() if live(k[1:])}
        want = self.oracle.census(on, known)
        if got != want:
            raise Difference(self._said("census", on, known, got, want))
        places: Counter[tuple[str, str]] = Counter()
        for k, n in sums.items():
            places[k[0], k[3]] += n
        if {k: n for k, n in places.items() if n} != dict(self.oracle.places(on, known)):
            raise Difference(self._said("places", on, known, dict(places), dict(self.oracle.places(on, known))))
        TALLY["points"] += 1
        kept = self.kept.setdefault((on, known), sums)
        if kept != sums:
            raise Difference(self._said("an earlier census moved", on, known, sums, kept))

    def still(self) -> None:
        """Every census asked before is as it was."""
        for (on, known), kept in self.kept.items():
            skip = self.oracle.skipped(known)
            sums = {k: n for k, n in self.cells(on, known).items() if k[0] not in skip}
            if sums != kept:
                raise Difference(self._said("an earlier census moved", on, known, sums, kept))
            TALLY["earlier points that did not move"] += 1

    def ranges(self, on: int, known: int) -> None:
        """The range of the whole census, by place, by sex, contains every world."""
        subjects_ = set(self.oracle.facts(known)) - self.oracle.skipped(known)
        places = sorted({k[3] for k in self.oracle.census(on, known)}, key=self.scene.name)
        filters: list[tuple[str, Keep]] = [
            ("all", lambda k: True),
            ("held", lambda k: k[3].startswith("e-")),
            *((f"sex {s}", lambda k, s=s: k[2] == s) for s in ("male", "female", "unknown")),
            *((f"place {p}", lambda k, p=p: k[3] == p) for p in places),
            *((f"male at {p}", lambda k, p=p: k[3] == p and k[2] == "male") for p in places[:2]),
        ]
        for name, keep in filters:
            book = self.range_of(on, known, keep, subjects_)
            if book is None:
                TALLY["range not known"] += 1
                return
            low, high = self.oracle.range_of(on, known, keep)
            if book[0] < 0 and not self._count_is_open(on, known):
                raise Difference(self._said(f"range of {name} below nobody", on, known, book, (low, high)))
            if max(0, book[0]) > low or book[1] < high:
                raise Difference(self._said(f"range of {name}", on, known, book, (low, high)))
            TALLY["ranges"] += 1
            TALLY["ranges open"] += low != high
            TALLY["ranges wider than need be"] += (max(0, book[0]), book[1]) != (low, high)

    def _count_is_open(self, on: int, known: int) -> bool:
        """A counted loss beside open part acts may add up below nobody; readers cut the least at none."""
        counts = {f.root for facts in self.oracle.facts(known).values() for f in facts if f.kind == "count"}
        return any(choice in counts for _, choice, _ in self.states(on, known))

    def days(self, known: int) -> None:
        """The day every line of an individual counts on, and the first it could have, against all worlds."""
        net: Counter[Row] = Counter()
        for row in self.rows:
            if row.known_from <= known and row.subject.startswith("a-"):
                net[row._replace(known_from=0, because=0, delta=0)] += row.delta
        lines = [row for row, n in net.items() if n]
        for subject in {row.subject for row in lines}:
            told = self.oracle.told(subject, known)
            if told is None:
                continue
            bounds = {
                (f.root, f.kind == "leaving"): (told.latest[i], told.earliest[i], f.kind)
                for i, f in enumerate(told.facts)
            }
            left = {root for root, leaving in bounds if leaving}
            for row in lines:
                step = (row.effect, row.effect in left and row.reason == "re_housed")
                if row.subject != subject or step not in bounds:
                    continue
                latest, earliest, kind = bounds[step]
                if kind in ("sexing", "redetermination"):  # found out after the end, it counts on the last day
                    continue
                if (row.counts_on, row.could_from) != (latest, earliest):
                    raise Difference(self._said(f"days of {kind}", 0, known, row[4:6], (latest, earliest)))
                TALLY["days of lines"] += 1

    def _said(self, what: str, on: int, known: int, got: Any, want: Any) -> str:
        day = date.fromordinal(on).isoformat() if on else ""
        return f"{what} on {day} as of @{known}\n  book   {got}\n  oracle {want}\n{self.history()}"

    def history(self) -> str:
        """The log in few words."""
        out = []
        for e in self.oracle.events:
            if subjects(e["payload"]) or e["kind"] == "void":
                words = {k: _word(v) for k, v in e["payload"].items()}
                mark = f"{e['batch']['no']}/{e['batch']['of']}"
                out.append(f"  #{e['seq']} {mark} {e['occurred']['edtf']} {e['kind']} {words} over {e['supersedes']}")
        return "\n".join(out)


def _word(value: Any) -> Any:
    return value.get("as", value.get("id", value)) if isinstance(value, Mapping) else value


def tally(before: Counter[str], name: str) -> Counter[str]:
    """What was seen since `before`; shown under `pytest -s`."""
    seen = TALLY - before
    sys.stdout.write(f"\n{name}: " + ", ".join(f"{k} {n}" for k, n in sorted(seen.items())) + "\n")
    return seen
