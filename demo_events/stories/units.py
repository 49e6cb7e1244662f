"""Groups that live as one: who belongs, in which order, whose loss let another move up or change its sex."""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary, Line
from demo_events.stories import together
from demo_events.stories.together import associate, courtship, death_of, member, named, of_taxon, order, pairing, told
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot

PERCULA, SKUNK, HOST = "Amphiprion percula", "Amphiprion akallopisos", "Entacmaea quadricolor"
ANTHIAS, CLEANER = "Pseudanthias squamipinnis", "Labroides dimidiatus"
SWALLOWTAIL, GOBY = "Anthias anthias", "Gobiodon okinawae"
CARDS = date(2023, 1, 5)  # the day the further cards were typed
FIRST = date(2023, 2, 7)  # the day after the first units were entered


def tell(diary: Diary, place: int) -> None:
    """Units of the Reef Hall and the Sound Hall."""
    garden(Story(diary, place, "anemone garden", "Reef Hall", "SN CT AE"))
    skunk_reef(Story(diary, place + 1, "skunk reef", "Reef Hall", "SN CT AE"))
    coral_heads(Story(diary, place + 2, "coral heads", "Reef Hall", "SN CT AE"))
    anthias_wall(Story(diary, place + 3, "anthias wall", "Reef Hall", "SN CT AE"))
    wreck(Story(diary, place + 4, "swallowtails", "Sound Hall", "FO CT"))
    cleaners(Story(diary, place + 5, "cleaner harem", "Reef Hall", "SN AE"))
    gobies(Story(diary, place + 6, "coral gobies", "Reef Hall", "SN CT"))


def opened_by(change: list[Line], loss: Line) -> None:
    """The changes say which loss opened the place."""
    loss.marked = True
    for line in change:
        line.payload = line.payload | {"opened_by": loss}


def garden(s: Story) -> None:
    """The Anemone Garden: the order before and after Coral's death, and who nests with whom."""
    fish = of_taxon(s.diary, PERCULA)[:5]
    coral, tansy, burr, fennel, least = fish
    host = of_taxon(s.diary, HOST)[0]
    joined = [member(s, FIRST, one, "R3-A", since="2022") for one in fish]
    associate(s, FIRST, coral, "host", to=host, since="2022", enclosure="R3")
    order(s, date(2023, 2, 21), "R3-A", coral, tansy, burr, fennel, least, basis="feeding")
    pairing(s, FIRST, coral, tansy, "shared_host", since="2021", unit="R3-A", enclosure="R3")
    order(s, date(2023, 11, 21), "R3-A", coral, tansy, burr, [fennel, least], basis="aggression")
    lost = death_of(s.diary, coral)
    opened_by(told(s.diary, "sex_change", lambda p: p.get("animal") is tansy), lost)
    order(s, date(2024, 2, 14), "R3-A", tansy, burr, fennel, least, basis="feeding")
    pairing(s, date(2024, 4, 12), tansy, burr, "shared_nest", unit="R3-A", enclosure="R3")
    order(s, date(2024, 8, 20), "R3-A", tansy, burr, fennel, least, basis="feeding")
    s.correct(joined[4], date(2024, 10, 9), "learnt", "Bitten, and set apart.", until="2024-10-08")
    order(s, date(2025, 3, 4), "R3-A", tansy, burr, fennel, basis="feeding")
    order(s, date(2026, 3, 3), "R3-A", tansy, burr, fennel, basis="aggression")
    for on, by, to in ((date(2023, 6, 7), tansy, coral), (date(2025, 5, 14), burr, tansy)):
        courtship(s, on, by, [to], "display", outcome="accepted", enclosure="R3")
    for k, line in enumerate(told(s.diary, "hatching", lambda p: p.get("taxon") == PERCULA and "dam" in p)):
        _nest(s, line, host, k)


def _nest(s: Story, hatched: Line, host: Animal, k: int) -> None:
    """The eggs of a nest that was raised: seven or eight days on the tile, fanned by the male."""
    on = together.first_day(hatched)
    code = f"AP-{on:%Y-%m%d}"
    dam, sire = hatched.payload["dam"], hatched.payload["sire"]
    laid = on - together.days(8)
    together.brood(
        s,
        laid,
        code,
        PERCULA,
        "substrate",
        dam=dam,
        sire=sire,
        carers=[{"carer": sire, "since": laid.isoformat()}],
        host=host,
        enclosure="R3",
        eggs=240 + 35 * k,
        eggs_are="at_least",
        start_basis="seen",
    )
    together.check(s, on - together.days(1), code, stage="silver eyes", lost=20 + 7 * k, how="fungus", temperature="27")
    hatched.payload = hatched.payload | {"brood": code}
    together.brood_end(s, on + together.days(1), code, note="Tile bare; those not caught were left to the filter.")


