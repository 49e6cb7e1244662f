"""What a story can tell: one method a kind of event, each checked against the story's own balances.

Keyword arguments named in `ENVELOPE` go round the payload (when the sheet was typed, who saw it); all others
go into it as they stand.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from demo_events.diary import Diary, Line, NewNumber, last_day
from demo_events.dice import Dice
from demo_events.roster import HOUSES, SINCE
from demo_events.subjects import WORD, Amount, Animal, Impossible, Lot, Subject

ENVELOPE = ("sheet", "late", "by", "seen", "source", "reason", "accept", "batch", "house", "slip", "unseen")
When = date | str


def iso(on: When) -> str:
    """A day, or a date already written, as it is typed."""
    return on if isinstance(on, str) else on.isoformat()


class Story:
    """One story of the house: its own chance, its own subjects, its place in the order of a day."""

    def __init__(self, diary: Diary, place: int, name: str, section: str, keepers: str, house: str = "MS") -> None:
        self.diary, self.place, self.section, self.house = diary, place, section, house
        self.keepers = keepers.split()
        self.dice = Dice(name)
        self.told = 0

    # --- the line ---------------------------------------------------------------------------------

    def put(self, kind: str, on: When, payload: dict[str, Any], **more: Any) -> Line:
        """One line. `late`: days between the last possible day and the sheet it stands on."""
        how = {k: more.pop(k) for k in ENVELOPE if k in more}
        occurred = iso(on)
        sheet: date = how.get("sheet") or last_day(occurred) + timedelta(days=how.get("late", 0))
        house = how.get("house", self.house)
        line = Line(kind, occurred, payload | more, sheet, house, (self.place, self.told))
        self.told += 1
        line.by, line.accept, line.batch = how.get("by", ""), how.get("accept", {}), how.get("batch", "")
        line.reason, line.slip = how.get("reason"), how.get("slip", False)
        if not how.get("unseen"):
            line.seen = tuple(how.get("seen", "").split()) or (self._keeper(last_day(occurred)),)
            section = self.section if house == self.house else HOUSES[house]["name"]
            line.source = {"kind": "day_sheet", "ref": f"{section}, {sheet - timedelta(days=how.get('late', 0))}"}
        line.source = how.get("source", line.source)
        self.diary.lines.append(line)
        return line

    def _keeper(self, day: date) -> str:
        return self.dice.pick([k for k in self.keepers if SINCE[k] <= day])

    def correct(self, line: Line, on: date, why: str, text: str, **changes: Any) -> Line:
        """A line that supersedes another, typed from a later sheet; `occurred` may be among the changes."""
        occurred = changes.pop("occurred", line.occurred)
        how = {k: changes.pop(k) for k in ENVELOPE if k in changes}
        new = self.put(
            line.kind,
            occurred,
            line.payload | changes,
            sheet=on,
            reason={"code": why, "text": text},
            unseen=True,
            **how,
        )
        new.seen, new.source = new.seen or line.seen, new.source or line.source
        new.supersedes, line.marked = line, True
        return new

    def strike_out(self, line: Line, on: date, why: str, text: str, **more: Any) -> Line:
        """A line that strikes another out."""
        new = self.put("void", on, {}, reason={"code": why, "text": text}, unseen=True, **more)
        new.supersedes, line.marked = line, True
        return new

    def note(self, on: When, topic: str, text: Any, about: Subject | str | None = None, **more: Any) -> Line:
        """A note about an animal, a lot, an enclosure or the house."""
        key = "enclosure" if isinstance(about, str) else _key(about) if about else ""
        return self.put("note", on, ({key: about} if key else {}) | {"topic": topic, "text": text}, **more)

    # --- coming -------------------------------------------------------------------------------------

    def new(self, taxon: str, place: str, on: When, count: str | Amount, house: str = "") -> Animal | Lot:
        """A subject as the generator follows it: an animal by sex letter, or a lot by amount."""
        since = last_day(iso(on))
        if isinstance(count, str):
            return Animal(taxon, house or self.house, since, sex=count, place=place, last=since)
        lot = Lot(taxon, house or self.house, since, last=since)
        lot.put(place, count)
        return lot

    def _arrive(self, kind: str, on: When, taxon: str, place: str, count: str | Amount, more: dict[str, Any]) -> Any:
        subject = self.new(taxon, place, on, count, more.pop("numbered_by", ""))
        subject.name = more.get("name", "")
        payload = {_key(subject): subject, **more.pop("first", {}), "taxon": taxon, **_count(count), "enclosure": place}
        line = self.put(kind, on, payload, **more)
        return subject, line

    def opening(self, taxon: str, place: str, count: str | Amount, **more: Any) -> Any:
        """On hand when the book began; the old card is the source."""
        card = f"card {100 + self.place * 40 + self.told:04}"
        defaults = {"sheet": date(2023, 1, 2 + self.place % 4), "unseen": True}
        defaults["source"] = {"kind": "card_index", "ref": card}
        return self._arrive("opening", more.pop("on", date(2023, 1, 1)), taxon, place, count, defaults | more)[0]

    def hatching(self, on: When, taxon: str, place: str, count: str | Amount, **more: Any) -> Any:
        """Young out of eggs: an animal or a new lot."""
        return self._arrive("hatching", on, taxon, place, count, more)[0]

    def birth(self, on: When, taxon: str, place: str, count: str | Amount, **more: Any) -> Any:
        """Young born: an animal or a new lot."""
        return self._arrive("birth", on, taxon, place, count, more)[0]

    def young_into(self, kind: str, on: When, lot: Lot, place: str, count: Amount, **more: Any) -> Line:
        """Young, or animals collected, into a standing lot."""
        self._touch(lot, on)
        lot.put(place, count)
        return self.put(kind, on, {"into": lot, "taxon": lot.taxon, "how_many": count, "enclosure": place}, **more)

    def acquire(self, on: When, taxon: str, place: str, count: str | Amount, manner: str, **more: Any) -> Any:
        """Came without a lawful holder before."""
        return self._arrive("acquisition", on, taxon, place, count, {"manner": manner} | more)[0]

    def receive(
        self, on: When, giver: str, taxon: str, place: str, count: str | Amount, terms: str, **more: Any
    ) -> Any:
        """A subject new to the book, from an outside holder."""
        return self.receive_line(on, giver, taxon, place, count, terms, **more)[0]

    def receive_line(
        self, on: When, giver: str, taxon: str, place: str, count: str | Amount, terms: str, **more: Any
    ) -> Any:
        """As `receive`, with the line, where it is to be corrected."""
        first = {"from": giver, "to": more.get("house", self.house), "terms": terms}
        return self._arrive("transfer", on, taxon, place, count, {"first": first} | more)

    # --- going ---------------------------------------------------------------------------------------

    def send(
        self, on: When, subject: Subject, to: str, terms: str, how_many: Amount | None = None, **more: Any
    ) -> Line:
        """To an outside holder: all of it, or part of a lot. On loan it stays in the book."""
        payload: dict[str, Any] = {
            _key(subject): subject,
            "from": more.pop("giver", self.house),
            "to": to,
            "terms": terms,
        }
        leaves = terms not in ("loan", "breeding_loan")
        self._part(subject, on, how_many, more.get("leaving", ""), "" if leaves else to)
        return self.put("transfer", on, payload | ({"how_many": how_many} if how_many else {}), **more)

    def pass_on(self, on: When, subject: Subject, receiver: str, terms: str, place: str, **more: Any) -> Line:
        """From one member house to the other, which gives it a number of its own the first time."""
        giver = next(h for h in HOUSES if h != receiver)
        self._part(subject, on, None, "", place)
        payload: dict[str, Any] = {
            _key(subject): subject,
            "from": giver,
            "to": receiver,
            "terms": terms,
            "enclosure": place,
        }
        if subject.house != receiver:
            payload["new_number"] = NewNumber(subject, receiver)
        return self.put("transfer", on, payload, **({"house": giver} | more))

    def come_back(
        self,
        on: When,
        subject: Subject,
        giver: str,
        terms: str,
        place: str,
        how_many: Amount | None = None,
        **more: Any,
    ) -> Line:
        """Back from an outside holder."""
        self._part(subject, on, how_many, giver if how_many else "", place)
        payload: dict[str, Any] = {_key(subject): subject, "from": giver, "to": self.house, "terms": terms}
        return self.put(
            "transfer", on, payload | ({"how_many": how_many} if how_many else {}) | {"enclosure": place}, **more
        )

    def title(self, on: When, subject: Subject, owner: str, how_many: Amount | None = None, **more: Any) -> Line:
        """Somebody else owns it now. Animals given to the party that holds them leave the book."""
        at = more.pop("from_", "")
        if owner not in HOUSES:
            self._part(subject, on, how_many, at, "" if how_many is None or at == owner else at)
        payload = {_key(subject): subject, "owner": owner} | ({"how_many": how_many} if how_many else {})
        return self.put("title_change", on, payload | ({"from": at} if at else {}), **more)

    def die(self, on: When, subject: Subject, how_many: Amount | None = None, at: str = "", **more: Any) -> Line:
        """A death; of a lot always with how many. `counted`: a count since has taken it in already."""
        where = self._where(subject, at)
        if not more.pop("counted", False):
            self._part(subject, on, how_many, at, "")
        payload = {_key(subject): subject} | ({"how_many": how_many} if how_many else {}) | where
        return self.put("death", on, payload, **more)

    def lose(
        self, kind: str, on: When, subject: Subject, how_many: Amount | None = None, at: str = "", **more: Any
    ) -> Line:
        """Release, escape or missing."""
        where = self._where(subject, at)
        self._part(subject, on, how_many, at, {"escape": "escaped", "missing": "missing"}.get(kind, ""))
        payload = {_key(subject): subject} | ({"how_many": how_many} if how_many else {}) | where
        return self.put(kind, on, payload, **more)

    def recover(
        self, on: When, subject: Subject, was: str, place: str, how_many: Amount | None = None, **more: Any
    ) -> Line:
        """Back from `escaped` or `missing`."""
        self._part(subject, on, how_many, was, place)
        payload = (
            {_key(subject): subject} | ({"how_many": how_many} if how_many else {}) | {"from": was, "enclosure": place}
        )
        return self.put("recovery", on, payload, **more)

    # --- in the house ----------------------------------------------------------------------------------

    def move(
        self, on: When, subject: Subject, to: str, how_many: Amount | None = None, at: str = "", **more: Any
    ) -> Line:
        """To another enclosure."""
        where = self._where(subject, at)
        self._part(subject, on, how_many, at, to)
        payload = {_key(subject): subject} | ({"how_many": how_many} if how_many else {}) | where | {"to": to}
        return self.put("move", on, payload, **more)

    def split(self, on: When, lot: Lot, how_many: Amount, at: str = "", to: str = "", **more: Any) -> Lot:
        """Part of a lot under a number of its own."""
        where = self._where(lot, at)
        at = at or lot.only_place()
        self._part(lot, on, how_many, at, "")
        new = self.new(lot.taxon, to or at, on, how_many)
        assert isinstance(new, Lot)
        payload = {"lot": lot, "new": new, "how_many": how_many} | where | ({"to": to} if to else {})
        self.put("split", on, payload, **more)
        return new

    def merge(self, on: When, lot: Lot, into: Lot, to: str = "", **more: Any) -> Line:
        """All of one lot into another."""
        at = lot.only_place()
        amount = lot.at(at)
        self._part(lot, on, amount, at, "")
        self._touch(into, on)
        into.put(to or at, amount)
        return self.put(
            "merge", on, {"lot": lot, "into": into, "how_many": amount} | ({"to": to} if to else {}), **more
        )

    def draw(self, on: When, lot: Lot, sex: str, at: str = "", **more: Any) -> Animal:
        """One animal numbered out of a lot."""
        where = self._where(lot, at)
        at = at or lot.only_place()
        self._part(lot, on, {sex: 1}, at, "")
        new = self.new(lot.taxon, more.get("to", at), on, sex)
        assert isinstance(new, Animal)
        self.put("draw", on, {"lot": lot, "new": new, "sex": WORD[sex]} | where, **more)
        return new

    def join(self, on: When, animal: Animal, into: Lot, to: str, **more: Any) -> Line:
        """One animal into a lot, no longer told apart."""
        self._part(animal, on, None, "", "")
        into.put(to, {animal.sex: 1})
        return self.put("join", on, {"animal": animal, "into": into, "to": to}, **more)

    def count(self, on: date, lot: Lot, how_many: Amount, at: str = "", **more: Any) -> Line:
        """A count; it stands."""
        self._touch(lot, on)
        several = len(lot.places()) > 1
        where = at or lot.only_place()
        lot.level(where, how_many)
        payload = {"lot": lot, "how_many": how_many} | ({"enclosure": where} if several else {})
        return self.put("count", on, payload, **more)

    def mark(self, on: When, subject: Subject, scheme: str, value: str, **more: Any) -> Line:
        """A mark put on, or read for the first time."""
        self._touch(subject, on)
        return self.put("marking", on, {_key(subject): subject, "scheme": scheme, "value": value}, **more)

    def unmark(self, on: When, subject: Subject, scheme: str, value: str, **more: Any) -> Line:
        """A mark taken off or lost."""
        self._touch(subject, on)
        return self.put("unmarking", on, {_key(subject): subject, "scheme": scheme, "value": value}, **more)

    def sexing(
        self, on: When, subject: Subject, to: str, how_many: Amount | None = None, at: str = "", **more: Any
    ) -> Line:
        """Its sex was found out."""
        where = self._where(subject, at)
        self._resex(subject, on, how_many, at, to)
        payload = {_key(subject): subject, "to": WORD[to]} | ({"how_many": how_many} if how_many else {}) | where
        return self.put("sexing", on, payload, **more)

    def change(
        self, on: When, subject: Subject, to: str, stage: str, how_many: Amount | None = None, at: str = "", **more: Any
    ) -> Line:
        """It changes sex; only `completed` moves it."""
        where = self._where(subject, at)
        if stage == "completed":
            self._resex(subject, on, how_many, at, to)
        payload = {_key(subject): subject} | ({"how_many": how_many} if how_many else {}) | where
        return self.put("sex_change", on, payload | {"to": WORD[to], "stage": stage}, **more)

    # --- balances -----------------------------------------------------------------------------------------

    def _touch(self, subject: Subject, on: When) -> None:
        day = last_day(iso(on))
        if day < subject.last:
            raise Impossible(f"{subject.taxon}: {on} told after {subject.last}")
        subject.last = day
        if isinstance(subject, Animal):
            subject.needs()

    def _where(self, subject: Subject, at: str) -> dict[str, str]:
        return {"from": at} if at and isinstance(subject, Lot) and len(subject.places()) > 1 else {}

    def _part(self, subject: Subject, on: When, how_many: Amount | None, at: str, to: str) -> None:
        self._touch(subject, on)
        if isinstance(subject, Animal):
            subject.place = to
        elif isinstance(subject, Lot):
            at = at or subject.only_place()
            amount = how_many or subject.at(at)
            subject.take(at, amount)
            if to:
                subject.put(to, amount)

    def _resex(self, subject: Subject, on: When, how_many: Amount | None, at: str, to: str) -> None:
        if isinstance(subject, Animal):
            self._touch(subject, on)
            subject.sex = to
        elif isinstance(subject, Lot) and how_many:
            at = at or subject.only_place()
            self._part(subject, on, how_many, at, "")
            subject.put(at, {to: sum(how_many.values())})


def _key(subject: Subject) -> str:
    return "animal" if isinstance(subject, Animal) else "lot"


def _count(count: str | Amount) -> dict[str, Any]:
    return {"sex": WORD[count]} if isinstance(count, str) else {"how_many": count}
