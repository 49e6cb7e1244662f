"""Inside one cluster of overlapping ranges: what must have come before what. The only place that knows stays.

`before` is a partial order, built from stays and from days that belong to the event itself, never from
`counts_on`; so it has no cycle (engine rules 1 to 5, 10). Where the dates leave the *result* open, the
order is not guessed: the entry is named in `flags`.
"""

from __future__ import annotations

import itertools
from typing import NamedTuple

from ledger.acts import AWAY, BEFORE_ALL, DAY_RANK, HELD, PAPER, UNTOLD, Back, Enter, Entry, Level, Shift, Step
from ledger.state import State, is_held

FAR = 1 << 40


class Flag(NamedTuple):
    """A finding of the order: a code, the entry it names and the other entry concerned (roots; 0: none)."""

    code: str
    root: int
    other: int
    found: str


class Ordered(NamedTuple):
    """A cluster in the order of its certain days, `before` as bitmasks, what was flagged, what has no stay."""

    entries: list[Entry]
    before: list[int]
    flags: list[Flag]
    unplaced: set[int]
    soft: list[int]  # of `before`: departures that a finding does not bound, for it may have been made after them


def rank(entry: Entry) -> int:
    """Place in the order of one day."""
    return DAY_RANK[entry.act.step] if entry.act.rank == -1 else entry.act.rank


def key(entry: Entry) -> tuple[int, int, int]:
    """Order of certain days, then of the day, then of the log."""
    return (entry.last, rank(entry), entry.root)


def clear(a: Entry, b: Entry) -> bool:
    """Tell whether the dates settle which of two came first; of one single day, the order of the day does."""
    return a.last < b.first or b.last < a.first or a.first == a.last == b.first == b.last


def is_whole(entry: Entry) -> bool:
    """An act on all of a lot."""
    op = entry.act.op
    return not entry.act.individual and isinstance(op, Shift | Back) and op.amount is None


def order(cluster: list[Entry], state: State) -> Ordered:
    """Order one cluster that follows the clean cut at which `state` stood."""
    entries = sorted(cluster, key=key)
    opening = next((i for i, e in enumerate(entries) if e.act.step is Step.OPEN), None)
    if opening is None and not state.started:
        n = len(entries)
        flags = [Flag("not-there", e.root, 0, "it has not arrived yet") for e in entries]
        return Ordered(entries, [0] * n, flags, set(range(n)), [0] * n)
    if entries[opening if opening is not None else 0].act.individual:
        return _Stays(entries, opening, state).ordered()
    return _lot(entries, opening, state)


# --- lots: part acts only add and subtract ------------------------------------------------------


def _lot(entries: list[Entry], opening: int | None, state: State) -> Ordered:
    n = len(entries)
    sexed = any(c.sex != "unknown" for c in state.cells) or any(_brings_sex(e) for e in entries)
    before = [0] * n
    flags: list[Flag] = []
    for i in range(n):
        if opening is not None and i != opening:
            before[i] |= 1 << opening
        for j in range(i):
            a, b = entries[j], entries[i]
            if a.root == b.root:
                before[i] |= 1 << j  # two acts of one event keep the order it states
            if opening in (i, j):
                continue
            if _order_matters(a, b, sexed=sexed) and not clear(a, b):
                flags.append(
                    Flag("order-assumed", b.root, a.root, "its days overlap those of an entry on the same lot")
                )
            flags += _straddles(a, b)
    return Ordered(entries, before, flags, set(), [0] * n)


def _order_matters(a: Entry, b: Entry, *, sexed: bool) -> bool:
    """Acts on all of a lot; untold numbers where sexes are known, for what they take depends on what stands.

    All else commutes; a count bounds its own day (`straddles-a-count`).
    """
    if a.root == b.root:
        return False
    if is_whole(a) or is_whole(b):
        return True
    if not sexed or Step.COUNT in (a.act.step, b.act.step):
        return False
    return (_untold(a) or _untold(b)) and bool(_places(a) & _places(b))


def _brings_sex(entry: Entry) -> bool:
    """Tell whether an act puts animals of a known sex into the lot."""
    op = entry.act.op
    if isinstance(op, Enter | Level):
        return any(sex not in ("unknown", UNTOLD) for sex, _ in op.amount)
    return isinstance(op, Shift) and dict(op.sets).get("sex", "unknown") != "unknown"


def _untold(entry: Entry) -> bool:
    op = entry.act.op
    return isinstance(op, Shift | Back) and op.amount is not None and UNTOLD in dict(op.amount)


def _straddles(a: Entry, b: Entry) -> list[Flag]:
    out = []
    for count, other in ((a, b), (b, a)):
        level = count.act.op
        if not isinstance(level, Level) or other.act.step is Step.COUNT or is_whole(other):
            continue
        end = count.last - (count.act.rank == BEFORE_ALL)
        if other.first <= end < other.last and level.place in _places(other):
            out.append(Flag("straddles-a-count", other.root, count.root, "it may have been before or after the count"))
    return out


