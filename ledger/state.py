"""Where one subject's animals are, and what an operation does to that. The only place that knows operations.

`apply` is total: it answers with flows (from cell, to cell, how many) or with a `Problem`, and a problem
changes nothing. It reads one subject and nothing else.
"""

from __future__ import annotations

from itertools import product
from typing import NamedTuple

from ledger.acts import (
    AWAY,
    HELD,
    LIVE,
    LOST,
    PAPER,
    SEEN,
    TRANSIT,
    UNTOLD,
    Act,
    Amount,
    Back,
    Cell,
    Enter,
    Level,
    Shift,
    Step,
)
from ledger.words import IN_TRANSIT, REDETERMINED, SEXES, SINKS, SOURCES
from ledger.words import LOST as LOST_PLACES


class Flow(NamedTuple):
    """So many animals from one cell to another; `reason` where it is not the act's own."""

    source: Cell
    target: Cell
    n: int
    reason: str = ""


class Problem(NamedTuple):
    """Why an act cannot be: a code of `findings`, and what was found, as the end of a sentence."""

    code: str
    found: str


def is_held(cell: Cell) -> bool:
    """In an enclosure of a member house."""
    return cell.place[:2] == "e-"


def is_away(cell: Cell) -> bool:
    """With an outside party, a member house owning it."""
    return cell.place[:2] == "o-" and cell.owner[:2] == "h-"


def is_lost(cell: Cell) -> bool:
    """Escaped or missing: followed, counted in neither basis."""
    return cell.place in LOST_PLACES


def is_on_the_way(cell: Cell) -> bool:
    """Between two holders: still the sender's to answer for."""
    return cell.place == IN_TRANSIT


def is_live(cell: Cell) -> bool:
    """Still in the book."""
    return is_held(cell) or is_away(cell) or is_lost(cell) or is_on_the_way(cell)


_WHERE = {
    HELD: is_held,
    AWAY: is_away,
    LOST: is_lost,
    TRANSIT: is_on_the_way,
    SEEN: lambda cell: is_held(cell) or is_away(cell) or is_on_the_way(cell),
    LIVE: is_live,
    PAPER: is_live,
}


class State:
    """Cells with animals; for each place the last cell that stood there (what a count of an emptied place means).

    `last` is the last live cell, `went` the place the last departure from the book led to.
    """

    __slots__ = ("cells", "frames", "last", "started", "went")

    def __init__(self) -> None:
        self.cells: dict[Cell, int] = {}
        self.frames: dict[str, Cell] = {}
        self.last: Cell | None = None
        self.started = False
        self.went = ""

    def copy(self) -> State:
        """An independent copy."""
        other = State()
        other.cells = dict(self.cells)
        other.frames = dict(self.frames)
        other.last, other.started, other.went = self.last, self.started, self.went
        return other

    def put(self, cell: Cell, n: int) -> None:
        """Add `n` (may be negative) animals to a live cell."""
        total = self.cells.get(cell, 0) + n
        if total:
            self.cells[cell] = total
        else:
            self.cells.pop(cell, None)

    def key(self) -> tuple[tuple[Cell, int], ...]:
        """A value by which two states can be compared."""
        return tuple(sorted(self.cells.items()))

    def post(self, flows: list[Flow]) -> None:
        """Let flows happen."""
        for a, b, n, _ in flows:
            if is_live(a):
                self.put(a, -n)
            if is_live(b):
                self.put(b, n)
                self.last = b
                if is_held(b):
                    self.frames[b.place] = b
            elif is_live(a):
                self.went = b.place


def apply(state: State, act: Act) -> list[Flow] | Problem:
    """Apply one act: its flows, or why it cannot be."""
    op = act.op
    if isinstance(op, Enter):
        got = _enter(state, act, op)
    elif not state.started:
        got = Problem("not-there", "it has not arrived yet")
    elif isinstance(op, Level):
        got = _level(state, op)
    elif isinstance(op, Back):
        got = _back(state, act, op)
    else:
        got = _shift(state, act, op)
    if isinstance(got, Problem):
        return got
    state.post(got)
    if act.step is Step.OPEN:
        state.started = True
    return got


def _enter(state: State, act: Act, op: Enter) -> list[Flow] | Problem:
    if act.step is Step.OPEN and state.started:
        return Problem("second-arrival", "it has arrived before")
    if act.step is not Step.OPEN and not state.started:
        return Problem("not-there", "the lot has not begun yet")
    if not op.amount:
        return Problem("no-number", "nobody arrives")
    if act.individual and sum(n for _, n in op.amount) != 1:
        return Problem("not-one", f"{sum(n for _, n in op.amount)} under one animal's number")
    if act.step is not Step.OPEN:
        now = next(iter(state.cells), state.last)
        if now is not None and now.taxon != op.taxon:
            return Problem("other-taxon", "the lot is of another taxon on that day")
    place, holder, owner = op.source
    standing = op.target[3]
    return [
        Flow(
            Cell(op.taxon, sex or "unknown", place, holder, owner, standing),
            Cell(op.taxon, sex or "unknown", *op.target),
            n,
        )
        for sex, n in op.amount
    ]


