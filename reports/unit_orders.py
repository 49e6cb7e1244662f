"""Who ranks above whom in a unit: as an order was seen, and as the members' sizes say; both are shown.

Definition. The rank at a time is that of the last order whose last possible day was before it and that names the
animal; an order seen afterwards ranks what the loss made. By size: the members with a measurement before, largest
first, of the one measure most of them have (length before mass before height). Order and size disagree where some
pair is reversed and differs by more than the measuring error (`size_error_mm` of the taxon, else 0).

Source: definitions D25 and D29 of the design.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from itertools import combinations

from reports.units import MEASURES, Order, Size, Units


def order_before(units: Units, unit: str, before: date, subject: str = "") -> Order | None:
    """The last order of a unit seen before a day, which names the subject where one is given."""
    orders = (o for o in reversed(units.orders.get(unit, ())) if o.days.high < before)
    return next((o for o in orders if not subject or o.rank(subject) is not None), None)


def sizes_before(units: Units, subjects: Iterable[str], before: date) -> dict[str, Size]:
    """The latest size of each subject before a day, of the one measure that most of them have; largest first."""
    found: dict[str, dict[str, Size]] = {}
    for subject in subjects:
        found[subject] = {s.measure: s for s in units.sizes.get(subject, ()) if s.days.high < before}
    have = Counter(measure for own in found.values() for measure in own)
    best = max(have, key=lambda m: (have[m], -MEASURES.index(m)), default="")
    sizes = {s: own[best] for s, own in found.items() if best in own}
    return dict(sorted(sizes.items(), key=lambda item: -item[1].value))


def rank_by_size(sizes: Mapping[str, Size], subject: str) -> int | None:
    """The place of a subject by size, equals sharing the higher one; None where it or all others are not measured."""
    own = sizes.get(subject)
    if own is None or len(sizes) < 2:
        return None
    return 1 + sum(s.value > own.value for s in sizes.values())


def agree(order: Order | None, sizes: Mapping[str, Size], error: float) -> bool | None:
    """Whether the order seen is the order by size; None where no two can be compared. `error` in mm (of lengths)."""
    if order is None:
        return None
    groups: Sequence[Sequence[str]] = [[s for s in group if s in sizes] for group in order.ranks]
    pairs = [(a, b) for high, low in combinations(groups, 2) for a in high for b in low]
    if not pairs:
        return None
    slack = {s: error if size.measure != "mass" else 0.0 for s, size in sizes.items()}
    return not any(sizes[b].value - sizes[a].value > slack[a] for a, b in pairs)
