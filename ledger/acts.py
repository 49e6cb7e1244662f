"""What an event does to one subject, as data. Kinds speak only in acts; no kind is named here.

A *cell* is where animals are counted: taxon, sex, place, holder, owner, standing. An *act* is one
step in one subject's history: a step word, an operation on cells, and what order needs to know of it.
Nothing in this file computes; `state` applies operations, `order` reads the rest.
"""

from __future__ import annotations

from enum import IntEnum
from typing import NamedTuple


class Cell(NamedTuple):
    """Where animals are counted. Empty text where the account carries no holder or owner."""

    taxon: str
    sex: str  # male, female, hermaphrodite, unknown
    place: str  # e-… enclosure, o-… outside party, or a word of `words.ACCOUNTS`
    holder: str  # h-… or o-… or ""
    owner: str  # h-… or o-… or ""
    standing: str


class Step(IntEnum):
    """What the act is to ITS subject (a merge is an addition to the target, a departure of the source)."""

    OPEN = 0  # the first arrival
    ADD = 1  # more animals into a standing lot
    CHANGE = 2  # something about it changes
    LEAVE = 3  # it, or part of it, goes
    END = 4  # it goes for good: an individual's death or joining
    COME = 5  # it, or part of it, comes back
    COUNT = 6  # a count sets the balance


# Order within one day where the stay structure says nothing (engine rule 5).
DAY_RANK = {
    Step.OPEN: 0,
    Step.ADD: 0,
    Step.CHANGE: 1,
    Step.LEAVE: 2,
    Step.END: 2,
    Step.COME: 3,
    Step.COUNT: 4,
}
WHOLE_LOT_LEAVES = 5  # rank of the departure of a whole lot: after the day's counts
BEFORE_ALL = -2  # rank of a count that was made before the day's other entries

# Where an operation looks for its animals, and what an act needs of its subject.
HELD = "held"  # in an enclosure of a member house
AWAY = "away"  # with an outside party while a member house owns it
LOST = "lost"  # escaped or missing
TRANSIT = "transit"  # on the way, held by the sender
SEEN = "seen"  # held or away: a lot's animals that somebody can see
LIVE = "live"  # anywhere at all while it is in the book
PAPER = "paper"  # title: live, and ordered with custody

Amount = tuple[tuple[str, int], ...]  # ((sex word, how many), ...), only numbers above zero
UNTOLD = ""  # in place of a sex word: so many whose sexes were not told


class Enter(NamedTuple):
    """Animals come out of an account (or an outside party, or `passed`) into a cell."""

    amount: Amount
    source: tuple[str, str, str]  # place, holder, owner
    taxon: str
    target: tuple[str, str, str, str]  # place, holder, owner, standing


class Back(NamedTuple):
    """A known subject comes back: from where it is followed, else (individual, sold) from outside."""

    amount: Amount | None  # None: all of it
    where: str  # AWAY, LOST or TRANSIT
    at: str  # the party, or `escaped`/`missing`; "" any
    place: str
    holder: str
    owner: str  # "" keeps the owner
    standing: str  # "" keeps the standing


class Shift(NamedTuple):
    """From the cells it is in, to the same cells with some parts set."""

    amount: Amount | None  # None: all of it
    where: str  # HELD AWAY LOST SEEN LIVE
    at: str  # for part of a lot: the place they are taken from; "" any
    owned_by: str  # for part of a lot whose animals there have several owners; "" any
    sets: tuple[tuple[str, str], ...]  # (part of the cell, value)


class Level(NamedTuple):
    """A count sets the balance of a lot in one place."""

    amount: Amount  # of every sex (a sex not named is zero), or a total whose sexes were not told
    place: str
    owned_by: str
    account: str = "unaccounted"  # where a difference comes from or goes to: also `dead`, `born`


Op = Enter | Back | Shift | Level


class Act(NamedTuple):
    """One step of one subject.

    `axes`: which changes of one thing this act belongs to: any of `p` place and custody, `s` sex,
    `t` taxon, `o` owner, `g` standing; `*` all of them. Part acts of a lot have none: they only add
    and subtract. A whole-lot act (`whole`) needs its order settled against everything else.
    """

    subject: str
    step: Step
    op: Op
    reason: str  # of both legs, or of the leg that is left
    reason_in: str = ""  # of the leg that is entered, where it differs (transfer_in, title_in)
    individual: bool = True
    axes: str = ""
    needs: str = LIVE
    gone: bool = False  # leaves the book (an individual's sale, release)
    whole: bool = False  # an act on all of a lot
    rank: int = -1  # -1: by step
    title: tuple[str, ...] = ()  # ("is", id) · ("is_not", id) · ("outside",)
    held_by: str = ""  # the house that must hold what it takes
    since: str = ""  # "" the event's days · "origin" · "YYYY-MM-DD" days of its own
    finding: bool = False  # what was found out: after the end it counts from the last day of the stay
    uncounted: bool = False  # an arrival whose number the first count fixes
    likely: tuple[int, ...] = ()  # least and most, where the number was taken as one between them
    stands_for: int = 0  # the day (ordinal) whose close a count stands for; 0: its own
    only_from: tuple[str, ...] = ()  # sexes it may be applied to (sexing: unknown); () any


class Entry(NamedTuple):
    """An act, dated and placed in the log. `root` orders and names it: first event of its line of corrections."""

    act: Act
    first: int  # first possible day, as an ordinal
    last: int  # last possible day
    root: int
