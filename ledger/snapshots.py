"""Tellings that can be gone on with: the fold resumed at a clean cut instead of begun anew.

A cache and nothing else: a telling gone on with is the tale that `fold.tell` makes of the same entries, and a
property test holds the two together. Where a history has to be seen as a whole (an arrival restated, a finding
after the end, young not counted, a number between two) it is told as a whole.
"""

from __future__ import annotations

from bisect import insort_right
from dataclasses import dataclass, field
from typing import Final, NamedTuple

from ledger.acts import Entry, Step
from ledger.fold import Tale, clusters, prepared, tell, tell_on
from ledger.posting import Line, OpenRow, difference, row_difference
from ledger.spread import Told
from ledger.state import State

EVERY: Final = 32  # entries between two cuts at which the state is kept: a late entry tells few more than that anew


class Cut(NamedTuple):
    """The state at a clean cut, the last day of all before it, and how much was told by then."""

    state: State
    end: int
    entries: int
    lines: int
    open: int
    flags: int
    told: int


@dataclass(slots=True)
class Telling(Tale):
    """A tale with what it takes to go on with it. Never changed once made: to go on makes a new one.

    `entries` in the order of their days; `end` the last possible day of all of them; `newest` the highest root;
    `kept`: with how many lines and open rows it begins just as the telling it was made from does.
    """

    entries: list[Entry] = field(default_factory=list)
    told: list[Told] = field(default_factory=list)
    cuts: list[Cut] = field(default_factory=list)
    end: int = 0
    newest: int = 0
    kept: tuple[int, int] = (0, 0)
    whole: bool = False  # it has to be told as a whole
    found: bool = False  # there is a finding without a day of its own
    gone: bool = False  # there is an end, or a leaving for good


def telling(entries: list[Entry]) -> Telling:
    """The tale of all entries of one subject, told from the beginning."""
    made = Telling(entries=sorted(entries, key=_order))
    _note(made, entries)
    scratch = Tale()
    whole = any(e.act.likely or e.act.uncounted or e.act.since == "origin" for e in entries)
    if whole or (made.found and made.gone and prepared(entries, scratch) != entries):
        made.whole = True
        tale = tell(entries)
        made.lines, made.open, made.flags, made.state = tale.lines, tale.open, tale.flags, tale.state
        return made
    _go_on(made, made.entries, -1)
    return made


def gone_on(before: Telling, root: int, added: list[Entry]) -> Telling:
    """The telling with `added` in place of all entries of `root`."""
    taken = [e for e in before.entries if e.root == root] if root <= before.newest else []
    whole = before.whole or any(e.act.likely or e.act.uncounted or e.act.since == "origin" for e in added)
    finding = any(_unplaced(e) for e in added)
    in_order = not taken and all(e.first > before.end for e in added)
    if in_order and not whole and not (before.gone and finding):
        return _resumed(before, before.entries + sorted(added, key=_order), added, _last(before))
    found = before.found or finding
    if whole or (found and (before.gone or any(_is_gone(e) for e in added))):
        kept = [e for e in before.entries if e.root != root]
        return telling(sorted([*kept, *added], key=lambda e: e.root))
    begins = min(e.first for e in (*taken, *added))
    cut = next((c for c in reversed(before.cuts) if c.end < begins), _START)
    entries = [e for e in before.entries if e.root != root]
    for entry in added:
        insort_right(entries, entry, key=_order)
    return _resumed(before, entries, added, cut)


def changes(steps: list[Telling]) -> tuple[list[Line], list[tuple[OpenRow, int]]]:
    """What to post so that the first of some tellings becomes the last; each was made from the one before it."""
    lines = min([len(steps[0].lines), *(t.kept[0] for t in steps[1:])])
    rows = min([len(steps[0].open), *(t.kept[1] for t in steps[1:])])
    old, new = steps[0], steps[-1]
    posted = difference(new.lines[lines:], old.lines[lines:])
    if len(new.open) == rows == len(old.open):
        return posted, []
    return posted, row_difference(new.open[rows:], old.open[rows:])


_START: Final = Cut(State(), -1, 0, 0, 0, 0, 0)


def _order(entry: Entry) -> tuple[int, int, int]:
    return entry.first, entry.last, entry.root


def _unplaced(entry: Entry) -> bool:
    act = entry.act
    return act.finding and not act.since and act.individual


def _is_gone(entry: Entry) -> bool:
    return entry.act.gone or entry.act.step is Step.END


def _note(made: Telling, added: list[Entry]) -> None:
    for entry in added:
        made.end = max(made.end, entry.last)
        made.newest = max(made.newest, entry.root)
        made.found = made.found or _unplaced(entry)
        made.gone = made.gone or _is_gone(entry)


def _last(t: Telling) -> Cut:
    """The cut after all that was told."""
    return Cut(t.state, t.end, len(t.entries), len(t.lines), len(t.open), len(t.flags), len(t.told))


def _resumed(before: Telling, entries: list[Entry], added: list[Entry], cut: Cut) -> Telling:
    """Go on at a cut before which nothing changes."""
    made = Telling(
        before.lines[: cut.lines],
        before.open[: cut.open],
        before.flags[: cut.flags],
        cut.state.copy(),
        entries,
        before.told[: cut.told],
        [c for c in before.cuts if c.entries <= cut.entries] if cut.entries < len(before.entries) else before.cuts,
        before.end,
        before.newest,
        (cut.lines, cut.open),
        found=before.found,
        gone=before.gone,
    )
    _note(made, added)
    _go_on(made, entries[cut.entries :], cut.end)
    return made


def _go_on(made: Telling, entries: list[Entry], end: int) -> None:
    """Tell the rest of its entries, those after `end`, keeping the state now and then."""
    done = len(made.entries) - len(entries)
    last = made.cuts[-1].entries if made.cuts else 0
    for cluster in clusters(entries):
        if done - last >= EVERY:
            sizes = (len(made.lines), len(made.open), len(made.flags), len(made.told))
            made.cuts = [*made.cuts, Cut(made.state.copy(), end, done, *sizes)]
            last = done
        tell_on(made, made.told, cluster)
        done += len(cluster)
        end = max(end, *(e.last for e in cluster))
