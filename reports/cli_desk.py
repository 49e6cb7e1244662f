"""A book open for writing, as the writing commands need it: who writes, today, the next number, what an entry does."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ledger.words import LETTER_OF, SEXES
from reports import cli_say as out
from reports.cli_book import INVENTED, existing, login, today
from reports.cli_guard import REFUSED, Stop
from reports.cli_words import day as typed_day
from reports.cli_words import next_number

if TYPE_CHECKING:
    from ledger.book import Book
    from ledger.index import Thing
    from ledger.posting import Posting

MOST_LINES: Final = 24  # of an effect; the rest are counted
MOST_PEOPLE: Final = 20
_PLACED: Final = ("e-", "o-")
_AWAY: Final = ("escaped", "missing", "in_transit")
_WHY: Final = {"re_housed": "moved", "re_sexed": "re-sexed", "transfer_in": "came", "transfer_out": "went"}
EFFECT: Final = [
    out.Column("day", "counts on", drop=2),
    out.Column("where", "where"),
    out.Column("taxon", "taxon", drop=1),
    out.Column("change", "change", right=True),
    out.Column("why", "why", drop=3),
]


class Desk:
    """The book, opened for writing, and the person at it."""

    def __init__(self, book: Path | None, by: str | None) -> None:
        from ledger import open_book

        self.path = existing(book)
        self.book: Book = open_book(str(self.path), write=True)
        self.by, self.basis = self._person(by)

    def close(self) -> None:
        """Let go of the file."""
        self.book.close()

    # --- who, where, when -------------------------------------------------------------------------

    def _person(self, by: str | None) -> tuple[str, str]:
        """Code of who writes, and how that is known. Without --by: the person who bears this login."""
        if by:
            if not self.book.index.find(("person",), by):
                raise Stop(f"There is no person “{by}” in the book; there are {self._people()}.", REFUSED)
            return by, "stated"
        name = login()
        own = [p.code for p in self.book.index.of_sort("person") if name and p.fields.get("login") == name]
        if len(own) == 1:
            return own[0], "os"
        raise Stop(f"Nobody in the book has the login “{name}”; say who records with --by CODE ({self._people()}).")

    def _people(self) -> str:
        codes = [p.code for p in self.book.index.of_sort("person")]
        return ", ".join(codes[:MOST_PEOPLE]) + (" and others" if len(codes) > MOST_PEOPLE else "")

    @property
    def houses(self) -> list[Thing]:
        """Member houses, the first one first."""
        return list(self.book.index.of_sort("house"))

    @property
    def simulated(self) -> bool:
        """True where the recording times of the book are invented."""
        genesis = next(self.book.events(), None)
        return genesis is not None and genesis["payload"]["clock_kind"] == "simulated"

    def today(self) -> date:
        """The civil date of the first house."""
        houses = self.houses
        return today(str(houses[0].fields["time_zone"]) if houses else "UTC")

    def iso(self, text: str) -> str:
        """A day as typed (`today`, `monday`), in ISO; other dates as they are."""
        return typed_day(text, self.today())

    def stands(self, subject: str) -> list[str]:
        """Where the animals of a subject stand today: `37 in T3`, place by place."""
        cells: Counter[str] = Counter()
        for cell, n in self.book.index.cells(subject, self.today().toordinal()).items():
            cells[cell.place] += n
        return [
            f"{n} {'in' if place[1:2] == '-' else ''} {self._name(place, {})}" for place, n in cells.items() if n > 0
        ]

    def head_line(self, what: str) -> str:
        """House, what is done, by whom, position."""
        house = self.houses[0].fields.get("name", "") if self.houses else str(self.path)
        parts = [str(house), what, f"by {self.by}", f"@{self.book.head[0]}"]
        return " · ".join([*parts, INVENTED] if self.simulated else parts)

    def house_of(self, enclosure: object) -> Thing | None:
        """The house of an enclosure as it is typed; else the first house."""
        found = self.book.index.find(("enclosure",), str(enclosure)) if enclosure else []
        wanted = self.book.index.things[found[0]].house if found else ""
        return next((h for h in self.houses if h.id == wanted), self.houses[0] if self.houses else None)

    def next_number(self, enclosure: object, occurred: str) -> str:
        """The accession number to propose for an arrival; empty where the house has no pattern."""
        house = self.house_of(enclosure)
        pattern = house.fields.get("number_pattern") if house else None
        if house is None or not pattern:
            return ""
        year = int(occurred[:4]) if occurred[:4].isdigit() else self.today().year
        taken = (text for space, where, text in self.book.index.names if space == "subject" and where == house.id)
        return next_number(str(pattern), year, taken)

    # --- what it does ---------------------------------------------------------------------------------

    def effect(self, postings: Sequence[Posting], entries: Sequence[dict[str, Any]]) -> None:
        """What would change, place by place; then the houses' figures today, before and after."""
        names = _typed_names(postings, entries)
        rows = effect_rows(postings, lambda id_: self._name(id_, names))
        if not rows:
            out.say("No figure changes.")
            return
        out.table(rows[:MOST_LINES], EFFECT)
        if len(rows) > MOST_LINES:
            out.say(f"… and {len(rows) - MOST_LINES} lines more.")
        for sentence in self._census(postings, names):
            out.say(sentence)

    def _census(self, postings: Sequence[Posting], names: dict[str, str]) -> Iterable[str]:
        """`Marrow Sound Aquarium holds Hippocampus erectus today: 34 → 33.`, for at most a few taxa."""
        day = self.today()
        change: Counter[tuple[str, str]] = Counter()
        for posting in postings:
            line = posting.line
            if _held(line.cell.place) and line.counts_on <= day.toordinal():
                change[line.cell.holder, line.cell.taxon] += line.delta
        moved = {key: n for key, n in change.items() if n}
        if not moved:
            yield f"What is held on {day} stays as it is."
            return
        before = self._held(day)
        for (house, taxon), n in list(moved.items())[:6]:
            was = before.get((house, taxon), 0)
            what = f"{self._house(house)} holds {self._name(taxon, names)} on {day}"
            yield f"{what}: {was} → {was + n}."

    def _held(self, day: date) -> Counter[tuple[str, str]]:
        from ledger.read import Copy

        copy = Copy(self.book.store)
        figures = copy.figures([day], copy.head.position)
        copy.close()
        held: Counter[tuple[str, str]] = Counter()
        for row in figures.iter_rows(named=True):
            if _held(row["place"]):
                held[row["holder"], row["taxon"]] += row["n"]
        return held

    def _house(self, id_: str) -> str:
        thing = self.book.index.things.get(id_)
        return str(thing.fields.get("name", thing.code)) if thing else id_

    def _name(self, id_: str, names: dict[str, str]) -> str:
        return self.book.index.name(id_) if id_ in self.book.index.things else names.get(id_, id_)


