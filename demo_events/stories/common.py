"""What several stories do alike: young that dwindle, quarantine, a stock take, numbers of permits and chips."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import Any

from demo_events.diary import Line
from demo_events.storyteller import Story
from demo_events.subjects import Amount, Animal, Lot

LATE = 0.1  # of the sheets with a single loss: they turn up days or weeks later
HIGHEST_CHIP = 274_877_906_943  # 38 bits
YOUNG_CAUSES = ("not_determined", "not_determined", "nutrition", "disease_infectious", "neonatal")
ADULT_CAUSES = ("not_determined", "disease_infectious", "parasites", "trauma")


def spoken(day: date) -> str:
    """A day and its month as a keeper writes them."""
    return f"{day.day} {day:%B}"


def permit(s: Story, on: date, office: str = "LCNA") -> str:
    """A permit number of an invented office."""
    return f"{office}-{on.year}-{s.dice.between(100, 989):04}"


def chip(s: Story, code: str = "900") -> str:
    """A transponder number: code of three digits, then twelve of at most 38 bits."""
    return f"{code}{s.dice.between(10**11, HIGHEST_CHIP)}"


def parts(s: Story, total: int, times: int) -> list[int]:
    """`total` cut into at most `times` numbers above zero, the larger ones first."""
    out: list[int] = []
    left = total
    for k in range(times, 0, -1):
        if left <= 0:
            break
        share = left if k == 1 else max(1, min(left, left * s.dice.between(80, 150) // (100 * k)))
        out.append(share)
        left -= share
    return sorted(out, reverse=True)


def dwindle(
    s: Story,
    lot: Lot,
    first: date,
    days: int,
    total: int,
    times: int,
    at: str = "",
    causes: Sequence[str] = YOUNG_CAUSES,
) -> None:
    """Deaths of the young of a lot, unsexed: most of them, and the most at once, in the first days."""
    numbers = parts(s, total, times)
    picked = sorted({int(days * (s.dice.between(0, 999) / 1000) ** 1.6) for _ in range(3 * times)})
    when = s.dice.some(picked, min(len(numbers), len(picked)))
    numbers[len(when) - 1 :] = [sum(numbers[len(when) - 1 :])]
    for day, n in zip(when, numbers, strict=True):
        s.die(first + timedelta(days=day), lot, {"u": n}, at, cause=s.dice.pick(causes), circumstance="found_dead")


def settle(s: Story, lot: Lot, on: date, to: str, deaths: int = 0, days: int = 30, into: Lot | None = None) -> date:
    """A quarantine: what dies in it, then the move to where they belong, or the merging with those there."""
    if deaths:
        dwindle(
            s,
            lot,
            on + timedelta(days=2),
            days - 6,
            deaths,
            3,
            causes=("transport", "disease_infectious", "not_determined"),
        )
    end = on + timedelta(days=days + s.dice.between(0, 6))
    if into:
        s.merge(end, lot, into, to)
    else:
        s.move(end, lot, to)
    return end


def clear(s: Story, animal: Animal, on: date, to: str, days: int = 30) -> date:
    """An animal's quarantine."""
    end = on + timedelta(days=days + s.dice.between(0, 8))
    s.move(end, animal, to)
    return end


def stocktake(s: Story, lot: Lot, on: date, missed: int | Amount = 0, at: str = "", **more: Any) -> Line:
    """A count at a stock take: what the book says, less what nobody saw go (more, where negative)."""
    where = at or lot.only_place()
    less = {"u": missed} if isinstance(missed, int) else missed
    amount = {k: n for k in "mfuh" if (n := lot.cells[where, k] - less.get(k, 0)) or less.get(k)}
    ref = f"stock take {on:%B %Y}, {s.section}"
    return s.count(on, lot, amount, at, **({"source": {"kind": "stock_take", "ref": ref}} | more))


def mistyped(s: Story, line: Line, on: date, why: str, field: str, wrong: Any, text: str) -> None:
    """The line was first typed with something wrong in one field, and put right at once or on a later day."""
    right = line.payload[field]
    line.payload = line.payload | {field: wrong}
    s.correct(line, on, why, text, **{field: right})


def trickle(
    s: Story,
    lot: Lot,
    first: date,
    last: date,
    times: int,
    at: str = "",
    causes: Sequence[str] = ADULT_CAUSES,
    sex: str = "u",
    most: int = 2,
) -> None:
    """Losses of a standing lot, spread over a time: mostly single, or up to `most` where many go at once."""
    for day in s.dice.days(first, last, times):
        there = lot.cells[at or lot.only_place(), sex]
        usual = s.dice.between(1, most) if most > 2 else 1 + s.dice.happens(0.15)
        n = max(1, min(usual, there - 2))
        circumstance = "found_dead" if s.dice.happens(0.8) else "died_under_observation"
        more: dict[str, Any] = {"late": s.dice.between(5, 26)} if s.dice.happens(LATE) else {}
        s.die(day, lot, {sex: n}, at, cause=s.dice.pick(causes), circumstance=circumstance, **more)
