"""One subject's dated acts to its lines, its open rows, its findings and its state: THE definition of state.

Told by clean cuts: entries whose ranges overlap form a cluster; between clusters the dates have settled
every question of order, so only the state is carried. The fold is total: it never fails on an impossible
history, it says what is impossible. It knows no kind.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import groupby

from ledger.acts import Cell, Enter, Entry, Shift, Step
from ledger.order import Flag, Ordered, bounds, is_whole, key, order
from ledger.posting import Line, OpenRow
from ledger.spread import Told, likely, unseen, window
from ledger.state import Flow, Problem, State, apply, is_live


@dataclass(slots=True)
class Tale:
    """One subject's history told: journal lines, open rows, what is impossible or not settled, the end state."""

    lines: list[Line] = field(default_factory=list)
    open: list[OpenRow] = field(default_factory=list)
    flags: list[Flag] = field(default_factory=list)
    state: State = field(default_factory=State)


def clusters(entries: list[Entry]) -> list[list[Entry]]:
    """Cut wherever the next entry begins after everything so far has ended."""
    out: list[list[Entry]] = []
    end = -1
    for entry in sorted(entries, key=lambda e: (e.first, e.last)):
        if out and entry.first <= end:
            out[-1].append(entry)
            end = max(end, entry.last)
        else:
            out.append([entry])
            end = entry.last
    return out


def tell(entries: list[Entry]) -> Tale:
    """Fold one subject's standing entries. Pure and total; the order in which they are given does not matter."""
    tale = Tale()
    told: list[Told] = []
    for cluster in clusters(prepared(entries, tale)):
        tell_on(tale, told, cluster)
    tale.open += likely(told)
    return tale


def prepared(entries: list[Entry], tale: Tale) -> list[Entry]:
    """The entries as they are told: arrivals restated, findings after the end, young not counted; flags to `tale`."""
    return _uncounted(_found_after_the_end(_since_origin(entries, tale)))


def tell_on(tale: Tale, told: list[Told], cluster: list[Entry]) -> None:
    """Tell the next cluster; all that `tale` and `told` hold has ended before it. Both are added to."""
    alone = len(cluster) == 1 and tale.state.started
    if alone and cluster[0].first == cluster[0].last:
        _tell_entry(tale, told, cluster[0], cluster[0].last, cluster[0].first)
    else:
        _tell_cluster(tale, told, _alone(cluster) if alone else order(cluster, tale.state))


def cells_on(entries: list[Entry], day: int, *, latest: bool = False) -> dict[Cell, int]:
    """Live cells at the close of a day, for something that happens to the subject on that day.

    As the certain days have it, but that the thing itself proves an uncertain arrival to have happened by then;
    with `latest`, all else that could have happened by then too.
    """
    arrived = [
        e._replace(last=day) if (latest or e.act.step is Step.OPEN) and e.first <= day < e.last else e for e in entries
    ]
    cells: dict[Cell, int] = {}
    for line in tell(arrived).lines:
        if line.counts_on <= day and is_live(line.cell):
            cells[line.cell] = cells.get(line.cell, 0) + line.delta
    return {c: n for c, n in cells.items() if n}


def _alone(cluster: list[Entry]) -> Ordered:
    """A cluster of one needs no ordering: what it may need of its subject, `apply` says."""
    return Ordered(cluster, [0], [], set(), [0])


def _tell_cluster(tale: Tale, told: list[Told], ordered: Ordered) -> None:
    tale.flags += ordered.flags
    lo, hi, story = bounds(ordered)
    entries = ordered.entries
    for i, entry in enumerate(entries):
        if lo[i] > hi[i]:
            tale.flags.append(Flag("no-possible-day", entry.root, 0, "its other entries leave it no possible day"))
    uncertain = any(lo[i] < hi[i] for i in story)
    start = tale.state.copy() if uncertain else None
    mark = len(told)
    happened = [i for i in story if i not in ordered.unplaced and _tell_entry(tale, told, entries[i], hi[i], lo[i])]
    if start is not None:
        tale.open += window(start, ordered, lo, hi, happened, told[mark:])


def _tell_entry(tale: Tale, told: list[Told], entry: Entry, day: int, could: int) -> bool:
    """One entry on its day; False where it cannot be, which is flagged."""
    flows = apply(tale.state, entry.act)
    if isinstance(flows, Problem):
        tale.flags.append(Flag(flows.code, entry.root, 0, flows.found))
        return False
    told.append(Told(entry, day, flows))
    if entry.act.step is Step.COUNT:
        day = entry.act.stands_for or day
        could, rows, problem = unseen(told, entry, day)
        tale.open += rows
        if problem:
            tale.flags.append(Flag(problem.code, entry.root, 0, problem.found))
    _emit(tale.lines, entry, flows, day, could)
    return True


