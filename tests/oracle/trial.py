"""A book under trial: the real one beside the oracle, fed the same entries, compared at every turn."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from histories import register

import ledger
from ledger.chance import SeededChance
from ledger.findings import CODES
from oracle.census import Faults, Oracle
from oracle.compare import TALLY, Compared, Difference
from oracle.journal import Open, Row, open_rows, postings
from oracle.justice import ABOUT_DAYS, could_be
from oracle.scene import Entry, Scene

ACCEPT = {c.name: "taken as it is" for c in CODES if c.weight == "warning"}
CLERK = {"person": "CL", "name": "A clerk", "role": "registrar"}
HOUSE = {"house": "AA", "name": "First house", "time_zone": "Europe/Lisbon", "hemisphere": "north"}


class Trial(Compared):
    """One book, its oracle, and what was seen so far."""

    def __init__(self, path: str = ":memory:", faults: Faults | None = None) -> None:
        self.path = path
        chance = SeededChance(1, "2024-09-01T08:00:00Z") if path == ":memory:" else None
        self.book = ledger.new_book(path, person=CLERK, house=HOUSE, chance=chance, occurred="2020-01-01")
        super().__init__(Scene(Oracle(faults)))
        self.ends: list[int] = []
        self.sent = 0
        self.planted: Callable[[list[Row]], list[Row]] = list  # faults, for canaries
        self.planted_open: Callable[[list[Open]], list[Open]] = list
        self.landed: list[list[Entry]] = []
        self._catch_up()
        outcome = self.book.append(register(), by="CL", accept=ACCEPT)
        assert outcome.landed, outcome.findings
        self._catch_up()

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
        again = list(postings(self.book, 0))
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
        return fresh or bool(postings(self.book, after)) or bool(open_rows(self.book, after))

    def _catch_up(self) -> None:
        after = self.known
        events = list(self.book.events(first=after + 1))
        self.scene.read(events)
        self.ends.append(self.known)
        new = self.planted(postings(self.book, after))
        self.rows += new
        self.open += self.planted_open(open_rows(self.book, after))
        self.balanced(new)
