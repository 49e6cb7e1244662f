"""A book under trial: the real one beside the oracle, fed the same entries, compared at every turn."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from datetime import date
from typing import Any, NamedTuple

from histories import Entry, Scene, register

import ledger
from ledger.chance import SeededChance
from ledger.findings import CODES
from oracle.census import Faults, Oracle
from oracle.justice import ABOUT_DAYS, could_be
from oracle.log import subjects

Cell = tuple[str, ...]  # taxon, sex, place, holder, owner, standing
Keep = Callable[[tuple[str, ...]], bool]  # of (subject, *cell)
ACCEPT = {c.name: "taken as it is" for c in CODES if c.weight == "warning"}
TALLY: Counter[str] = Counter()
CLERK = {"person": "CL", "name": "A clerk", "role": "registrar"}
HOUSE = {"house": "AA", "name": "First house", "time_zone": "Europe/Lisbon", "hemisphere": "north"}


class Row(NamedTuple):
    """A line of the journal; days are ordinals."""

    known_from: int
    because: int
    effect: int
    subject: str
    counts_on: int
    could_from: int
    cell: Cell
    reason: str
    delta: int


class Open(NamedTuple):
    """An open row: one cell of one state of one choice, from a day to before another."""

    known_from: int
    subject: str
    choice: int
    part: int
    from_day: int
    to_day: int
    state: int
    cell: Cell
    n: int
    weight: int


def live(cell: Cell) -> bool:
    """Followed by the book: in an enclosure, lost, or away while a member house owns it."""
    place, owner = cell[2], cell[4]
    return (
        place.startswith("e-")
        or place in ("escaped", "missing", "in_transit")
        or (place[:2] == "o-" and owner[:2] == "h-")
    )


class Difference(AssertionError):
    """The book and the oracle do not agree."""


class Trial:
    """One book, its oracle, and what was seen so far."""

    def __init__(self, path: str = ":memory:", faults: Faults | None = None) -> None:
        self.path = path
        chance = SeededChance(1, "2024-09-01T08:00:00Z") if path == ":memory:" else None
        self.book = ledger.new_book(path, person=CLERK, house=HOUSE, chance=chance, occurred="2020-01-01")
        self.scene = Scene(Oracle(faults))
        self.rows: list[Row] = []
        self.open: list[Open] = []
        self.ends: list[int] = []
        self.sent = 0
        self.planted: Callable[[list[Row]], list[Row]] = list  # faults, for canaries
        self.planted_open: Callable[[list[Open]], list[Open]] = list
        self.kept: dict[tuple[int, int], dict[tuple[str, ...], int]] = {}
        self.landed: list[list[Entry]] = []
        self._catch_up()
        outcome = self.book.append(register(), by="CL", accept=ACCEPT)
        assert outcome.landed, outcome.findings
        self._catch_up()

    @property
    def oracle(self) -> Oracle:
        return self.scene.oracle

    @property
    def known(self) -> int:
        return self.scene.known

    # --- acting --------------------------------------------------------------------------------------

    def send(self, entries: list[Entry]) -> Any:
        """A batch; what is refused leaves nothing behind."""
        for entry in entries:
            self.sent += 1
            entry.setdefault("event_id", f"018f0000-0000-7000-8000-{self.sent:012x}")
        outcome = self._try(lambda: self.book.append(entries, by="CL", accept=ACCEPT))
        if outcome.landed:
            self.landed.append(entries)
        elif len(entries) == 1 and could_be(self.scene, entries[0]):
            codes = {f.code for f in outcome.findings}
            if codes <= ABOUT_DAYS:
                said = f"{outcome.findings}\n{entries}\n{self.history()}"
                raise Difference(f"refused though it can be replayed: {said}")
        return outcome

    def correct(self, seq: int, changes: dict[str, Any], occurred: str | None) -> Any:
        more = {"occurred": occurred} if occurred else {}
        return self._try(lambda: self.book.correct(seq, changes, reason="mistake", by="CL", accept=ACCEPT, **more))

    def strike(self, seq: int) -> Any:
        return self._try(lambda: self.book.strike_out(seq, reason="mistake", by="CL", accept=ACCEPT))

    def repeat(self, nth: int) -> None:
        """The same entries once more: recorded already, and nothing happens."""
        if not self.landed:
            return
        before = self.book.head
        entries = self.landed[nth % len(self.landed)]
        outcome = self.book.append(entries, by="CL", accept=ACCEPT)
        if len(outcome.already) != len(entries) or self.book.head != before or self._fetch():
            raise Difference(f"recorded twice: {outcome} {entries}")
        TALLY["recorded already"] += 1

    def reopen(self) -> None:
        """Close and open again (a book in a file)."""
        if self.path == ":memory:":
            return
        head = self.book.head
        self.book.close()
        self.book = ledger.open_book(self.path, write=True)
        assert self.book.head == head
        again = list(_postings(self.book, 0))
        if again != self.rows:
            raise Difference("the journal changed between closing and opening")
        TALLY["reopened"] += 1

    def _try(self, act: Callable[[], Any]) -> Any:
        before = self.book.head
        outcome = act()
        TALLY["accepted" if outcome.landed else "refused"] += 1
        if outcome.landed:
            self._catch_up()
        else:
            for code in {f.code for f in outcome.findings}:
                TALLY[f"refused: {code}"] += 1
            if self.book.head != before or self._fetch():
                raise Difference(f"refused, and something stayed behind: {outcome.findings}")
        return outcome

    def _fetch(self) -> bool:
        """Events, lines or open rows beyond what was read."""
        after = self.known
        fresh = any(True for _ in self.book.events(first=after + 1))
        return fresh or bool(_postings(self.book, after)) or bool(_open_rows(self.book, after))

    def _catch_up(self) -> None:
        after = self.known
        events = list(self.book.events(first=after + 1))
        self.scene.read(events)
        self.ends.append(self.known)
        new = self.planted(_postings(self.book, after))
        self.rows += new
        self.open += self.planted_open(_open_rows(self.book, after))
        self._balanced(new)

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

    def _balanced(self, new: list[Row]) -> None:
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
            if book[0] < 0:
                raise Difference(self._said(f"range of {name} below nobody", on, known, book, (low, high)))
            if book[0] > low or book[1] < high:
                raise Difference(self._said(f"range of {name}", on, known, book, (low, high)))
            TALLY["ranges"] += 1
            TALLY["ranges open"] += low != high
            TALLY["ranges wider than need be"] += book != (low, high)

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


def _postings(book: Any, after: int) -> list[Row]:
    out = []
    for posting in book.store.postings(after=after):
        known_from, because, line = posting
        out.append(
            Row(
                *(known_from, because, line.effect, line.subject, line.counts_on, line.could_from),
                *(tuple(line.cell), line.reason, line.delta),
            )
        )
    return out


def _open_rows(book: Any, after: int) -> list[Open]:
    out = []
    for known_from, row, weight in book.store.open_rows(after=after):
        days = (row.from_day, row.to_day, row.state)
        cell = tuple(row.cell) if row.cell else ("",) * 6
        out.append(Open(known_from, row.subject, row.choice, row.part, *days, cell, row.n, weight))
    return out