def _emit(lines: list[Line], entry: Entry, flows: list[Flow], counts_on: int, could_from: int) -> None:
    act = entry.act
    into = act.reason_in or act.reason
    for a, b, n, reason in flows:
        lines.append(Line(entry.root, act.subject, a, -n, reason or act.reason, counts_on, could_from))
        lines.append(Line(entry.root, act.subject, b, n, reason or into, counts_on, could_from))


MANY = 10**9  # stands for a number nobody knows yet, while it is worked out


def _uncounted(entries: list[Entry]) -> list[Entry]:
    """A birth not counted is as many as the first count finds, and what went before it (design 5)."""
    arrival = next((e for e in entries if e.act.uncounted and e.act.step is Step.OPEN), None)
    if arrival is None or not isinstance(arrival.act.op, Enter):
        return entries

    def told_with(n: int) -> list[Entry]:
        op = arrival.act.op._replace(amount=(("unknown", n),))
        act = arrival.act._replace(op=op, uncounted=False)
        return [e._replace(act=act) if e is arrival else e for e in entries]

    trial = tell(told_with(MANY))
    counts = sorted((e for e in entries if e.act.step is Step.COUNT), key=key)
    for root in dict.fromkeys(e.root for e in counts):
        lines = (x for x in trial.lines if x.effect == root and x.reason.startswith("count_"))
        missed = sum(line.delta for line in lines if not is_live(line.cell))
        if missed > MANY // 2:  # it counted where they were born, or where all of them had gone
            return told_with(MANY - missed)
    return _as_many_as_went(entries, arrival, trial, told_with)


def _as_many_as_went(
    entries: list[Entry], arrival: Entry, trial: Tale, told_with: Callable[[int], list[Entry]]
) -> list[Entry]:
    """Not yet counted: as many as other entries name; what is done to all of an unknown rest does nothing."""
    balance: dict[Cell, int] = {}
    rest = MANY
    for _, lines in groupby(trial.lines, lambda line: line.effect):
        for line in lines:
            if is_live(line.cell):
                balance[line.cell] = balance.get(line.cell, 0) + line.delta
        most = max(balance.values(), default=0)
        if most <= MANY // 2:  # all of it has gone, however many that were
            break
        rest = min(rest, most)
    named = told_with(MANY - rest) if rest < MANY else [e for e in entries if e is not arrival]
    nobody = {f.root for f in tell(named).flags if f.code == "not-there"}
    return [e for e in named if not (e.root in nobody and is_whole(e))]


def _since_origin(entries: list[Entry], tale: Tale) -> list[Entry]:
    """A finding that holds since the origin rewrites what the arrival said (effect: the arrival)."""
    found = [e for e in entries if e.act.since == "origin"]
    if not found:
        return entries
    rest = [e for e in entries if e.act.since != "origin"]
    arrival = min((e for e in rest if e.act.step is Step.OPEN), key=key, default=None)
    sets: dict[str, str] = {}
    for entry in found:
        says = entry.act.op.sets if isinstance(entry.act.op, Shift) else ()
        fits = arrival is not None and arrival.act.individual
        if not fits or any(sets.get(part, value) != value for part, value in says):
            tale.flags.append(Flag("not-since-origin", entry.root, 0, "there is no one arrival it could restate"))
            continue
        sets.update(says)
    if arrival is None or not sets:
        return rest
    op = arrival.act.op
    assert isinstance(op, Enter)
    amount = tuple((sets.get("sex", sex), n) for sex, n in op.amount)
    rewritten = op._replace(amount=amount, taxon=sets.get("taxon", op.taxon))
    return [e if e is not arrival else e._replace(act=e.act._replace(op=rewritten)) for e in rest]


def _found_after_the_end(entries: list[Entry]) -> list[Entry]:
    """What is found out after an animal's end, with no day of its own, counts from the last day of the stay."""
    late = [e for e in entries if e.act.finding and not e.act.since and e.act.individual]
    if not late:
        return entries
    goings = sorted((e for e in entries if e.act.step in (Step.END, Step.LEAVE, Step.COME)), key=key)
    out = []
    for entry in entries:
        placed = entry
        if entry in late:
            before = [e for e in goings if e.last < entry.first]
            end = before[-1] if before else None
            after = goings[len(before) :]
            if after and after[0].first <= entry.last:
                end = None  # it may as well have been found out in the next stay
            if end is not None and (end.act.step is Step.END or end.act.gone):
                placed = entry._replace(first=end.first, last=end.last)
        out.append(placed)
    return out
