"""Broods as a report sees them on a day: start, parents with weights, carers as spells, ledger of the eggs, the end.

**Ledger** (D10): eggs + received = hatched + stillborn + infertile + unhatched + lost + sent + in care + not accounted.
`eggs` is how many were laid: the most that any entry proves, its count and all that had gone by then. It is exact
where that entry says so and the brood was not first found after its start; else it is the least. *In care* is what is
left while the brood is open; once it is over, what is left is *not accounted* for: below zero more came of it than was
counted. A brood whose eggs were not counted has no ledger.

**Over** (D16): the day its figures balance, its brood end, or the birth out of a pouch, mouth, body or womb, whether or
not anybody closed it. A carrier that died with nothing recorded of the brood in the 7 days after: *carrier lost,
outcome not recorded*; one that left the book: *left with carrier*. Open past the published range and half of it again:
*overdue*. A nest with young whose eggs do not balance is *hatched, not closed*, and still open.

**Carers** (D19) are spells and never parents: who carries or tends, from when to when, what ended it. A spell is cut at
the carer's departure (D35).

**Young without a brood** (D34): one implied brood per dam, sire, taxon and day, not seen as eggs. Young of several
broods that are not told apart stand in a row of their own, in no single brood. Sources: derived; D16 practice.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from fractions import Fraction
from functools import cached_property
from typing import Final

from ledger.read import AsOf, Copy, Names
from reports.carers import CARRIED, Care
from reports.clutch_entries import Entries, Pair, fact, read
from reports.young import Span, Young, states, young

FACT_OF: Final = {
    **dict.fromkeys(("pouch", "tail", "mouth", "body"), "carrying_days"),
    **dict.fromkeys(("nest", "substrate", "incubator"), "incubation_days"),
    "womb": "gestation_days",
}
SILENT: Final = 7  # days after a carrier's death by which something of the brood would have been recorded; practice
OPEN, ENDED, HATCHED = "open", "ended", "hatched, not closed"
LOST, LEFT, OVERDUE = "carrier lost, outcome not recorded", "left with carrier", "overdue"
SENT: Final = "sent away"
SHARED: Final = "young of several broods"


@dataclass(frozen=True)
class Range:
    """Published days of carrying or incubation, with condition and source as the register has them."""

    low: float
    high: float
    condition: str
    source: str


@dataclass(frozen=True)
class Clutch:
    """One brood on a day; ids throughout, "" where nothing is known.

    `implied`: young without a brood; `shared`: of several broods together, their codes; `also`: codes of other broods
    that some of the young may be of. `entries`: what was told of it; `cares`: its carers' spells, in order.
    """

    id: str
    code: str
    taxon: str
    mode: str
    entries: Entries
    young: tuple[Young, ...]
    cares: tuple[Care, ...]
    range: Range | None
    on: date
    implied: bool = False
    shared: tuple[str, ...] = ()
    also: tuple[str, ...] = ()

    # --- who --------------------------------------------------------------------------------------

    @property
    def pairs(self) -> tuple[Pair, ...]:
        """Possible parents with weights; one of weight 1 where they are settled."""
        return self.entries.pairs

    @property
    def dam(self) -> str:
        """The one sure dam, also where the sire is not settled."""
        return _sure([p.dam for p in self.pairs], self._whole)

    @property
    def sire(self) -> str:
        """The one sure sire, also where the dam is not settled."""
        return _sure([p.sire for p in self.pairs], self._whole)

    @property
    def social_mate(self) -> str:
        """The mate of the one that laid, named with the brood; need not be the sire."""
        return self.entries.social_mate

    @property
    def _whole(self) -> bool:
        return sum((p.weight for p in self.pairs), Fraction()) == 1

    @property
    def carrier(self) -> str:
        """Who carries it now, or carried it last: the one carer, "" where there are several or none."""
        last = [c for c in self.cares if c.until is None] or [c for c in self.cares if c.until == self._last_until]
        return last[0].carer if len({c.carer for c in last}) == 1 else ""

    @property
    def _last_until(self) -> date | None:
        return max((c.until for c in self.cares if c.until is not None), default=None)

    # --- when -------------------------------------------------------------------------------------

    @property
    def start(self) -> date:
        """The last possible day of its start."""
        return self.entries.start[1]

    @property
    def start_first(self) -> date:
        """The first possible day of its start."""
        return self.entries.start[0]

    @cached_property
    def first_young(self) -> Span | None:
        """Possible days of the first young: as a check says, else of the first that entered the book."""
        if self.entries.first_young is not None:
            return self.entries.first_young
        born = [y.born for y in self.young]
        return (min(b[0] for b in born), min(b[1] for b in born)) if born else None

    @cached_property
    def last_young(self) -> Span | None:
        """Possible days of the last young."""
        if self.entries.last_young is not None:
            return self.entries.last_young
        born = [y.born for y in self.young]
        return (max(b[0] for b in born), max(b[1] for b in born)) if born else None

    # --- how many -----------------------------------------------------------------------------------

    @cached_property
    def states(self) -> dict[str, int]:
        """Live-born and the five states of its young, as `young.states` has them."""
        return states(self.young)

    @property
    def hatched(self) -> int:
        """Young born alive: in the book, or as larvae that had not entered it if more were counted."""
        return max(self.states["live"], self.entries.young_seen)

    @property
    def sent(self) -> int:
        """Eggs sent to somebody outside; all that were left, where no number is told."""
        told = self.entries.sent
        if not self.entries.sent_all or self.entries.eggs is None:
            return told
        return told + max(0, self.entries.eggs + self.entries.received - self._gone - told)

    @property
    def _gone(self) -> int:
        """What eggs came to, but for those sent away."""
        e = self.entries
        return self.hatched + e.stillborn + e.infertile + e.unhatched + sum(e.lost.values())

    @property
    def exact(self) -> bool:
        """Whether it is known how many eggs were laid."""
        return self.entries.eggs is not None and self.entries.exact and not self.entries.found_late

    @property
    def complete(self) -> bool:
        """Whether somebody said that no more were laid."""
        return self.entries.complete is not None

    @property
    def left(self) -> int | None:
        """Eggs that are neither hatched nor lost nor sent, by the count; None where they were not counted."""
        if self.entries.eggs is None:
            return None
        return self.entries.eggs + self.entries.received - self._gone - self.sent

    @property
    def in_care(self) -> int | None:
        """Eggs still in care; 0 once the brood is over; None where they were not counted."""
        left = self.left
        if left is None:
            return None
        return 0 if self.ended is not None else max(0, left)

    @property
    def not_accounted(self) -> int | None:
        """What closes the ledger; None where the eggs were not counted."""
        left, in_care = self.left, self.in_care
        return None if left is None or in_care is None else left - in_care

    # --- how it stands ------------------------------------------------------------------------------

    @cached_property
    def _end(self) -> tuple[date | None, str]:
        """The day it was over (None: it is not), and its state."""
        if self.implied or self.shared:
            return self.last_young[1] if self.last_young else None, ENDED if self.implied else SHARED
        e, last = self.entries, self.last_young
        if e.end is not None:
            return e.end, ENDED
        if last is not None and self.mode in CARRIED:
            return last[1], ENDED
        sent = e.sent_all or (e.eggs is not None and e.sent and self._gone == 0 and self.left == 0)
        if sent and last is None:
            return e.sent_on, SENT
        if self.left is not None and self.left <= 0 and e.exact and self._gone + self.sent:
            return max([e.last_day, *([last[1]] if last else [])]), ENDED
        return self._carrier_gone() or (None, self._waiting())

    def _carrier_gone(self) -> tuple[date | None, str] | None:
        if self.mode not in CARRIED or not self.cares or any(c.until is None for c in self.cares):
            return None
        last = max(self.cares, key=lambda c: c.until or date.min)
        assert last.until is not None
        if last.why == "died":
            heard = any(last.until <= day <= last.until + timedelta(days=SILENT) for day in self.entries.days)
            silent = not heard and self.on >= last.until + timedelta(days=SILENT)
            return (last.until, LOST) if silent else None
        return (last.until, LEFT) if last.why == "left" else None

    def _waiting(self) -> str:
        if self.first_young is not None:
            return HATCHED
        late = self.range is not None and (self.on - self.start).days > self.range.high * 1.5
        return OVERDUE if late else OPEN

    @property
    def ended(self) -> date | None:
        """The day it was over (D16); None while it is not. A brood that left with its carrier is over for this book."""
        return self._end[0]

    @property
    def state(self) -> str:
        """How it stands: one of the words of this module, `OPEN` to `SHARED`."""
        return self._end[1]


def _sure(named: Sequence[str], whole: bool) -> str:
    """The one that all pairs name, where the pairs are all there are."""
    return named[0] if whole and len(set(named)) == 1 else ""


def clutches(copy: Copy, names: Names, asof: AsOf, parts: Sequence[Young] | None = None) -> list[Clutch]:
    """All broods begun by the close of `asof.on`, as known, by start; implied and shared ones among them.

    `parts`: `young(copy, names, asof)` where the caller has it already.
    """
    born = young(copy, names, asof) if parts is None else parts
    told = read(copy, names, asof, born)
    codes = {brood: t.code for brood, t in told.items()}
    of: dict[tuple[str, ...], list[Young]] = defaultdict(list)
    alone: dict[tuple[str, str, str, Span], list[Young]] = defaultdict(list)
    for one in born:
        known = tuple(sorted(b for b in one.broods if b in told))
        if known:
            of[known].append(one)
        else:
            alone[one.dam, one.sire, one.taxon, one.born].append(one)
    also: dict[str, set[str]] = defaultdict(set)
    for several in (k for k in of if len(k) > 1):
        for brood in several:
            also[brood] |= {codes[other] for other in several if other != brood}
    out = [
        Clutch(
            brood, e.code, e.taxon, e.mode, e, tuple(of.get((brood,), ())), e.cares,
            range_of(names, copy, e.taxon, e.mode, e.start[1]), asof.on, also=tuple(sorted(also[brood])),
        )
        for brood, e in told.items()
    ]  # fmt: skip
    out += [_implied(tuple(ones), asof.on) for ones in alone.values()]
    out += [
        _shared(tuple(codes[brood] for brood in k), told[k[0]], tuple(v), asof.on) for k, v in of.items() if len(k) > 1
    ]
    return sorted(out, key=lambda c: (c.start, c.code))


def _implied(ones: tuple[Young, ...], on: date) -> Clutch:
    """Young that name no brood, of one dam, sire, taxon and day."""
    first = min(ones, key=lambda y: y.event)
    entries = Entries.of_young(f"#{first.event}", first)
    return Clutch("", entries.code, first.taxon, "", entries, ones, (), None, on, implied=True)


def _shared(codes: tuple[str, ...], one: Entries, ones: tuple[Young, ...], on: date) -> Clutch:
    """Young of several broods, not told apart."""
    first = min(ones, key=lambda y: y.event)
    entries = Entries.of_young(" + ".join(sorted(codes)), first)
    return Clutch("", entries.code, one.taxon, one.mode, entries, ones, (), None, on, shared=tuple(sorted(codes)))


def range_of(names: Names, copy: Copy, taxon: str, mode: str, day: date) -> Range | None:
    """The published range of a taxon's days of carrying, incubation or gestation that is in force on a day."""
    found = fact(names, copy, taxon, FACT_OF.get(mode, ""), day)
    return None if found is None else Range(*found)
