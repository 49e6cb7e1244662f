"""The Weed Curtain: common seadragons, which court without a lasting bond and carry their eggs on the tail."""

from __future__ import annotations

from datetime import date, timedelta

from demo_events.diary import Diary
from demo_events.stories import together
from demo_events.stories.common import dwindle, permit, stocktake
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot

DRAGON, AT, REARING = "Phyllopteryx taeniolatus", "C10", "N7"
# eggs over, dam, sire, eggs seen at least, carried how long, hatched, part that lives
BROODS = (
    (date(2023, 10, 24), 0, 0, 120, 46, 71, 0.4),
    (date(2024, 9, 17), 1, 0, 140, 44, 88, 0.36),
    (date(2024, 10, 22), 0, 1, 110, 49, 64, 0.33),
    (date(2025, 9, 9), 0, 2, 150, 45, 93, 0.42),
    (date(2025, 10, 7), 1, 0, 130, 0, 0, 0.0),  # dropped
    (date(2026, 8, 25), 2, 1, 125, 47, 58, 0.38),
)


def tell(diary: Diary, place: int) -> None:
    """Three females, two males, and a third male that arrived carrying."""
    s = Story(diary, place, "dragons", "Sound Hall", "FO CT")
    known = {"born": "2020", "origin": "bred", "earlier_house": "OZG", "sheet": date(2023, 1, 5)}
    dams: list[Animal] = [s.opening(DRAGON, AT, "f", **known) for _ in range(3)]
    sires: list[Animal] = [s.opening(DRAGON, AT, "m", **known) for _ in range(2)]
    sires.append(_carrying(s))
    for began, dam, sire, eggs, carried, hatched, lived in BROODS:
        _danced(s, began, dams, dam, sires, sire)
        _brood(s, began, (dams[dam], sires[sire]), eggs, carried, hatched, lived)
    s.die("2026-01-08/2026-01-09", dams[1], cause="not_determined", circumstance="found_dead")


def _carrying(s: Story) -> Animal:
    """He came with eggs on his tail; who laid them is not known here."""
    on = date(2024, 11, 12)
    papers = {"source_code": "C", "purpose_code": "Z", "permits": [permit(s, on)]}
    male: Animal = s.receive(on, "OZG", DRAGON, AT, "m", "donation", born="2022", **papers)
    code = f"PT-{on:%Y-%m%d}"
    together.brood(
        s,
        on,
        code,
        DRAGON,
        "tail",
        sire=male,
        carrier=male,
        started="2024-10-20/2024-11-02",
        start_basis="counted_back",
        enclosure=AT,
        eggs=60,
        eggs_are="at_least",
        note="Some fell on the way.",
    )
    born = date(2024, 12, 10)
    together.check(s, born - timedelta(days=6), code, stage="eyes seen through the egg", temperature="16.5")
    lot: Lot = s.hatching(born, DRAGON, REARING, {"u": 31}, brood=code, sire=male)
    together.brood_end(s, born + timedelta(days=3), code, unhatched=12)
    dwindle(s, lot, born + timedelta(days=2), 26, 19, 4)
    stocktake(s, lot, born + timedelta(days=38), 1)
    s.send(date(2025, 6, 17), lot, "VBA", "donation", {"u": 6}, permits=[permit(s, date(2025, 6, 10))])
    return male


def _danced(s: Story, began: date, dams: list[Animal], dam: int, sires: list[Animal], sire: int) -> None:
    """Males dance with one female after another in the week before."""
    for k, day in enumerate((6, 4)):
        other = dams[(dam + k + 1) % len(dams)]
        if (other is dams[1] and began.year == 2026) or other is dams[dam]:
            continue
        on = began - timedelta(days=day)
        together.courtship(s, on, sires[sire], [other], "display", outcome="broken_off", enclosure=AT)
    for day in (2, 1):
        on = began - timedelta(days=day)
        together.courtship(s, on, sires[sire], [dams[dam]], "display", mutual=True, outcome="accepted", enclosure=AT)


def _brood(
    s: Story, began: date, parents: tuple[Animal, Animal], eggs: int, carried: int, hatched: int, lived: float
) -> None:
    """Eggs on the tail at dusk or before sunrise: the day is known to one or two."""
    dam, sire = parents
    code = f"PT-{began:%Y-%m%d}"
    together.brood(
        s,
        f"{began}/{began + timedelta(days=1)}",
        code,
        DRAGON,
        "tail",
        dam=dam,
        sire=sire,
        carrier=sire,
        start_basis="seen",
        enclosure=AT,
        eggs=eggs,
        eggs_are="at_least",
    )
    if not hatched:
        together.brood_end(
            s, began + timedelta(days=16), code, lost=eggs, how="abandoned", note="Rubbed off on the rock."
        )
        return
    born = began + timedelta(days=carried)
    together.check(s, born - timedelta(days=20), code, lost=s.dice.between(4, 15), how="fungus", temperature="16.8")
    lot: Lot = s.hatching(born, DRAGON, REARING, {"u": hatched}, brood=code, dam=dam, sire=sire)
    together.check(s, born + timedelta(days=6), code, last_young=f"{born + timedelta(days=5)}")
    dwindle(s, lot, born + timedelta(days=1), 27, int(hatched * (1 - lived)), 5)
    if born + timedelta(days=40) < together.LAST_DAY:
        stocktake(s, lot, born + timedelta(days=40), s.dice.between(0, 2))
