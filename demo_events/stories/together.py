"""What stories about life together tell alike: bonds, courtship, broods, members of a unit, orders of rank."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import date, timedelta
from typing import Any

from demo_events.diary import Diary, Line
from demo_events.storyteller import Story, When
from demo_events.subjects import Animal, Subject

LAST_DAY = date(2026, 11, 8)


def pairing(s: Story, on: When, a: Animal, b: Animal, basis: str, **more: Any) -> Line:
    """Two are a pair."""
    return s.put("pairing", on, {"a": a, "b": b, "basis": basis}, **more)


def parting(s: Story, on: When, a: Animal, b: Animal, cause: str, by: Animal | None = None, **more: Any) -> Line:
    """Two are a pair no longer; `by`: who left."""
    return s.put("parting", on, {"a": a, "b": b} | ({"by": by} if by else {}) | {"cause": cause}, **more)


def courtship(s: Story, on: When, by: Subject, to: Sequence[Subject], act: str, **more: Any) -> Line:
    """One courts others. `days`: (seen, watched)."""
    days = more.pop("days", None)
    counted = {"seen": days[0], "watched": days[1]} if days else {}
    return s.put("courtship", on, {"by": [by], "with": list(to), "act": act} | counted, **more)


def greetings(s: Story, first: date, a: Animal, b: Animal, at: str) -> Line:
    """A week of mornings in which somebody looked, and most of which they greeted."""
    watched = s.dice.between(4, 7)
    seen = max(1, watched - s.dice.between(0, 2))
    week = f"{first}/{first + timedelta(days=6)}"
    return courtship(s, week, a, [b], "greeting", days=(seen, watched), mutual=True, enclosure=at)


def brood(s: Story, on: When, code: str, taxon: str, mode: str, **more: Any) -> Line:
    """A brood."""
    return s.put("brood", on, {"brood": code, "taxon": taxon, "mode": mode}, **more)


def check(s: Story, on: When, code: str, **more: Any) -> Line:
    """A brood was looked at."""
    return s.put("brood_check", on, {"brood": code}, **more)


def brood_end(s: Story, on: When, code: str, **more: Any) -> Line:
    """A brood is over."""
    return s.put("brood_end", on, {"brood": code}, **more)


def member(s: Story, on: When, subject: Subject, unit: str, **more: Any) -> Line:
    """An animal or a lot belongs to a unit."""
    return s.put("association", on, {_key(subject): subject, "relation": "member", "unit": unit}, **more)


def associate(s: Story, on: When, subject: Subject, relation: str, **more: Any) -> Line:
    """An animal or a lot lives with, rears, or holds something; `to`: whom it is with."""
    other = {"with": more.pop("to")} if "to" in more else {}
    return s.put("association", on, {_key(subject): subject, "relation": relation} | other, **more)


def order(s: Story, on: When, unit: str, *ranks: Animal | list[Animal], **more: Any) -> Line:
    """An order of rank, highest first."""
    return s.put("hierarchy", on, {"unit": unit, "order": list(ranks)}, **more)


def unit(s: Story, on: When, code: str, sort: str, taxon: str, at: str, **more: Any) -> Line:
    """Animals that live as one get a name together."""
    return s.put(
        "social_unit", on, {"unit": code, "sort": sort, "taxa": [taxon], "enclosure": at}, **({"unseen": True} | more)
    )


def named(diary: Diary, name: str) -> Animal:
    """An animal of another story, by its call name."""
    lines = [line for line in diary.lines if line.payload.get("name") == name]
    return next(x for line in lines for f in ("animal", "new") if isinstance(x := line.payload.get(f), Animal))


def of_taxon(diary: Diary, taxon: str, kind: str = "opening") -> list[Animal]:
    """Animals of another story that came in by one kind, in the order told."""
    return [x for x in _animals(diary, kind) if x.taxon == taxon]


def told(diary: Diary, kind: str, test: Callable[[dict[str, Any]], bool]) -> list[Line]:
    """Lines of other stories, in the order told."""
    return [line for line in diary.lines if line.kind == kind and test(line.payload)]


def death_of(diary: Diary, animal: Animal) -> Line:
    """The line of its death, made to bear an id so that another may name it."""
    line = told(diary, "death", lambda p: p.get("animal") is animal)[0]
    line.marked = True
    return line


def _animals(diary: Diary, kind: str = "") -> Iterator[Animal]:
    for line in diary.lines:
        for field in ("animal", "new"):
            subject = line.payload.get(field)
            if isinstance(subject, Animal) and kind in ("", line.kind):
                yield subject


def _key(subject: Subject) -> str:
    return "animal" if isinstance(subject, Animal) else "lot"


def days(n: int) -> timedelta:
    """So many days."""
    return timedelta(days=n)


def first_day(line: Line) -> date:
    """The first day of a line's date."""
    return date.fromisoformat(line.occurred.partition("/")[0])
