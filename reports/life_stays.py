"""Where the animals of one number stood: places, holders, owners, standings, sexes, taxa as spells; a lot's balances.

Definition. All from the journal lines of the subject that count by the day, as known. Its animals are those in an
enclosure, on the way, escaped or missing, or with an outside party while a member house owns them; what a member
neither holds nor owns is followed no further. A spell begins on the day the number of its animals with a property
(a place, an owner) rises from none, and ends on the day it falls to none; `days` are the closes of days between, so
the days of an animal's places sum to its days in the book. The balance of a lot counts neither escaped nor missing.

Columns of `balances` (`BALANCES`): `day`, `day_possible` (of a difference found by a count, the first day it can have
arisen), `event`, `what` (kind of the entry), `change` (animals, signed), `m`, `f`, `h`, `u`, `total` (after it),
`places` (words), `counted` (animals found by a count of all or of one place; null: no count), `difference` (posted by
that count, signed), `unexplained` (the part of it that is *unaccounted*). Rows of one day in the order of entry.

Source: derived from the cells of the journal (design §1 and §5); common practice, no source.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import date
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.read import Names, Written
from ledger.words import IN_TRANSIT, LETTER_OF, LOST
from reports.common import UNDERWAY
from reports.life_lines import Line, Step, Telling, closes, joined, plain

BALANCES: Final[Mapping[str, Any]] = {
    **dict.fromkeys(("day", "day_possible"), pl.Date),
    "event": pl.Int64,
    "what": pl.String,
    **dict.fromkeys(("change", "m", "f", "h", "u", "total"), pl.Int64),
    "places": pl.String,
    **dict.fromkeys(("counted", "difference", "unexplained"), pl.Int64),
}
_CAME: Final = {"re_housed": "moved in", "passed_in": "from another number", "transfer_in": "by transfer"}
_WENT: Final = {"re_housed": "moved", "passed_out": "to another number", "transfer_out": "by transfer"}


class Span(NamedTuple):
    """Days on which some animals had a property; `until` None: they have it by the day. Numbers at both ends."""

    value: str
    since: date
    since_possible: date
    until: date | None
    until_possible: date | None
    first: int
    last: int
    came: tuple[int, ...]
    went: tuple[int, ...]
    why: str
    why_ended: str


def spans(steps: Iterable[Step], value: Callable[[Step], str]) -> list[Span]:
    """Spells of every value of a property, in order; `value` gives "" for legs that have none."""
    by_value: dict[str, dict[date, list[Step]]] = defaultdict(lambda: defaultdict(list))
    for step in steps:
        if word := value(step):
            by_value[word][step.day].append(step)
    out = [span for word, days in by_value.items() for span in _of_value(word, days)]
    return sorted(out, key=lambda span: (span.since, span.came, span.value))


def _of_value(word: str, days: Mapping[date, list[Step]]) -> Iterator[Span]:
    n, begun = 0, None
    for day in sorted(days):
        legs = _net(days[day])
        after = n + sum(leg.delta for leg in legs)
        events = tuple(sorted({leg.effect for leg in legs}))
        possible = min((leg.possible for leg in legs), default=day)
        why = legs[-1].reason if legs else ""
        if begun is None and after > 0:
            begun = Span(word, day, possible, None, None, after, after, events, (), why, "")
        elif begun is not None and after <= 0:
            yield begun._replace(until=day, until_possible=possible, last=n, went=events, why_ended=why)
            begun = None
        n = after
    if begun is not None:
        yield begun._replace(last=n)


def _net(legs: list[Step]) -> list[Step]:
    """Legs of one day, those of an entry that leaves the number as it was dropped."""
    sums: Counter[int] = Counter()
    for leg in legs:
        sums[leg.effect] += leg.delta
    return [leg for leg in legs if sums[leg.effect]]


def presence(steps: Iterable[Step]) -> list[Span]:
    """Spells in the houses of the book, an escape or a loss between included."""
    return spans(steps, lambda s: "here" if s.place.startswith("e-") or s.place in (IN_TRANSIT, *LOST) else "")


# --- lines -----------------------------------------------------------------------------------------


def stays(told: Telling) -> Iterator[Line]:
    """Lines of places, holders, owners, standings, and for an animal of its sexes and taxa."""
    steps = [s for s in told.steps if s.inside]
    places = _places(told.names)
    for span in spans(steps, lambda s: s.place):
        what, about = places(span.value)
        yield _line(told, "place", span, what, joined(about, _ways(span)))
    for span in spans(steps, lambda s: "" if s.place in LOST else s.holder):
        yield _line(told, "holder", span, told.called(span.value), _terms(told, span))
    for span in spans(steps, lambda s: s.owner):
        yield _line(told, "owner", span, told.called(span.value), _terms(told, span))
    for span in spans(steps, lambda s: s.standing):
        yield _line(told, "standing", span, plain(span.value), _terms(told, span, "standing_change"))
    for span in spans(steps, lambda s: s.taxon):
        yield _line(told, "taxon", span, told.called(span.value), _terms(told, span, "redetermination"))
    if told.subject.startswith("a-"):
        for span in spans(steps, lambda s: s.sex):
            yield _line(told, "sex", span, span.value, _terms(told, span, "sexing", "sex_change"))


def _line(told: Telling, topic: str, span: Span, what: str, about: str) -> Line:
    ref = span.value if span.value[1:2] == "-" else ""
    days = closes(span.since, span.until, told.on)
    since, possible, until, until_possible = span[1:5]
    return Line(
        *(topic, since, possible, until, until_possible, days, what, about, ref, ""),
        tuple(dict.fromkeys((*span.came, *span.went))),
    )


def _ways(span: Span) -> str:
    """Of several animals how many; and how they came and went."""
    many = f"{span.first} to {span.last}" if span.first != span.last else f"{span.first}" * (span.first > 1)
    came = _CAME.get(span.why, plain(span.why))
    went = _WENT.get(span.why_ended, plain(span.why_ended))
    return joined(many, f"{came}; {went}" if went else came)


def _terms(told: Telling, span: Span, *kinds: str) -> str:
    """What the entry that began a spell says of it, where it is of one of these kinds; else of a transfer or title."""
    wanted = kinds or ("transfer", "title_change")
    said = []
    for event in (told.entries.get(root) for root in span.came):
        if event is None or event.kind not in wanted:
            continue
        if event.kind == "transfer":
            party = told.words(event.payload["from"])
            said.append(joined(f"{plain(event.payload['terms'])} from {party}", _papers(told, event)))
        else:
            said.append(joined(plain(event.kind), told.said(event, "owner", "to", "standing", "taxon", "stage")))
    return "; ".join(said)


def _papers(told: Telling, event: Written) -> str:
    payload = event.payload
    named = [("permits", "permit "), ("agreement", "agreement ")]
    return joined(*(f"{lead}{told.words(payload[key])}" for key, lead in named if payload.get(key)))


def _places(names: Names) -> Callable[[str], tuple[str, str]]:
    """How a place is called: its code and name; its section and purpose in words."""
    rows = {row["place"]: row for row in names.enclosures.to_dicts()}

    def called(place: str) -> tuple[str, str]:
        row = rows.get(place)
        if row is None:
            return (UNDERWAY if place == IN_TRANSIT else names.label(place), "outside" * place.startswith("o-"))
        named = f"{row['code']} {row['name']}" if row["name"] != row["code"] else str(row["code"])
        return named, joined(row["section"], plain(row["purpose"]))

    return called


# --- balances --------------------------------------------------------------------------------------


def balances(told: Telling) -> pl.DataFrame:
    """How many of a lot there were after every entry that says so, with its counts; columns as above."""
    steps = [s for s in told.steps if s.here]
    counts = {r: e for r, e in told.entries.items() if e.kind == "count" and e.payload["lot"]["id"] == told.subject}
    posted: dict[tuple[date, int], list[Step]] = defaultdict(list)
    for step in steps:
        posted[step.day, step.effect].append(step)
    for root, event in counts.items():
        if not any(effect == root for _, effect in posted):
            posted[event.last, root] = []
    cells: Counter[tuple[str, str]] = Counter()
    rows = []
    for day, effect in sorted(posted):
        legs = posted[day, effect]
        for leg in legs:
            cells[leg.sex, leg.place] += leg.delta
        entry = told.entries.get(effect)
        sexes: Counter[str] = Counter()
        for (sex, _), n in cells.items():
            sexes[LETTER_OF[sex]] += n
        found = [leg for leg in legs if leg.reason.startswith("count_")]
        rows.append(
            {
                "day": day,
                "day_possible": min((leg.possible for leg in legs), default=day),
                "event": effect,
                "what": plain(entry.kind) if entry else "",
                "change": sum(leg.delta for leg in legs),
                **{letter: sexes[letter] for letter in "mfhu"},
                "total": sum(sexes.values()),
                "places": _spread(cells, lambda place: _code(told.names, place)),
                "counted": _found(counts[effect]) if effect in counts else None,
                "difference": sum(leg.delta for leg in found),
                "unexplained": sum(leg.delta for leg in found if leg.reason == "count_unaccounted"),
            }
        )
    return pl.DataFrame(rows, schema=BALANCES)


def _code(names: Names, place: str) -> str:
    thing = names.thing(place)
    return thing.code if thing else plain(place)


def _spread(cells: Counter[tuple[str, str]], called: Callable[[str], str]) -> str:
    """`T3 20, H1 5`."""
    places: Counter[str] = Counter()
    for (_, place), n in cells.items():
        places[place] += n
    return ", ".join(f"{called(place)} {n:,}" for place, n in places.items() if n)


def _found(event: Written) -> int | None:
    """How many a count found, or was taken as."""
    told = event.payload.get("taken_as") or event.payload.get("how_many")
    return sum(told.values()) if isinstance(told, dict) else None