def _level(state: State, op: Level) -> list[Flow] | Problem:
    there = [c for c in state.cells if c.place == op.place and (not op.owned_by or c.owner == op.owned_by)]
    kinds = {c._replace(sex="") for c in there}
    if len(kinds) > 1:
        return Problem("which-owner", "animals of several owners or standings stand there")
    frame = next(iter(kinds), None) or state.frames.get(op.place)
    if frame is None:
        return Problem("not-there", "none of the lot ever stood there")
    if op.owned_by and frame.owner != op.owned_by:
        return Problem("not-there", "none of that owner's animals stood there")
    if UNTOLD in dict(op.amount):
        return _level_total(state, frame, op)
    return _level_by_sex(state, frame, op)


def _level_total(state: State, frame: Cell, op: Level) -> list[Flow]:
    """A total whose sexes were not told: a loss from unknown first, what is found is unknown."""
    cells = [c for c in state.cells if c._replace(sex="") == frame._replace(sex="")]
    more = dict(op.amount)[UNTOLD] - sum(state.cells[c] for c in cells)
    unknown = frame._replace(sex="unknown")
    if more >= 0:
        return [_found(unknown, more, op)] if more else []
    flows, taken = _untold(state, cells, -more)
    return flows + [_lost(c, n, op) for c, n in taken]


def _level_by_sex(state: State, frame: Cell, op: Level) -> list[Flow]:
    """A count by sex: what rises in one sex and falls in another is re-sexed, from unknown first; the rest differs."""
    want = dict(op.amount)
    change = {sex: want.get(sex, 0) - state.cells.get(frame._replace(sex=sex), 0) for sex in SEXES}
    falls = {sex: -n for sex, n in sorted(change.items(), key=lambda x: x[0] != "unknown") if n < 0}
    rises = {sex: n for sex, n in change.items() if n > 0}
    flows: list[Flow] = []
    for to, sex in product(rises, falls):
        n = min(falls[sex], rises[to])
        if n:
            flows.append(Flow(frame._replace(sex=sex), frame._replace(sex=to), n, "re_sexed"))
            falls[sex] -= n
            rises[to] -= n
    for sex, n in rises.items():
        if n:
            flows.append(_found(frame._replace(sex=sex), n, op))
    for sex, n in falls.items():
        if n:
            flows.append(_lost(frame._replace(sex=sex), n, op))
    return flows


UNACCOUNTED = "unaccounted"


def _lost(cell: Cell, n: int, op: Level) -> Flow:
    """Nobody can be fewer by young not seen: that is unaccounted."""
    account, reason = (UNACCOUNTED, "count_unaccounted") if op.account in SOURCES else (op.account, "")
    return Flow(cell, Cell(cell.taxon, cell.sex, account, "", "", cell.standing), n, reason)


def _found(cell: Cell, n: int, op: Level) -> Flow:
    """Nobody can be more by deaths not seen: that is unaccounted."""
    account, reason = (UNACCOUNTED, "count_unaccounted") if op.account == "dead" else (op.account, "")
    return Flow(Cell(cell.taxon, cell.sex, account, "", "", cell.standing), cell, n, reason)


def _back(state: State, act: Act, op: Back) -> list[Flow] | Problem:
    there = _there(state, op.where, op.at, "")
    sets = {"place": op.place, "holder": op.holder}
    if op.owner:
        sets["owner"] = op.owner
    if op.standing:
        sets["standing"] = op.standing
    if there:
        taken = _take(state, there, op.amount, act)
        if isinstance(taken, Problem):
            return taken
        return _title(act, taken[1]) or [*taken[0], *(Flow(c, c._replace(**sets), n) for c, n in taken[1])]
    if state.cells:
        return Problem("already-there", "it is not away") if act.individual else Problem("not-there", "none are away")
    if op.where == LOST or not op.owner or state.last is None or state.went[:2] != "o-":
        return Problem("not-there", "it is not in the book on that day")
    # sold, and back again: it comes from outside, as what it was when it was last seen
    was = state.last
    giver = op.at if op.owner[:2] == "h-" else op.owner
    standing = op.standing or "collection"
    source = Cell(was.taxon, was.sex, op.at, op.at, giver, standing)
    return [Flow(source, Cell(was.taxon, was.sex, op.place, op.holder, op.owner, standing), 1)]


