"""What could have been: open rows (engine rule 21), from which a census draws its range.

Where several states of a subject are possible on a day, every choice is written out as rows (subject, choice,
part, from day, to day, state, cell, n); state 0 is what the book says. Choices are independent, so a range
is never too narrow for any filter.

- Inside a cluster the possible states are the down-sets between *must* and *may*: rows hold whole states.
- Part acts of a lot commute, so each is a choice of its own: rows hold the change against state 0.
- A count's difference may have happened on any day since the last exact count or the arrival: likewise.
"""

from __future__ import annotations

from itertools import pairwise, permutations
from typing import NamedTuple

from ledger.acts import UNTOLD, Cell, Enter, Entry, Level, Step
from ledger.order import Ordered, is_whole
from ledger.posting import OpenRow
from ledger.state import Flow, Problem, State, apply, is_held, is_live
from ledger.words import REDETERMINED, SEXES

CAP = 4096  # states of one choice; beyond it the range is said to be not known
NOT_KNOWN = -1
MANY = 4  # cells whose every order of filling is tried

WHOLE, PART, LIKELY, COUNTED = 0, 1, 2, 3  # `part` of an open row; a count's differences from the last on
FAR_DAY = 3_652_059  # 31 December 9999


class Told(NamedTuple):
    """An entry as the story had it: the day it counts on and what flowed."""

    entry: Entry
    day: int
    flows: list[Flow]


def window(
    start: State, ordered: Ordered, lo: list[int], hi: list[int], story: list[int], told: list[Told]
) -> list[OpenRow]:
    """Open rows of one cluster; `story` are the indices that happened, `told` the same in the same order."""
    entries = ordered.entries
    lot = not entries[0].act.individual
    days = sorted({d for i in story for d in (lo[i], hi[i])})
    flows = {i: t.flows for i, t in zip(story, told, strict=True)}
    out: list[OpenRow] = []
    parts: dict[tuple[int, ...], list[tuple[int, int]]] = {}  # open acts of one event -> stretches on which they are
    for day, until in pairwise(days):
        pending = [i for i in story if lo[i] <= day < hi[i]]
        if not pending:
            continue
        if lot and not any(_bound(entries[i]) for i in pending):
            bound = _entangled(start, entries, hi, story, pending, flows, day)
            for root in {entries[i].root for i in pending} - bound:
                acts = tuple(i for i in pending if entries[i].root == root)
                parts.setdefault(acts, []).append((day, until))
            pending = [i for i in pending if entries[i].root in bound]
            if not pending:
                continue
        out += _states(start, ordered, hi, story, pending, day, until)
    for acts, stretches in sorted(parts.items()):
        mine = [f for i in acts for f in flows[i]]
        subject = entries[0].act.subject
        for day, until in _joined(stretches):
            out += _choice(subject, entries[acts[0]].root, PART, day, until, [_changes(mine)])
    return out


def _bound(entry: Entry) -> bool:
    """Of a lot: an act on which the others depend (its arrival, an act on all of it)."""
    return entry.act.step is Step.OPEN or is_whole(entry)


def _entangled(
    start: State,
    entries: list[Entry],
    hi: list[int],
    story: list[int],
    pending: list[int],
    flows: dict[int, list[Flow]],
    day: int,
) -> set[int]:
    """Roots of the open part acts that together could find too few in some cell: they are one choice, not several."""
    stands = dict(start.cells)
    takes: dict[Cell, int] = {}
    for i in story:
        for cell, n in _changes(flows[i]).items():
            if hi[i] <= day:
                stands[cell] = stands.get(cell, 0) + n
            elif i in pending and n < 0:
                takes[cell] = takes.get(cell, 0) - n
    short = {cell for cell, n in takes.items() if n > stands.get(cell, 0)}
    return {entries[i].root for i in pending if short & _changes(flows[i]).keys()}


def _states(
    start: State, ordered: Ordered, hi: list[int], story: list[int], pending: list[int], day: int, until: int
) -> list[OpenRow]:
    entries, before = ordered.entries, ordered.before
    subject = entries[0].act.subject
    choice = min(entries[i].root for i in pending)
    state = start.copy()
    for i in story:
        if hi[i] <= day:
            apply(state, entries[i].act)
    pending_bits = sum(1 << i for i in pending)
    needed = 0
    for i in pending:
        needed |= before[i] & pending_bits
    reached = {(state.key(), 0): state}
    for i in pending:
        for (_, done), at in list(reached.items()):
            if before[i] & pending_bits & ~done:
                continue
            then = at.copy()
            if not isinstance(apply(then, entries[i].act), Problem):
                reached.setdefault((then.key(), done | (1 << i & needed)), then)
        if len(reached) > CAP:
            return [OpenRow(subject, choice, WHOLE, day, until, NOT_KNOWN, None, 0)]
    keys = list(dict.fromkeys(k for k, _ in reached))
    if len(keys) < 2:
        return []
    rows: list[OpenRow] = []
    for number, cells in enumerate(keys):
        if not cells:
            rows.append(OpenRow(subject, choice, WHOLE, day, until, number, None, 0))
        rows += [OpenRow(subject, choice, WHOLE, day, until, number, cell, n) for cell, n in cells]
    return rows