def _held(place: str) -> bool:
    """In an enclosure, or on the way from one."""
    return place.startswith("e-") or place == "in_transit"


def effect_rows(postings: Sequence[Posting], called: Callable[[str], str]) -> list[dict[str, Any]]:
    """Lines as rows for people: what changes in enclosures and with parties, by day, place, taxon and cause."""
    lines: dict[tuple[str, str, str, str], Counter[str]] = {}
    for posting in postings:
        line = posting.line
        if line.cell.place[:2] in _PLACED or line.cell.place in _AWAY:
            key = (
                date.fromordinal(line.counts_on).isoformat(),
                called(line.cell.place).replace("_", " "),
                called(line.cell.taxon),
                _WHY.get(line.reason, line.reason.replace("_", " ")),
            )
            lines.setdefault(key, Counter())[line.cell.sex] += line.delta
    return [
        {"day": day, "where": where, "taxon": taxon, "change": _change(sexes), "why": why}
        for (day, where, taxon, why), sexes in sorted(lines.items())
        if any(sexes.values())
    ]


def _typed_names(postings: Sequence[Posting], entries: Sequence[dict[str, Any]]) -> dict[str, str]:
    """Names of what only this batch brings, where there can be no doubt: one new taxon, one new enclosure."""
    new = {kind: [e["payload"] for e in entries if e.get("kind") == kind] for kind in ("taxon", "enclosure")}
    out_: dict[str, str] = {}
    for kind, part in (("taxon", "taxon"), ("enclosure", "place")):
        ids = {getattr(p.line.cell, part) for p in postings if getattr(p.line.cell, part)[:2] in ("t-", "e-")}
        if len(new[kind]) == 1 and len(ids) == 1:
            out_[ids.pop()] = str(new[kind][0].get(kind))
    return out_


def _change(sexes: Counter[str]) -> str:
    """`+12 (0.0.12)`, `−1 (0.1.0)`; of both ways at once the sexes are written out."""
    total = sum(sexes.values())
    signs = {n > 0 for n in sexes.values() if n}
    if len(signs) == 1:
        parts = ".".join(str(abs(sexes[s])) for s in SEXES if LETTER_OF[s] in "mfu")
        h = f" + {abs(sexes['hermaphrodite'])} h" if sexes["hermaphrodite"] else ""
        return f"{'+' if total > 0 else '−'}{abs(total)} ({parts}{h})"
    said = ", ".join(f"{s} {'+' if sexes[s] > 0 else '−'}{abs(sexes[s])}" for s in SEXES if sexes[s])
    return f"{total:+d} ({said})".replace("-", "−")
