"""Pairs and broods of animals that other stories brought in: seahorses, pipefish, penguins, puffins, otters."""

from __future__ import annotations

from datetime import date
from typing import Any

from demo_events.diary import Diary, Line
from demo_events.stories import together
from demo_events.stories.together import (
    associate,
    courtship,
    days,
    first_day,
    greetings,
    named,
    of_taxon,
    pairing,
    told,
)
from demo_events.storyteller import Story
from demo_events.subjects import Animal

ERECTUS, PIPE, PENGUIN = "Hippocampus erectus", "Doryrhamphus excisus", "Spheniscus humboldti"
PUFFIN, OTTER = "Fratercula arctica", "Aonyx cinereus"
FIRST = date(2023, 2, 14)


def tell(diary: Diary, place: int) -> None:
    """Told after those whose animals they are."""
    lined(Story(diary, place, "bonds of the lined seahorses", "Reef Hall", "SN CT AE"))
    pipefish(Story(diary, place + 1, "bonds of the pipefish", "Reef Hall", "SN CT"))
    penguins(Story(diary, place + 2, "bonds of the penguins", "Bird Cliff", "PD AE"))
    puffins(Story(diary, place + 3, "bonds of the puffins", "Hall", "TB AC", "SK"))
    otters(Story(diary, place + 4, "bonds of the otters", "Seal Cove", "LJ HK"))


def lined(s: Story) -> None:
    """Sedge and Rowan, then Sedge and Tamsin's Knot; pair B in reserve; pair C from the stock."""
    sedge, rowan, fb, mb, knot, f4 = of_taxon(s.diary, ERECTUS)[:6]
    wrack, holdfast = named(s.diary, "Wrack"), named(s.diary, "Holdfast")
    pairs: tuple[tuple[Animal, Animal, date, str, str, date], ...] = (
        (sedge, rowan, FIRST, "greeting", "R5", date(2024, 5, 1)),
        (fb, mb, FIRST, "greeting", "V3", date(2025, 12, 1)),
        (sedge, knot, date(2024, 6, 27), "greeting", "R5", date(2026, 6, 30)),
        (wrack, holdfast, date(2025, 4, 22), "introduced", "V2", together.LAST_DAY),
        (f4, mb, date(2026, 2, 3), "introduced", "V3", together.LAST_DAY),
    )
    s.move(date(2026, 1, 20), f4, "V3", note="To the widowed male of pair B.")
    for a, b, on, basis, at, until in pairs:
        more: dict[str, Any] = {"since": "2022"} if on == FIRST else {}
        pairing(s, on, a, b, basis, enclosure=at, **more)
        day = on + days(28)
        while day < until - days(8):
            greetings(s, day, a, b, at)
            day += days(97)
    courtship(s, date(2024, 8, 3), sedge, [knot], "egg_transfer", outcome="accepted", enclosure="R5", note="06:40.")
    courtship(
        s, date(2025, 6, 10), mb, [f4], "display", outcome="not_known", note="Through the mesh between the tanks."
    )
    courtship(s, date(2024, 6, 21), knot, [sedge], "display", outcome="refused", enclosure="R5")


def pipefish(s: Story) -> None:
    """The cave under the ledge: one pair after another."""
    female, male = of_taxon(s.diary, PIPE)[:2]
    stand_in = of_taxon(s.diary, PIPE, "draw")[0]
    pairing(s, FIRST, female, male, "shared_nest", since="2022", enclosure="R6")
    pairing(s, date(2024, 5, 13), female, stand_in, "shared_nest", enclosure="R6")
    for line in told(s.diary, "hatching", lambda p: p.get("taxon") == PIPE):
        on, sire = first_day(line), line.payload["sire"]
        known = {"dam": line.payload["dam"]} if "dam" in line.payload else {"social_mate": female}
        code = f"DE-{on:%Y-%m%d}"
        began = f"{on - days(26)}/{on - days(22)}"
        more = {"carrier": sire, "start_basis": "first_seen_carrying", "enclosure": "R6"}
        together.brood(s, began, code, PIPE, "body", sire=sire, **known, **more)
        line.payload = line.payload | {"brood": code}


def penguins(s: Story) -> None:
    """Burrows and who has them; clutches of two, some of which lose an egg; a chick reared by the neighbours."""
    birds = of_taxon(s.diary, PENGUIN)[:24]
    pairs = {n: (birds[2 * n - 2], birds[2 * n - 1]) for n in range(1, 8)}
    for n, (male, female) in pairs.items():
        more = {"since": "2021"} if n < 5 else {}
        pairing(s, date(2023, 3, 20), male, female, "shared_nest", enclosure=f"B1-N{n}", **more)
    pairing(s, date(2024, 3, 18), birds[14], pairs[5][1], "shared_nest", enclosure="B1-N5")
    pairing(s, date(2025, 4, 6), birds[10], birds[19], "shared_nest", enclosure="B1-N6")
    pairing(s, date(2025, 10, 12), birds[20], birds[21], "courtship", enclosure="B1")
    for on, by, to in ((date(2024, 3, 4), 14, 9), (date(2025, 3, 17), 10, 19), (date(2025, 9, 22), 20, 21)):
        courtship(s, on, birds[by], [birds[to]], "display", mutual=True, outcome="accepted", enclosure="B1")
    for on, by, to in ((date(2024, 9, 24), 10, 3), (date(2026, 3, 10), 20, 1)):
        courtship(s, on, birds[by], [birds[to]], "display", outcome="refused", enclosure="B1", note="Both have mates.")
    _clutches(s, pairs)


