"""Runs one case on a memory store: tells the world, what is given, then each step, and holds it to what must come."""

from __future__ import annotations

from datetime import date
from typing import Any

from case_files import (
    ENVELOPE,
    Broods,
    Case,
    Census,
    Correction,
    Corrections,
    Find,
    Given,
    Kin,
    Life,
    Outcome,
    Pairs,
    Register,
    Rollforward,
    Sexes,
    Shared,
    Step,
    Strike,
    Succession,
    Where,
    world,
)

import ledger
from ledger import dates
from ledger.chance import SeededChance
from ledger.findings import CODES
from ledger.read import AsOf, Copy, Names
from ledger.read.positions import position_of
from reports.bonds import bonds
from reports.broods import broods
from reports.candidates import candidates
from reports.census import census
from reports.common import Basis, Period
from reports.corrections import completed, corrections
from reports.find import find
from reports.kin import kin
from reports.laid import laid, young_of
from reports.life import life
from reports.pairs import pairs
from reports.register import register
from reports.rollforward import MOVEMENTS, rollforward
from reports.sex_findings import sex_findings
from reports.sexes import sexes
from reports.shared import shared
from reports.succession import succession

WARNINGS = {code.name: "the case says so" for code in CODES if code.weight == "warning"}
ASIDE = ("recorded", "label")  # keys of an entry that are the case's own
LIVES = (
    "sexes",
    "succession",
    "pairs",
    "broods",
    "life",
    "find",
    "kin",
    "shared",
)  # steps named as the method that asks
NAMING = ("of", "opened_by", "cohort")  # fields that name an event: by a label of the case, or as people name it


class Wrong(AssertionError):
    """An expectation that did not come out."""


