"""The Lily House again: one jacana hen with four mates, clutches that overlap, chicks whose sire is not sure."""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary, Line
from demo_events.stories import together
from demo_events.stories.common import spoken
from demo_events.stories.together import associate, courtship, days, first_day, member, named, order, pairing, told
from demo_events.storyteller import Story
from demo_events.subjects import Animal

JACANA, LION, AT = "Jacana jacana", "Zalophus californianus", "K3"
UNSURE = 2026  # from this season on the sires are pairs with weights


def tell(diary: Diary, place: int) -> None:
    """Jacanas at Skerrin, sea lions at Marrow Sound."""
    jacanas(Story(diary, place, "mates of the jacana", "Hall", "TB AC", "SK"))
    sea_lions(Story(diary, place + 1, "order of the sea lions", "Seal Cove", "LJ HK"))


def jacanas(s: Story) -> None:
    """Pairs side by side: she lays for one while others sit or lead chicks."""
    hen, *males = together.of_taxon(s.diary, JACANA, "transfer")[:4]
    fourth: Animal = s.receive(date(2025, 1, 14), "GWP", JACANA, "K6", "m", "sale", born="2023", origin="bred")
    s.mark(date(2025, 1, 15), fourth, "ring", "GW 166", colour="steel", side="right", place="tibia")
    s.move(date(2025, 2, 18), fourth, AT)
    for male, on in zip(males, (date(2024, 4, 9), date(2024, 4, 23), date(2024, 5, 14)), strict=True):
        courtship(s, on - days(6), hen, [male], "display", outcome="accepted", enclosure=AT)
        pairing(s, on, hen, male, "courtship", enclosure=AT)
    courtship(s, date(2025, 5, 6), hen, [fourth], "display", outcome="accepted", enclosure=AT)
    pairing(s, date(2025, 5, 13), hen, fourth, "courtship", enclosure=AT)
    mates = [*males, fourth]
    for line in _clutches(s):
        _clutch(s, line, hen, mates)
    for hatched, raised in ((date(2025, 6, 24), True), (date(2026, 7, 1), False)):
        _of_the_fourth(s, hatched, hen, fourth, mates, raised=raised)


def _clutches(s: Story) -> list[list[Line]]:
    """Chicks hatched on one day, as the first story told them."""
    found: dict[str, list[Line]] = {}
    for line in told(s.diary, "hatching", lambda p: p.get("taxon") == JACANA):
        found.setdefault(line.occurred, []).append(line)
    return list(found.values())


def _code(on: date, k: int) -> str:
    return f"JJ-{on - days(28):%Y-%m%d}-{k + 1}"


def _clutch(s: Story, lines: list[Line], hen: Animal, mates: list[Animal]) -> None:
    """Four eggs; he sits for 28 days and leads the chicks for seven or eight weeks."""
    on, sitter = first_day(lines[0]), lines[0].payload["sire"]
    code = _code(on, mates.index(sitter))
    _laid(s, on, code, hen, sitter, mates)
    for line in lines:
        line.payload = line.payload | {"brood": code}
        if on.year >= UNSURE:
            line.payload = {k: v for k, v in line.payload.items() if k != "sire"}
    left = 4 - len(lines)
    together.brood_end(s, on + days(4), code, **({"unhatched": left} if left else {"note": "All four."}))
    until = on + days(52 + on.day % 7)
    line = associate(s, on, sitter, "rearing", brood=code, role="sire", enclosure=AT)
    if until < together.LAST_DAY:
        s.correct(line, until + days(1), "learnt", "He lets them go.", until=until.isoformat())


def _laid(s: Story, on: date, code: str, hen: Animal, sitter: Animal, mates: list[Animal]) -> None:
    laid = on - days(28)
    parents = {"dam": hen, "sire": sitter}
    others = [m for m in mates if m is not sitter and _there(s, m, laid)]
    mated = together.courtship(s, laid - days(1), hen, [sitter], "mating", outcome="accepted", enclosure=AT)
    for other in others[:1]:
        courtship(s, laid - days(2), hen, [other], "mating", outcome="accepted", enclosure=AT)
    known = {"start_basis": "seen", "courtship": mated}
    mated.marked = True
    if on.year >= UNSURE:
        weights = [(sitter, "3/5"), *((m, f"2/{5 * len(others)}") for m in others)]
        pairs = [{"dam": hen, "sire": m, "weight": w} for m, w in weights]
        known |= {"parents": pairs, "draw": "each", "social_mate": sitter}
    else:
        known |= parents
    carer = [{"carer": sitter, "since": laid.isoformat()}]
    eggs = {"eggs": 4, "eggs_are": "exact", "clutch_complete": True}
    note = f"The fourth egg; the first lay there on {spoken(laid - days(3))}."
    together.brood(s, laid, code, JACANA, "nest", carers=carer, nest="lilies", enclosure=AT, note=note, **known, **eggs)


def _there(s: Story, male: Animal, on: date) -> bool:
    moved = told(s.diary, "move", lambda p: p.get("animal") is male and p.get("to") == AT)
    gone = told(s.diary, "death", lambda p: p.get("animal") is male)
    return bool(moved) and first_day(moved[0]) < on and not (gone and first_day(gone[0]) <= on)


def _of_the_fourth(s: Story, on: date, hen: Animal, sitter: Animal, mates: list[Animal], *, raised: bool) -> None:
    """Clutches of the fourth mate: two chicks of four eggs, and a nest that was flooded."""
    code = _code(on, 3)
    _laid(s, on, code, hen, sitter, mates)
    if not raised:
        together.brood_end(s, on - days(9), code, lost=4, how="washed_out", note="The pump ran over in the night.")
        return
    for k in range(2):
        chick: Animal = s.hatching(on, JACANA, AT, "u", dam=hen, sire=sitter, brood=code, batch=f"clutch of {on}")
        s.move(on + days(80 + k), chick, "K7")
    together.brood_end(s, on + days(3), code, unhatched=2)


def sea_lions(s: Story) -> None:
    """The order among the cows before and after old Marl's death; dams and their pups."""
    marl, sal, ren, tern = (named(s.diary, name) for name in ("Marl", "Saltmeadow", "Wrenna", "Ternlet"))
    for one in (marl, sal, ren, tern):
        member(s, date(2023, 2, 7), one, "S1-A", since="2022")
    order(s, date(2023, 11, 14), "S1-A", marl, sal, ren, tern, basis="seen")
    order(s, date(2025, 11, 18), "S1-A", marl, ren, sal, tern, basis="seen")
    order(s, date(2026, 4, 14), "S1-A", ren, [sal, tern], basis="feeding")
    for name, dam, on, until in (
        ("Brisket", sal, date(2023, 7, 4), "2024-03"),
        ("Thriftwood", ren, date(2023, 7, 11), "2024-03"),
        ("Clifftop", sal, date(2025, 7, 8), "2026-02"),
    ):
        line = associate(s, on, dam, "rearing", to=named(s.diary, name), role="dam", enclosure="S2")
        s.correct(line, date(int(until[:4]), int(until[-2:]) + 1, 10), "learnt", "Weaned.", until=until)
    associate(s, date(2024, 6, 25), marl, "seen_together", to=tern, enclosure="S1", note="Hauls out beside her.")