def _clutches(s: Story, pairs: dict[int, tuple[Animal, Animal]]) -> None:
    """One brood for the chicks that hatched in one burrow in one season."""
    hatched = [x for x in told(s.diary, "hatching", lambda p: p.get("taxon") == PENGUIN) if "dam" in x.payload]
    fostered = False
    by_clutch: list[list[Line]] = []
    for line in hatched:
        last = by_clutch[-1][-1] if by_clutch else None
        same = last is not None and last.payload["enclosure"] == line.payload["enclosure"]
        if same and last and first_day(line) - first_day(last) < days(10):
            by_clutch[-1].append(line)
        else:
            by_clutch.append([line])
    for lines in by_clutch:
        at = lines[0].payload["enclosure"]
        first = first_day(lines[0])
        code = f"SH-{first:%Y-%m}-{at[-2:]}"
        _clutch(s, code, at, lines)
        if len(lines) == 1 and not fostered and _fledged(s, lines[0].payload["animal"]):
            fostered = True
            _fostered(s, code, lines[0], pairs)


def _clutch(s: Story, code: str, at: str, lines: list[Line]) -> None:
    """Two eggs, forty to forty-two days under both birds in turn; where one chick came, an egg was lost or clear."""
    first = first_day(lines[0])
    laid = first - days(40 + first.day % 3)
    dam, sire = lines[0].payload["dam"], lines[0].payload["sire"]
    carers = [{"carer": bird, "since": laid.isoformat()} for bird in (dam, sire)]
    eggs = {"eggs": 2, "eggs_are": "exact", "clutch_complete": True}
    more = {"nest": f"burrow {at[-1]}", "carers": carers, "enclosure": at, "start_basis": "seen"}
    together.brood(s, laid, code, PENGUIN, "nest", dam=dam, sire=sire, **more)
    together.check(s, laid + days(4), code, **eggs)
    if len(lines) == 2:
        together.check(s, laid + days(14), code, fertile=2)
    elif s.dice.happens(0.5):
        together.check(s, laid + days(20), code, lost=1, how=s.dice.pick(("broken", "not_known")))
    else:
        together.check(s, laid + days(14), code, fertile=1, infertile=1)
    for line in lines:
        line.payload = line.payload | {"brood": code}

    last = first_day(lines[-1])
    if last + days(5) < together.LAST_DAY:
        together.brood_end(s, last + days(4), code, note="Both out." if len(lines) == 2 else "One out.")


def _fledged(s: Story, chick: Animal) -> bool:
    return bool(told(s.diary, "move", lambda p: p.get("animal") is chick and p.get("to") == "B2"))


def _fostered(s: Story, code: str, hatched: Line, pairs: dict[int, tuple[Animal, Animal]]) -> None:
    """Its own dam did not brood it: reared by the pair of burrow 4 until it left for the crèche."""
    chick, on = hatched.payload["animal"], first_day(hatched)
    creche = first_day(told(s.diary, "move", lambda p: p.get("animal") is chick and p.get("to") == "B2")[0])
    male, female = pairs[4]
    s.put("move", on + days(3), {"animal": chick, "to": "B1-N4"}, note="Cold in the nest; put under the neighbours.")
    moved = {"what": "young", "how_many": 1, "from_carer": hatched.payload["dam"], "to_carer": female}
    s.put("brood_move", on + days(3), {"brood": code, **moved, "to": "B1-N4"})
    for bird in (male, female):
        line = associate(s, on + days(3), bird, "rearing", to=chick, role="foster", enclosure="B1-N4")
        s.correct(line, creche + days(1), "learnt", "The chick is in the crèche.", until=creche.isoformat())


def puffins(s: Story) -> None:
    """Pairs of the cliff; one widowed bird, one pair that was sold together and stayed one."""
    birds = of_taxon(s.diary, PUFFIN)[:10]
    for k in range(0, 10, 2):
        more = {"since": "2021"} if k < 6 else {}
        pairing(s, date(2023, 5, 2), birds[k], birds[k + 1], "shared_nest", enclosure="K1", **more)
    courtship(s, date(2025, 4, 29), birds[5], [birds[0]], "display", outcome="refused", enclosure="K1")


def otters(s: Story) -> None:
    """The old pair, the daughter who helps with her mother's second litter, the new mate."""
    dog, bitch = of_taxon(s.diary, OTTER)[:2]
    mate = of_taxon(s.diary, OTTER, "transfer")[-1]
    cubs = of_taxon(s.diary, OTTER, "birth")
    helper = cubs[2]
    pairing(s, FIRST, dog, bitch, "assumed", since="2020", enclosure="O1")
    pairing(s, date(2026, 4, 28), mate, bitch, "introduced", enclosure="O1")
    courtship(s, date(2026, 6, 16), mate, [bitch], "mating", outcome="accepted", enclosure="O1")
    for role, one in (("dam", bitch), ("sire", mate), ("helper", helper)):
        associate(s, date(2026, 9, 8), one, "rearing", to=cubs[4], role=role, enclosure="O2")
    associate(s, date(2026, 9, 8), helper, "seen_together", to=bitch, enclosure="O2")