class Run:
    """One book, made for one case."""

    def __init__(self) -> None:
        small = world()
        self.now = small.recorded
        self.chance = SeededChance("cases", self.now)
        self.book = ledger.new_book(
            ":memory:", person=small.person, house=small.house, chance=self.chance, occurred=self.now[:10]
        )
        self.labels: dict[str, int] = {}
        self.copies: dict[int, Copy] = {}  # a reading copy for each head it was asked at
        self.must_land(self.write([self.typed(e) for e in small.entries], WARNINGS), "the world")

    # --- writing ------------------------------------------------------------------------------------

    def typed(self, flat: dict[str, Any]) -> dict[str, Any]:
        """An entry as a line of a file has it: what is not of the envelope is the payload."""
        entry = {key: value for key, value in flat.items() if key in ENVELOPE}
        if "supersedes" in entry:
            entry["supersedes"] = self.event(entry["supersedes"])
        payload = {k: v for k, v in flat.items() if k not in (*ENVELOPE, *ASIDE)}
        named = {k: self.event(v) for k in NAMING if isinstance(v := payload.get(k), str)}
        return entry | {"payload": payload | named}

    def clock(self, flat: dict[str, Any]) -> None:
        """Recorded when the case says, else in the evening of the last possible day; never back."""
        at = flat.get("recorded")
        if at is None:
            try:
                last = dates.parse(str(flat.get("occurred"))).last
            except ValueError:
                return
            at = f"{last.year:04}-{last.month:02}-{last.day:02}T20:00:00Z" if isinstance(last, dates.Day) else self.now
        elif at < self.now:
            raise Wrong(f"recorded {at} is before {self.now}: cases are told in the order of recording")
        self.now = max(self.now, at)
        self.chance.at(self.now)

    def write(self, entries: list[dict[str, Any]], accept: dict[str, str]) -> Any:
        return self.book.append(entries, by="ADA", accept=accept)

    def batch(self, given: Any, accept: dict[str, str]) -> Any:
        """Record one batch and keep its labels."""
        flats = given if isinstance(given, list) else [given]
        for flat in flats:
            self.clock(flat)
        outcome = self.write([self.typed(flat) for flat in flats], accept)
        if outcome.landed:
            written = [seq for seq, _ in outcome.events]
            for flat, seq in zip(flats, written, strict=False):
                if "label" in flat:
                    self.labels[flat["label"]] = seq
        return outcome

    def event(self, named: str) -> str:
        """A label of the case, or an event as people name it."""
        return f"#{self.labels[named]}" if named in self.labels else named

    def change(self, wish: Correction | Strike, accept: dict[str, str]) -> Any:
        event = self.event(wish.event)
        self.clock(wish.model_dump(exclude_none=True))
        if isinstance(wish, Strike):
            return self.book.strike_out(event, reason=wish.reason, text=wish.text, by="ADA", accept=accept)
        return self.book.correct(
            event,
            wish.changes,
            reason=wish.reason,
            text=wish.text,
            occurred=wish.occurred,
            by="ADA",
            accept=accept,
        )

    def give(self, given: Any) -> None:
        """Something that happened before the case: it must land; its warnings are accepted."""
        if isinstance(given, dict) and ("correct" in given or "strike_out" in given):
            wish = Given.model_validate(given)
            one = wish.correct or wish.strike_out
            assert one is not None
            self.must_land(self.change(one, WARNINGS), str(given))
        else:
            self.must_land(self.batch(given, WARNINGS), str(given))

    @staticmethod
    def must_land(outcome: Any, what: str) -> None:
        if not outcome.landed:
            raise Wrong(f"given, but refused: {what}\n" + "\n".join(f.sentence() for f in outcome.findings))

    # --- holding to what must come ----------------------------------------------------------------------

    def step(self, step: Step) -> None:
        """Do or ask one thing."""
        accept = {} if isinstance(step.then, Outcome) and step.then.warned is not None else WARNINGS
        if step.record is not None:
            self.became(self.batch(step.record, accept), step.then)
        elif (wish := step.correct or step.strike_out) is not None:
            self.became(self.change(wish, accept), step.then)
        elif step.census is not None:
            compare(self.census(step.census), step.then, zero=())
        elif step.rollforward is not None:
            compare(self.rollforward(step.rollforward), step.then, zero=("opening", *MOVEMENTS, "closing"))
        elif step.entered is not None:
            compare(self.register(step.entered), step.then, zero=())
        elif step.corrections is not None:
            compare(self.corrections(step.corrections), step.then, zero=())
        elif step.where is not None:
            compare(self.where(step.where), step.then, zero=())
        elif step.what in LIVES:
            ask = getattr(self, step.what)
            self.answered(ask(getattr(step, step.what)), step)

    def became(self, outcome: Any, then: Any) -> None:
        """Landed, refused with exactly these codes, or warned of exactly these."""
        assert isinstance(then, Outcome)
        said = "\n".join(f.sentence() for f in outcome.findings)
        for name, wanted in (("refusals", then.refused), ("warnings", then.warned)):
            got = sorted(f.code for f in getattr(outcome, name))
            if wanted is not None and (outcome.landed or got != sorted(wanted)):
                raise Wrong(f"expected {name} {sorted(wanted)}, got {got}\n{said}")
        if then.landed and not outcome.landed:
            raise Wrong(f"expected to land, but:\n{said}")
        taken = sorted(f.code for f in outcome.accepted)
        if then.accepted is not None and taken != sorted(then.accepted):
            raise Wrong(f"expected to land with the warnings {sorted(then.accepted)}, got {taken}")
        if then.says is not None and then.says not in said:
            raise Wrong(f"expected to read {then.says!r} in:\n{said}")
        if then.stores is not None:
            self.stores(outcome.events[0][0], then.stores)

    def stores(self, seq: int, wanted: dict[str, Any]) -> None:
        """Fields of the payload as it stands in the bytes, names as they are called."""
        payload = next(self.book.events(seq))["payload"]
        got = {k: v["as"] if isinstance(v, dict) and "as" in v else v for k, v in payload.items() if k in wanted}
        if got != {k: v for k, v in wanted.items() if v is not None}:
            raise Wrong(f"expected to store {wanted}, stored {got}")

    # --- questions ------------------------------------------------------------------------------------------

    def asof(self, on: str, known: str | None) -> tuple[Copy, Names, AsOf]:
        head = self.book.head[0]
        copy = self.copies[head] = self.copies.get(head) or Copy(self.book.store)
        named = self.end(self.labels[known]) if known in self.labels else known or head
        zone = str(copy.book().get("time_zone", "UTC"))
        asof = AsOf(date.fromisoformat(on), position_of(named, copy.ends(), zone))
        return copy, Names(copy, asof), asof

    def end(self, seq: int) -> int:
        """The end of the batch an event is in."""
        batch = next(self.book.events(seq))["batch"]
        return seq + batch["of"] - batch["no"]

    @staticmethod
    def basis(names: Names, how: Any, house: str | None) -> Basis:
        return Basis(how, names.find("house", house) if house else "")

    def census(self, asked: Census) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.on, asked.known)
        return census(copy, names, asof, self.basis(names, asked.basis, asked.house), asked.by).to_dicts()

    def rollforward(self, asked: Rollforward) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.last, asked.known)
        period = Period(date.fromisoformat(asked.first), asof.on)
        basis = self.basis(names, asked.basis, asked.house)
        rows = rollforward(copy, names, period, asof.known, basis).to_dicts()
        untied = [row for row in rows if not row["adds_up"]]
        if untied:
            raise Wrong(f"does not add up: {untied}")
        return rows

    def register(self, asked: Register) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.last, asked.known)
        period = Period(date.fromisoformat(asked.first), asof.on)
        rows = register(copy, names, period, asof.known, self.basis(names, "held", asked.house)).to_dicts()
        return [{k: v.isoformat() if isinstance(v, date) else v for k, v in row.items()} for row in rows]

    def corrections(self, asked: Corrections) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.last, asked.known)
        days = Period(date.fromisoformat(asked.first), asof.on)
        report = completed if asked.completed else corrections
        return report(copy, names, days, asof.known, self.basis(names, asked.basis, asked.house)).to_dicts()

    def sexes(self, asked: Sexes) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.on, asked.known)
        report = sex_findings if asked.findings else sexes
        return plain(report(copy, names, asof, self.basis(names, "held", asked.house).house))

    def succession(self, asked: Succession) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.on, asked.known)
        return plain(succession(copy, names, asof, self.basis(names, "held", asked.house).house))

    @staticmethod
    def answered(rows: list[dict[str, Any]], step: Step) -> None:
        """The rows that must come, and none that must never."""
        compare(rows, step.then, zero=())
        for wrong in step.never:
            if missing := [key for key in wrong if rows and key not in rows[0]]:
                raise Wrong(f"no column {missing[0]!r}; there are {', '.join(rows[0])}")
            if any(all(row[k] == v for k, v in wrong.items()) for row in rows):
                raise Wrong(f"must never come out: {wrong}")

    def life(self, asked: Life) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.on, asked.known)
        found = self.book.index.find(("animal", "lot"), asked.subject)
        rows = plain(life(copy, names, asof, found[0]).lines) if len(found) == 1 else []
        return [row for row in rows if row["topic"] in asked.topics and (asked.through or not row["through"])]

    def find(self, asked: Find) -> list[dict[str, Any]]:
        return plain(find(*self.asof(asked.on, asked.known), asked.text))

    def pairs(self, asked: Pairs) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.on, asked.known)
        found = bonds(copy, names, asof)
        house = names.find("house", asked.house) if asked.house else ""
        return plain(pairs(copy, names, asof, found, house, young_of(found.bonds, laid(copy, names, asof))))

    def broods(self, asked: Broods) -> list[dict[str, Any]]:
        """Rows of the report, shares to three places (`0.917`)."""
        copy, names, asof = self.asof(asked.on, asked.known)
        rows = plain(broods(copy, names, asof, names.find("house", asked.house) if asked.house else ""))
        kept = [row for row in rows if asked.brood in (None, row["brood"])]
        return [{k: f"{v:.3f}" if isinstance(v, float) else v for k, v in row.items()} for row in kept]

    def kin(self, asked: Kin) -> list[dict[str, Any]]:
        rows = plain(kin(*self.asof(asked.on, asked.known), self.named(asked.subject)).rows)
        return [{k: f"{v:.3f}" if isinstance(v, float) else v for k, v in row.items()} for row in rows]

    def shared(self, asked: Shared) -> list[dict[str, Any]]:
        about = (*self.asof(asked.on, asked.known), self.named(asked.subject))
        return plain(candidates(*about).rows if asked.candidates else shared(*about))

    def named(self, subject: str) -> str:
        """The id of an animal, a lot or a brood."""
        found = self.book.index.find(("animal", "lot"), subject) or self.book.index.find(("brood",), subject)
        if len(found) != 1:
            raise Wrong(f"{subject} is not one animal, lot or brood of the book")
        return found[0]

    def where(self, asked: Where) -> list[dict[str, Any]]:
        copy, names, asof = self.asof(asked.on, asked.known)
        found = self.book.index.find(("animal", "lot"), asked.subject)
        if len(found) != 1:
            raise Wrong(f"{asked.subject} is not one subject of the book")
        out = []
        for row in copy.cells(asof).to_dicts():
            if row.pop("subject") != found[0] or row["n"] == 0:
                continue
            if not asked.accounts and (row["place"][1:2] != "-" or row["n"] < 0):
                continue
            named = {k: t.code for k, v in row.items() if isinstance(v, str) and (t := names.thing(v)) is not None}
            out.append(row | named)
        return out