def _shift(state: State, act: Act, op: Shift) -> list[Flow] | Problem:
    there = _there(state, op.where, op.at, op.owned_by)
    if not there:
        return _absent(state, act, op)
    taken = _take(state, there, op.amount, act)
    if isinstance(taken, Problem):
        return taken
    flows, cells = taken
    if act.held_by and any(cell.holder != act.held_by for cell, _ in cells):
        return Problem("not-there", "another house holds it on that day")
    problem = _title(act, cells)
    if problem:
        return problem
    sets = dict(op.sets)
    for cell, n in cells:
        to = cell._replace(**sets)
        if to.place in SINKS:
            to = to._replace(holder="", owner="")
        if act.only_from and cell.sex not in act.only_from:
            code = "sex-unchanged" if to.sex == cell.sex else "sex-known" if act.finding else "other-sex"
            return Problem(code, f"it is {cell.sex} on that day")
        if to == cell:
            continue
        if to.taxon != cell.taxon:  # through an account, so that each taxon balances by itself
            flows.append(Flow(cell, Cell(cell.taxon, cell.sex, REDETERMINED, "", "", cell.standing), n))
            flows.append(Flow(Cell(to.taxon, to.sex, REDETERMINED, "", "", cell.standing), to, n))
        else:
            flows.append(Flow(cell, to, n))
    return flows


def _absent(state: State, act: Act, op: Shift) -> Problem:
    if act.individual:
        if not state.cells:
            return Problem("not-there", "it has left the book by then")
        return Problem("not-there", f"it is {_say(next(iter(state.cells)))} on that day")
    return Problem("too-few" if op.amount else "not-there", "none stand there on that day")


def _say(cell: Cell) -> str:
    return cell.place if is_lost(cell) else "away" if is_away(cell) else "in the house"


def _there(state: State, where: str, at: str, owned_by: str) -> list[Cell]:
    test = _WHERE[where]
    return [c for c in state.cells if test(c) and (not at or c.place == at) and (not owned_by or c.owner == owned_by)]


Taken = tuple[list[Flow], list[tuple[Cell, int]]]  # what is re-sexed first, and then from which cells


def _take(state: State, there: list[Cell], amount: Amount | None, act: Act) -> Taken | Problem:
    if amount is None or act.individual:
        return [], [(c, state.cells[c]) for c in sorted(there)]
    if UNTOLD in dict(amount):
        if len({c._replace(sex="") for c in there}) > 1:
            return Problem("which-owner", "animals of several owners, or in several places, could be meant")
        n, have = dict(amount)[UNTOLD], sum(state.cells[c] for c in there)
        if n == have and all(is_on_the_way(c) for c in there):  # all that were on the way arrive as what they are
            return [], [(c, state.cells[c]) for c in sorted(there)]
        return _untold(state, there, n) if have >= n else Problem("too-few", f"{have} stand there, {n} are to go")
    out: list[tuple[Cell, int]] = []
    for sex, n in amount:
        cells = [c for c in there if c.sex == sex]
        if len(cells) > 1:
            return Problem("which-owner", "animals of several owners, or in several places, could be meant")
        have = state.cells[cells[0]] if cells else 0
        if have < n:
            return Problem("too-few", f"{have} {sex} stand there on that day, {n} are to go")
        out.append((cells[0], n))
    return [], out


def _untold(state: State, cells: list[Cell], n: int) -> Taken:
    """So many of untold sex go: from unknown first; of the sexes only what is certain stays (design 5).

    Of k still to take, males max(0, m − k) stay males, and so on; the rest is unknown, and k of the unknown go.
    """
    unknown = cells[0]._replace(sex="unknown")
    first = min(state.cells.get(unknown, 0), n)
    k = n - first
    known = [c for c in cells if c.sex != "unknown"]
    if not first and len(known) == 1:  # of one sex alone: what goes is of that sex (biology D14)
        return [], [(known[0], n)]
    flows = [Flow(c, unknown, min(state.cells[c], k), "re_sexed") for c in sorted(known) if k > 0]
    return flows, [(unknown, n)]


def _title(act: Act, taken: list[tuple[Cell, int]]) -> Problem | None:
    if not act.title:
        return None
    rule = act.title[0]
    for cell, _ in taken:
        fits = {
            "is": lambda c: c.owner == act.title[1],
            "is_not": lambda c: c.owner != act.title[1],
            "outside": lambda c: c.owner[:2] != "h-",
        }[rule](cell)
        if not fits:
            return Problem("terms-against-title", "the terms do not fit who owns it on that day")
    return None