def skunk_reef(s: Story) -> None:
    """The female is lent for eight weeks; her male begins to change, and gives it up."""
    fish = of_taxon(s.diary, SKUNK)[:3]
    vellum, quill, small = fish
    together.unit(s, FIRST, "R4-A", "pair_with_non_breeders", SKUNK, "R4")
    for one in fish:
        member(s, FIRST, one, "R4-A", since="2021-09")
    pairing(s, FIRST, vellum, quill, "shared_host", since="2021", unit="R4-A", enclosure="R4")
    order(s, date(2024, 7, 9), "R4-A", vellum, quill, small, basis="seen")
    order(s, date(2025, 4, 29), "R4-A", vellum, quill, small, basis="seen")
    lent = told(s.diary, "transfer", lambda p: p.get("animal") is vellum)[0]
    opened_by(told(s.diary, "sex_change", lambda p: p.get("animal") is quill)[:1], lent)
    order(s, date(2025, 9, 2), "R4-A", vellum, quill, small, basis="seen")
    pairing(s, date(2025, 9, 9), vellum, quill, "shared_host", unit="R4-A", enclosure="R4", note="As before the loan.")


def coral_heads(s: Story) -> None:
    """A third group: its female died in August 2026, and her place is still open."""
    known = {"origin": "bred", "earlier_house": "VBA", "sheet": CARDS}
    host: Animal = s.opening(HOST, "R9", "u", arrived="2021", origin="bred", sheet=CARDS)
    female: Animal = s.opening(SKUNK, "R9", "f", born="2017", name="Marram", **known)
    male: Animal = s.opening(SKUNK, "R9", "m", born="2019", name="Orache", **known)
    third: Animal = s.opening(SKUNK, "R9", "u", born="2021", name="Teasel", **known)
    fourth: Animal = s.opening(SKUNK, "R9", "u", born="2021", **known)
    together.unit(s, FIRST, "R9-A", "pair_with_non_breeders", SKUNK, "R9", host=host)
    for one in (female, male, third, fourth):
        member(s, FIRST, one, "R9-A", since="2022")
    pairing(s, FIRST, female, male, "shared_host", since="2021", unit="R9-A", enclosure="R9")
    order(s, date(2025, 10, 14), "R9-A", female, male, third, fourth, basis="feeding")
    for one, length in ((female, "91"), (male, "74.5"), (third, "58"), (fourth, "51.5")):
        fields = {"animal": one, "measure": "length", "value": length, "unit": "mm"}
        s.put("measurement", date(2026, 4, 14), fields, method="standard length, from a photograph")
    order(s, date(2026, 6, 16), "R9-A", female, male, third, fourth, basis="aggression")
    s.die("2026-08-17/2026-08-18", female, cause="not_determined", circumstance="found_dead")
    order(s, date(2026, 9, 8), "R9-A", male, third, fourth, basis="feeding", note="No sign of a change so far.")


def anthias_wall(s: Story) -> None:
    """One female of the harem follows each male that is lost; nobody knows which until it shows."""
    lot = told(s.diary, "opening", lambda p: p["taxon"] == ANTHIAS)[0].payload["lot"]
    assert isinstance(lot, Lot)
    member(s, FIRST, lot, "R2-A", since="2021-11")
    deaths = told(s.diary, "death", lambda p: p.get("lot") is lot and p["how_many"].get("m", 0) > 0)
    changes = told(s.diary, "sex_change", lambda p: p.get("lot") is lot)
    for loss, pair in zip(deaths, (changes[:2], changes[2:]), strict=True):
        _goes_on(pair[1], pair[0])
        opened_by(pair, loss)
    courtship(s, date(2024, 8, 13), lot, [lot], "spawning", outcome="accepted", enclosure="R2", note="At dusk.")


def _goes_on(completed: Line, sign: Line) -> None:
    sign.marked = True
    completed.payload = completed.payload | {"of": sign}


def wreck(s: Story) -> None:
    """A many-male group under one number: two males die, one is sent away; two females change so far."""
    lot: Lot = s.opening(SWALLOWTAIL, "C5", {"m": 4, "f": 30}, origin="wild", arrived="2021", sheet=CARDS)
    together.unit(s, FIRST, "C5-A", "many_male_group", SWALLOWTAIL, "C5")
    member(s, FIRST, lot, "C5-A", since="2021")
    courtship(s, "2024-04-09/2024-04-15", lot, [lot], "display", days=(5, 7), enclosure="C5")
    two = s.die(
        date(2026, 6, 1), lot, {"m": 2}, cause="predation", circumstance="killed_by_another", note="The conger."
    )
    sent = s.send(date(2026, 6, 3), lot, "CBC", "donation", {"m": 1})
    seen = (date(2026, 6, 5), date(2026, 6, 7))
    signs = [s.change(on, lot, "m", "first_sign", {"f": 1}, basis="behaviour") for on in seen]
    done = [
        s.change(on, lot, "m", "completed", {"f": 1}, basis="colour") for on in (date(2026, 6, 16), date(2026, 6, 18))
    ]
    for sign, end in zip(signs, done, strict=True):
        _goes_on(end, sign)
    opened_by([signs[0], done[0], signs[1], done[1]], two)
    sent.marked = True
    s.note(date(2026, 7, 7), "question", "Two have changed since the three males went; will a third follow?", lot)