def plain(frame: Any) -> list[dict[str, Any]]:
    """Rows of a frame, days as text."""
    return [{k: v.isoformat() if isinstance(v, date) else v for k, v in row.items()} for row in frame.to_dicts()]


def compare(rows: list[dict[str, Any]], wanted: Any, zero: tuple[str, ...]) -> None:
    """As many rows as expected, each fitting one. Figures of `zero` that a row does not name must be zero."""
    left = list(rows)
    for want in wanted:
        unknown = [key for key in want if rows and key not in rows[0]]
        if unknown:
            raise Wrong(f"no column {unknown[0]!r}; there are {', '.join(rows[0])}")
        full = dict.fromkeys((key for key in zero if rows and key in rows[0]), 0) | want
        fits = next((row for row in left if all(row[k] == v for k, v in full.items())), None)
        if fits is None:
            raise Wrong(f"no row {want}; got\n" + "\n".join(_shown(row, zero) for row in rows))
        left.remove(fits)
    if left:
        raise Wrong("rows that nobody expected:\n" + "\n".join(_shown(row, zero) for row in left))


def _shown(row: dict[str, Any], zero: tuple[str, ...]) -> str:
    return str({key: value for key, value in row.items() if not (key in zero and value == 0)})


def run(case: Case) -> None:
    """Run one case; raises Wrong at the first thing that does not come out."""
    told = Run()
    for given in case.given:
        told.give(given)
    for step in case.when:
        told.step(step)