def _joined(stretches: list[tuple[int, int]]) -> list[tuple[int, int]]:
    out: list[tuple[int, int]] = []
    for day, until in stretches:
        if out and out[-1][1] == day:
            out[-1] = (out[-1][0], until)
        else:
            out.append((day, until))
    return out


def _changes(flows: list[Flow]) -> dict[Cell, int]:
    out: dict[Cell, int] = {}
    for a, b, n, _ in flows:
        if is_live(a):
            out[a] = out.get(a, 0) - n
        if is_live(b):
            out[b] = out.get(b, 0) + n
    return {c: n for c, n in out.items() if n}


def _choice(subject: str, root: int, part: int, day: int, until: int, states: list[dict[Cell, int]]) -> list[OpenRow]:
    """Rows of a choice written as changes: state 0 none, then one state each."""
    states = [kept for s in states if (kept := {c: n for c, n in s.items() if n})]
    if not states:
        return []
    rows = [OpenRow(subject, root, part, day, until, 0, None, 0)]
    for number, changes in enumerate(states, 1):
        rows += [OpenRow(subject, root, part, day, until, number, cell, n) for cell, n in sorted(changes.items())]
    return rows


# --- what a count found ------------------------------------------------------------------------------


class _Trace(NamedTuple):
    cell: Cell  # where the animals concerned stood, going backward
    balance: int  # how many stood there
    n: int  # how many of them could have been lost already; for a gain, there already


def unseen(told: list[Told], count: Entry, stands_for: int) -> tuple[int, list[OpenRow], Problem | None]:
    """The first day the difference found by a count could have counted, and its open rows.

    Going back from the count, no more can have been lost by a day than stood in that cell on every day
    since. An act on the whole lot is followed back to the cells it came from. `told` ends with the count; its
    difference is posted on the day it stands for, and nobody may have moved the whole lot between.
    """
    first = stands_for
    rows: list[OpenRow] = []
    if stands_for < told[-1].day and (problem := _stood_then(told, stands_for)):
        return first, rows, problem
    after = _balances(told[:-1])
    for number, flow in enumerate(told[-1].flows):
        if flow.reason == "re_sexed":  # nobody was lost or found
            continue
        for begin, until, states in _going_back(told, flow, stands_for, _at_the_count(flow, after, count)):
            first = min(first, begin) if states else first
            rows += _choice(count.act.subject, count.root, COUNTED + number, begin, until, states)
    return first, rows, None


def _stood_then(told: list[Told], stands_for: int) -> Problem | None:
    """What a count for an earlier day takes from a cell must have stood there at that close, and at every one since."""
    count = told[-1]
    differs = _changes(count.flows)
    if not differs:
        return None
    taken = {c: -n for c, n in differs.items() if n < 0}
    stood = _balances(told[:-1])
    day = count.day  # `stood` is how it stood at the closes before this day
    for step in reversed(told[:-1]):
        if step.day < day and any(stood.get(c, 0) < n for c, n in taken.items()):
            break
        if step.day <= stands_for:
            return None
        problem = _between(step, count.entry)
        if problem:
            return problem
        for cell, n in _changes(step.flows).items():
            stood[cell] = stood.get(cell, 0) - n
        day = step.day
    return Problem("too-few", "fewer stood there on the day it stands for, or on one between")


def _at_the_count(flow: Flow, stood: dict[Cell, int], count: Entry) -> list[_Trace]:
    """Where the animals that a count missed, or found, may have stood just before it."""
    if not is_held(flow.source):
        return [_Trace(flow.target, stood.get(flow.target, 0), flow.n)]
    op = count.act.op
    if isinstance(op, Level) and UNTOLD in dict(op.amount):  # lost from a total: of any sex
        cells = [flow.source._replace(sex=sex) for sex in SEXES]
        return [_Trace(c, stood[c], min(flow.n, stood[c])) for c in cells if stood.get(c, 0) > 0]
    return [_Trace(flow.source, stood.get(flow.source, 0), flow.n)]


Stretch = tuple[int, int, list[dict[Cell, int]]]  # from day, to day, states besides the book's own, as changes


