"""Carrying days, hatch rate and words of one brood, as several reports use them (definitions: `broods.py`)."""

from __future__ import annotations

from fractions import Fraction
from typing import Final, NamedTuple

from ledger.read import Names
from reports.clutches import ENDED, Clutch

YES, NO, CANNOT_SAY = "yes", "no", "cannot say"
COUNTED_BACK, FIRST_SEEN = "counted_back", "first_seen_carrying"
FROM_LAST: Final = ("nest", "incubator")  # eggs laid over days: the clock begins with the last
_NO_RATE: Final = ("pouch", "womb")


class Days(NamedTuple):
    """Days carried: least and most, None where that is not known."""

    low: int | None
    high: int | None


def carried(one: Clutch) -> Days:
    """Days from its start, or the last egg, to the first young (D8)."""
    first, told = one.first_young, one.entries
    if first is None or one.implied or one.shared or told.start_basis == COUNTED_BACK:
        return Days(None, None)
    begin = told.start
    last_known = True
    if one.mode in FROM_LAST and (told.eggs, one.exact) != (1, True):
        last_known = told.laid_last is not None
        begin = told.laid_last or begin
    low, high = max(0, (first[0] - begin[1]).days), max(0, (first[1] - begin[0]).days)
    seen = told.start_basis != FIRST_SEEN and (one.mode != "womb" or told.mated)
    return Days(low if last_known else None, high if seen else None)


def within(days: Days, low: float, high: float) -> str:
    """Whether days carried are inside a published range: yes, no or cannot say."""
    if (days.low is not None and days.low > high) or (days.high is not None and days.high < low):
        return NO
    if days.low is None or days.high is None:
        return CANNOT_SAY
    return YES if low <= days.low and days.high <= high else CANNOT_SAY


def why_no_rate(one: Clutch) -> str:
    """Why it has no hatch rate; "" where it has one (D9)."""
    told = one.entries
    reasons = (
        (one.implied, "not seen as eggs"),
        (bool(one.shared or one.also), "young of several broods, not told apart"),
        (told.eggs is None, "eggs not counted"),
        (one.mode in _NO_RATE, f"in a {one.mode}: brood size instead"),
        (one.ended is None, one.state if one.state != "open" else "not over"),
        (one.state != ENDED, one.state),
        (told.found_late, "found after its start: eggs at least"),
        (not told.exact, "eggs at least"),
        (not one.complete, "clutch not known to be complete"),
        (bool(one.sent), "eggs sent away"),
        (told.eggs == 0 and not told.received, "no eggs"),
    )
    return next((why for holds, why in reasons if holds), "")


def rate(one: Clutch) -> Fraction | None:
    """Hatched of its eggs, wherever they hatched; None with `why_no_rate`."""
    eggs = (one.entries.eggs or 0) + one.entries.received
    return None if why_no_rate(one) else Fraction(one.hatched, eggs)


def parents_words(one: Clutch, names: Names, house: str) -> str:
    """`F1 × M2`; with several pairs each with its weight; the unknown rest said."""
    if not one.pairs:
        return "not known"
    pairs = [
        (f"{called(p.dam, names, house)} × {called(p.sire, names, house)}", p.weight)
        for p in sorted(one.pairs, key=lambda p: -p.weight)
    ]
    rest = 1 - sum((w for _, w in pairs), Fraction())
    if len(pairs) == 1 and not rest:
        return pairs[0][0]
    return "; ".join([f"{text} {w}" for text, w in pairs] + ([f"not known {rest}"] if rest else []))


def called(subject: str, names: Names, house: str) -> str:
    """The number of an animal; a lot as *one of* it; *not known* of nobody."""
    if not subject:
        return "not known"
    number = names.number(subject, house or None)
    return f"one of {number}" if subject.startswith("g-") else number
