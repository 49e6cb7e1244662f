"""Every social unit with its days, its sex changes and its open places: what `sexes` and `succession` both ask.

A unit has a story for each taxon of its members. `first` walks the dominant sex of the taxon's sexual system, or is
none where the system presumes nothing (both ways, both at once, male first then both, gonochoristic, not known);
`second` walks the place of the functional male beside a dominant female (male first). A unit has many places where
it is a many-male group, or an assumed one that ever held two males at once; else one (definition D27 of the design).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

from ledger.read import AsOf, Copy, Names
from reports import sex_changes, units
from reports.places import Walk, walk
from reports.sex_changes import Change
from reports.unit_days import Moment, timeline
from reports.units import Unit, Units

MANY: Final = "many_male_group"


@dataclass(frozen=True)
class Story:
    """A unit and one taxon in it, up to the day asked about."""

    unit: Unit
    taxon: str
    system: str
    moments: Sequence[Moment]
    first: Walk | None
    second: Walk | None


@dataclass(frozen=True)
class Stories:
    """What was read, the changes by their first entry, and the stories."""

    units: Units
    changes: Sequence[Change]
    stories: Sequence[Story]


def stories(copy: Copy, names: Names, asof: AsOf) -> Stories:
    """All units as known at `asof.known`, told up to the close of `asof.on`."""
    told = units.read(copy, names, asof, sex_changes.subjects(copy, asof.known))
    changed = sex_changes.changes(copy, asof, told)
    days = {s.days.high for c in changed for s in (c.sign, c.end) if s}
    own = [_story(told, names, unit, taxon, changed, days, asof.on) for unit in told.units for taxon in told.taxa[unit]]
    return Stories(told, changed, own)


def _story(
    told: Units, names: Names, unit: str, taxon: str, changed: Sequence[Change], days: set[date], on: date
) -> Story:
    of = told.units[unit]
    thing = names.thing(taxon)
    system = str(thing.fields.get("sexual_system") or "") if thing else ""
    members = {m.subject for m in told.members[unit]}
    adult = {a: day for a, day in units.adult_from(told, names, taxon).items() if a in members}
    mine = [c for c in changed if c.subject in members]
    stages = {s.days.high for c in mine for s in (c.sign, c.end) if s} & days
    orders = told.orders.get(unit, ()) if system == "some_born_male" else None
    seen = [o.days.high for o in orders or ()]
    moments = timeline(told, unit, taxon, on, (*stages, *adult.values(), *seen))
    sex = units.SEQUENTIAL.get(system)
    if sex is None:
        return Story(of, taxon, system, moments, None, None)
    males = max((sum(s.get("male", 0) for s in m.present.values()) for m in moments), default=0)
    many = sex == "male" and (of.sort == MANY or (of.assumed and males > 1))
    first = walk(moments, sex, mine, adult, many=many, orders=orders)
    second = walk(moments, "male", mine, {}, many=False) if system == "male_first" else None
    return Story(of, taxon, system, moments, first, second)