def cleaners(s: Story) -> None:
    """A harem of cleaner wrasses: the male dies and the highest female is the male within a fortnight."""
    known = {"origin": "wild", "arrived": "2022-06", "sheet": CARDS}
    male: Animal = s.opening(CLEANER, "R1", "m", name="Rush", **known)
    hens: list[Animal] = [s.opening(CLEANER, "R1", "f", **known) for _ in range(4)]
    together.unit(s, FIRST, "R1-A", "harem", CLEANER, "R1")
    for one in (male, *hens):
        member(s, FIRST, one, "R1-A", since="2022-09")
    order(s, date(2023, 10, 17), "R1-A", male, hens[0], hens[1], [hens[2], hens[3]], basis="aggression")
    for hen in hens[:3]:
        courtship(s, date(2024, 3, 26), male, [hen], "spawning", outcome="accepted", enclosure="R1")
    lost = s.die(
        date(2024, 8, 13), male, cause="predation", circumstance="killed_by_another", note="The grouper's cousin."
    )
    sign = s.change(date(2024, 8, 13), hens[0], "m", "first_sign", basis="behaviour", note="Within two hours.")
    done = s.change("2024-08-27/2024-08-30", hens[0], "m", "completed", basis="spawning")
    opened_by([sign, done], lost)
    order(s, date(2024, 9, 10), "R1-A", hens[0], hens[1], hens[2], hens[3], basis="aggression")
    for hen in hens[1:]:
        courtship(s, date(2025, 4, 15), hens[0], [hen], "spawning", outcome="accepted", enclosure="R1")
    _company(s)


def _company(s: Story) -> None:
    """The old pair of the Cleaner Station, and the male that became its second female."""
    male, female = of_taxon(s.diary, CLEANER)[:2]
    second = of_taxon(s.diary, CLEANER, "transfer")[0]
    pairing(s, FIRST, female, male, "assumed", since="2022", enclosure="R6")
    pairing(s, date(2025, 8, 5), second, male, "introduced", enclosure="R6", note="Two males, put together.")
    opened_by(told(s.diary, "sex_change", lambda p: p.get("animal") is second)[:1], death_of(s.diary, female))


def gobies(s: Story) -> None:
    """Both ways: two males make a pair by one turning female; widowed, she meets a female and turns back."""
    one: Animal = s.opening(GOBY, "R9", "m", origin="wild", arrived="2022-11", name="Sorrel", sheet=CARDS)
    other: Animal = s.opening(GOBY, "R9", "m", origin="wild", arrived="2022-11", name="Dock", sheet=CARDS)
    pairing(s, date(2023, 3, 14), one, other, "introduced", enclosure="R9", note="Two males in one coral head.")
    s.change(date(2023, 3, 28), other, "f", "first_sign", basis="behaviour")
    s.change("2023-04-10/2023-04-17", other, "f", "completed", basis="spawning")
    for laid, eggs in (
        (date(2023, 4, 17), 180),
        (date(2023, 9, 5), 260),
        (date(2024, 4, 9), 240),
        (date(2024, 9, 3), 220),
    ):
        code = f"GO-{laid:%Y-%m%d}"
        carer = [{"carer": one, "since": laid.isoformat()}]
        more = {"eggs": eggs, "eggs_are": "at_least", "start_basis": "seen", "enclosure": "R9", "carers": carer}
        together.brood(s, laid, code, GOBY, "substrate", dam=other, sire=one, **more)
        together.brood_end(s, laid + together.days(6), code, lost=eggs, how="eaten", note="Larvae into the open water.")
    lost = s.die("2025-01-13/2025-01-14", one, cause="not_determined", circumstance="found_dead")
    hen: Animal = s.receive(date(2025, 2, 4), "HTL", GOBY, "Q2", "f", "sale")
    s.move(date(2025, 3, 11), hen, "R9")
    pairing(s, date(2025, 3, 18), other, hen, "introduced", enclosure="R9", note="Two females; Dock is the larger.")
    sign = s.change(date(2025, 3, 31), other, "m", "first_sign", basis="behaviour")
    done = s.change("2025-04-19/2025-04-26", other, "m", "completed", basis="spawning")
    opened_by([sign, done], lost)
    assert named(s.diary, "Dock") is other