def _places(entry: Entry) -> set[str]:
    op = entry.act.op
    if isinstance(op, Enter):
        return {op.target[0]}
    if isinstance(op, Back):
        return {op.at, op.place}
    if isinstance(op, Shift):
        return {op.at, dict(op.sets).get("place", op.at)}
    return {op.place}


# --- one animal: stays --------------------------------------------------------------------------


class _Stays:
    """Departures and returns take turns and cut the cluster into segments; everything else falls into one."""

    def __init__(self, entries: list[Entry], opening: int | None, state: State) -> None:
        self.entries, self.opening = entries, opening
        self.before = [0] * len(entries)
        self.soft = [0] * len(entries)
        self.flags: list[Flag] = []
        self.unplaced: set[int] = set()
        held = any(is_held(c) for c in state.cells)
        self.holder = next((c.holder for c in state.cells if is_held(c)), "")  # at the cut
        self.start = (True, True) if opening is not None else (held, bool(state.cells))
        self.chain = self._chain()
        self.held, self.alive, self.stay = self._segments()

    def ordered(self) -> Ordered:
        if self.opening is not None:
            for i in range(len(self.entries)):
                if i != self.opening:
                    self.before[i] |= 1 << self.opening
        for a, b in zip(self.chain, self.chain[1:], strict=False):
            if a is not None and b is not None:
                self.before[b] |= 1 << a
                if a != self.opening and not clear(self.entries[a], self.entries[b]):
                    self._flag("order-assumed", b, a, "its days overlap those of another coming or going")
        placed = self._place()
        self._axes(placed)
        for i, e in enumerate(self.entries):
            for j in range(i):
                if self.entries[j].root == e.root:
                    self.before[i] |= 1 << j
                    self.soft[i] &= ~(1 << j)
        return Ordered(self.entries, self.before, self.flags, self.unplaced, self.soft)

    def _flag(self, code: str, i: int, other: int | None, found: str) -> None:
        self.flags.append(Flag(code, self.entries[i].root, self.entries[other].root if other is not None else 0, found))

    def _chain(self) -> list[int | None]:
        es = self.entries
        bars = [i for i, e in enumerate(es) if i != self.opening and e.act.step in (Step.COME, Step.LEAVE, Step.END)]
        leaves = [i for i in bars if es[i].act.step is Step.LEAVE]
        comes = [i for i in bars if es[i].act.step is Step.COME]
        turn_to_leave = self.start[0]
        middle = []
        while leaves or comes:
            middle.append(leaves.pop(0) if (turn_to_leave and leaves) or not comes else comes.pop(0))
            while leaves and es[leaves[0]].root == es[middle[-1]].root:  # into transit, and on from there
                middle.append(leaves.pop(0))
            turn_to_leave = not turn_to_leave
        ends = [i for i in bars if es[i].act.step is Step.END]
        return [self.opening, *middle, *ends]  # an opening of None: the state at the cut

    def _segments(self) -> tuple[list[bool], list[bool], list[int]]:
        held, alive = self.start
        stay = 0
        helds, alives, stays = [held], [alive], [0]
        for k in self.chain[1:]:
            assert k is not None
            act = self.entries[k].act
            if act.step is Step.COME:
                stay += not alive
                held = alive = True
            else:
                held, alive = False, not act.gone and act.step is not Step.END
            helds.append(held)
            alives.append(alive)
            stays.append(stay)
        return helds, alives, stays

    def _bounds(self) -> tuple[list[int], list[int]]:
        """For each link of the chain: the latest first day up to it, the earliest last day from it on."""
        lo, hi = [], []
        far = -FAR
        for k in self.chain:
            far = far if k is None else max(far, self.entries[k].first)
            lo.append(far)
        far = FAR
        for k in reversed(self.chain):
            far = far if k is None else min(far, self.entries[k].last)
            hi.append(far)
        return lo, hi[::-1]

    def _place(self) -> dict[int, int]:
        """Give each act that is no coming or going its segment; the latest it reaches."""
        lo, hi = self._bounds()
        links = len(self.chain)
        placed: dict[int, int] = {}
        for i, e in enumerate(self.entries):
            if i in self.chain:
                continue
            needs = e.act.needs
            reach = [k for k in range(links) if lo[k] <= e.last and (k + 1 == links or e.first <= hi[k + 1])]
            fits = [k for k in reach if self._fits(needs, k)]
            if not fits:
                self.unplaced.add(i)
                self._flag("not-there", i, self.chain[reach[-1]] if reach else None, self._why(needs, reach))
                continue
            custody = needs in (HELD, AWAY, PAPER)
            settled = self._settled(e, fits)
            k = placed[i] = fits[-1] if settled is None else settled
            if settled is None and ((custody and len(fits) > 1) or len({self.stay[j] for j in fits}) > 1):
                self._flag("which-stay", i, self.chain[k], "its days reach two stays")
            first, stop = k, k + 1
            if not custody:  # may have happened anywhere in its stay, at home or away
                first = next(j for j in range(links) if self.stay[j] == self.stay[k])
                stop = next((j for j in range(k + 1, links) if not self.alive[j]), links)
            opener = self.chain[first]
            if opener is not None:
                self.before[i] |= 1 << opener
            if stop < links:
                closer = self.chain[stop]
                assert closer is not None
                self.before[closer] |= 1 << i
                if e.act.finding:
                    self.soft[closer] |= 1 << i
        return placed

    def _settled(self, entry: Entry, fits: list[int]) -> int | None:
        """The segment that the order of one day gives an entry, where all of it was on that day; None where not."""
        links = [self.chain[k] for k in range(fits[0] + 1, fits[-1] + 1)]
        day = entry.first
        if not links or entry.last != day:
            return None
        bars = [self.entries[k] for k in links if k is not None]
        if any(not bar.first == bar.last == day for bar in bars):
            return None
        place = _log if self._as_logged(day) else key
        return max(k for k in fits if k == fits[0] or place(bars[k - fits[0] - 1]) <= place(entry))

    def _as_logged(self, day: int) -> bool:
        """Tell whether by the order of the day a house would pass on what it does not hold, and by the log's not."""
        group = [e for e in self.entries if e.first == e.last == day]
        if not any(e.act.held_by and e.act.step is Step.CHANGE for e in group):
            return False
        links = [self.entries[k] for k in self.chain if k is not None and self.entries[k] in group]
        in_turn = iter(links)
        logged = [next(in_turn) if e in links else e for e in sorted(group, key=_log)]
        return not self._in_custody(group) and self._in_custody(logged)

    def _in_custody(self, group: list[Entry]) -> bool:
        """Tell whether all of one day, in that order, find the animal with the house that they take it from."""
        holder = self.holder
        for e in self.entries:
            if e.last < group[0].first:
                holder = _holder_after(e, holder)
        for e in group:
            if (e.act.needs == HELD and not holder) or e.act.held_by not in ("", holder):
                return False
            if e.act.needs == AWAY and holder:
                return False
            holder = _holder_after(e, holder)
        return True

    def _fits(self, needs: str, k: int) -> bool:
        if needs == HELD:
            return self.held[k]
        if needs == AWAY:
            return not self.held[k] and self.alive[k]
        return self.alive[k]

    def _why(self, needs: str, reach: list[int]) -> str:
        if not reach or not self.alive[reach[-1]]:
            return "it has left the book by then"
        return "it is away or lost on those days" if needs == HELD else "it is in the house on those days"

    def _axes(self, placed: dict[int, int]) -> None:
        """Changes of one thing keep the order of their certain days; overlapping ranges are flagged (rule 1)."""
        es = self.entries
        for axis in "pstog":
            # a transfer's terms are held against the title, so the two are ordered as custody is (rule 14)
            run = [
                i
                for i in placed
                if axis in es[i].act.axes or "*" in es[i].act.axes or (axis == "o" and es[i].act.title)
            ]
            run.sort(key=lambda i: (self.stay[placed[i]], placed[i] if axis == "p" else 0, key(es[i])))
            for a, b in itertools.pairwise(run):
                self.before[b] |= 1 << a
                if not clear(es[a], es[b]):
                    self._flag("order-assumed", b, a, "its days overlap those of another change of the same thing")