def _going_back(told: list[Told], flow: Flow, stands_for: int, traces: list[_Trace]) -> list[Stretch]:
    """What could have been lost or found already, stretch by stretch, back to the last exact count or the arrival."""
    lost = is_held(flow.source)
    cap, end = flow.n, told[-1].day
    out: list[Stretch] = []
    for step in reversed(told[:-1]):
        if step.day <= stands_for < end:
            end = stands_for
        if step.day < end <= stands_for:
            states = [{c: -k if lost else k for c, k in s.items()} for s in _spread(traces, cap)]
            if out and out[-1][0] == end and out[-1][2] == states:
                out[-1] = (step.day, out[-1][1], states)
            else:
                out.append((step.day, end, states))
            end = step.day
        traces = [u for t in traces for u in _undo(t, step, lost=lost)]
        cap = min(cap, sum(t.n for t in traces))
        if not cap or step.entry.act.step is Step.OPEN:
            break
    return out


def _between(step: Told, count: Entry) -> Problem | None:
    """What may not stand between a count and the day it stands for."""
    if step.entry.act.step is Step.OPEN:
        return Problem("not-there", "the lot began after the day that the count stands for")
    if is_whole(step.entry):
        return Problem("order-assumed", "the whole lot was acted on between that day and its count")
    if isinstance(count.act.op, Level) and _counts(step.entry, count.act.op.place):
        return Problem("order-assumed", "it was counted between that day and its count")
    return None


def likely(told: list[Told]) -> list[OpenRow]:
    """Open rows of numbers taken as one between a least and a most: until the next exact count of that place."""
    rows: list[OpenRow] = []
    for k, (entry, day, flows) in enumerate(told):
        if not entry.act.likely:
            continue
        op = entry.act.op
        subject, root = entry.act.subject, entry.root
        stands = _balances(told[: k + 1])
        places = {op.place} if isinstance(op, Level) else {b.place for _, b, _, _ in flows}
        cell = max((c for c in stands if c.place in places), key=lambda c: stands[c], default=None)
        taken = sum(n for _, n in op.amount) if isinstance(op, Enter | Level) else 0
        least, most = entry.act.likely
        begin = entry.act.stands_for or day
        for later in [*told[k + 1 :], None]:
            until = later.day if later else FAR_DAY
            if cell is not None and begin < until:
                fewer = min(taken - least, max(stands.get(cell, 0), 0))
                rows += _choice(subject, root, LIKELY, begin, until, [{cell: -fewer}, {cell: most - taken}])
                begin = until
            if later is None or cell is None:
                break
            if isinstance(later.entry.act.op, Level) and later.entry.act.op.place == cell.place:
                break
            if is_whole(later.entry):
                cell = next((b for a, b, _, _ in _moved(later.flows) if a == cell), cell)
            for c, n in _changes(later.flows).items():
                stands[c] = stands.get(c, 0) + n
    return rows


def _balances(told: list[Told]) -> dict[Cell, int]:
    cells: dict[Cell, int] = {}
    for step in told:
        for cell, n in _changes(step.flows).items():
            cells[cell] = cells.get(cell, 0) + n
    return cells


def _spread(traces: list[_Trace], cap: int) -> list[dict[Cell, int]]:
    """`cap` animals over the cells they could have stood in, each order of filling once.

    So for any choice of cells some state has the most in them.
    """
    traces = [t for t in traces if t.n]
    orders = (
        permutations(traces) if len(traces) <= MANY else [tuple(traces[i:] + traces[:i]) for i in range(len(traces))]
    )
    out: list[dict[Cell, int]] = []
    for filling in orders:
        left = cap
        state: dict[Cell, int] = {}
        for trace in filling:
            k = min(left, trace.n)
            if k:
                state[trace.cell] = state.get(trace.cell, 0) + k
            left -= k
        if state and state not in out:
            out.append(state)
    return out


def _moved(flows: list[Flow]) -> list[Flow]:
    """Flows from live cell to live cell, the two legs of a redetermination joined."""
    out: list[Flow] = []
    for k, (a, b, n, reason) in enumerate(flows):
        if is_live(a) and b.place == REDETERMINED:
            out.append(Flow(a, flows[k + 1].target, n, reason))
        elif is_live(a) and is_live(b):
            out.append(Flow(a, b, n, reason))
    return out


def _counts(entry: Entry, place: str) -> bool:
    return isinstance(entry.act.op, Level) and entry.act.op.place == place


def _undo(trace: _Trace, step: Told, *, lost: bool) -> list[_Trace]:
    """The same animals before one step; none where an exact count of their place bounds them."""
    if _counts(step.entry, trace.cell.place):
        return []
    balance = trace.balance - _changes(step.flows).get(trace.cell, 0)
    here = min(trace.n, max(balance, 0)) if lost else trace.n
    if not is_whole(step.entry):
        return [_Trace(trace.cell, balance, here)]
    came = [(a, n) for a, b, n, _ in _moved(step.flows) if b == trace.cell]
    if not came:
        return [_Trace(trace.cell, balance, here)]
    out = [_Trace(a, n, min(trace.n, n) if lost else trace.n) for a, n in came]
    return [*out, _Trace(trace.cell, balance, min(trace.n, balance))] if balance > 0 else out