def _log(entry: Entry) -> tuple[int, int, int]:
    """Order of the log."""
    return (entry.root, 0, 0)


def _holder_after(entry: Entry, holder: str) -> str:
    """The house that holds one animal after an act; "" where none does."""
    op = entry.act.op
    if isinstance(op, Enter):
        return op.target[1] if op.target[0][:2] == "e-" else ""
    if isinstance(op, Back):
        return op.holder
    sets = dict(op.sets) if isinstance(op, Shift) else {}
    place = sets.get("place", "e-" if holder else "")
    return sets.get("holder", holder) if place[:2] == "e-" else ""


# --- certain and possible days --------------------------------------------------------------------


def bounds(ordered: Ordered) -> tuple[list[int], list[int], list[int]]:
    """Latest first day among itself and all before it; earliest last day among itself and all after it; the story.

    The story is told in the order of counts_on, then `before`, then rank in the day, last day, root.
    """
    entries, before, soft = ordered.entries, ordered.before, ordered.soft
    n = len(entries)
    lo = [e.first for e in entries]
    hi = [e.last for e in entries]
    topological = _linear(before, list(range(n)))
    for i in topological:
        for j in range(n):
            if (before[i] & ~soft[i]) >> j & 1 and lo[j] > lo[i]:
                lo[i] = lo[j]
    for i in range(n):  # found after the end, it counts on the last day of the stay
        for j in range(n):
            if soft[i] >> j & 1:
                lo[j] = min(lo[j], lo[i])
    for i in reversed(topological):
        for j in range(n):
            if before[i] >> j & 1 and hi[i] < hi[j]:
                hi[j] = hi[i]
    wished = sorted(range(n), key=lambda i: (hi[i], rank(entries[i]), entries[i].last, entries[i].root))
    return lo, hi, _linear(before, wished)


def _linear(before: list[int], wished: list[int]) -> list[int]:
    """The wished order, bent as little as `before` asks."""
    done = 0
    left = list(wished)
    out = []
    while left:
        i = next((i for i in left if not before[i] & ~done), left[0])
        out.append(i)
        done |= 1 << i
        left.remove(i)
    return out
