"""The registrar's own: permits, agreements, units, day sheets, the stock take for the year's end, a body given away.

Told last: most of it is about animals of other stories.
"""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary, Line
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot

GILTHEAD = "Sparus aurata"


def tell(diary: Diary, place: int) -> None:
    """Papers first, then what is about the animals."""
    s = Story(diary, place, "papers", "Office", "QM")
    _permits(s)
    _agreements(s)
    _units(s)
    _party(s)
    _sheets(s)
    _stock_take(s)
    _bodies(s)
    _measured(s)


def named(s: Story, name: str) -> Animal:
    """An animal of another story, by its call name."""
    subjects = (line.payload.get("animal") for line in s.diary.lines)
    return next(x for x in subjects if isinstance(x, Animal) and x.name == name)


def transfers(s: Story, name: str) -> list[Line]:
    """Transfers of an animal of another story, in the order told."""
    animal = named(s, name)
    return [line for line in s.diary.lines if line.kind == "transfer" and line.payload.get("animal") is animal]


def _permits(s: Story) -> None:
    """A licence to hold, extended; one to lend a bull; one for the suitcase of seahorses, closed with the case."""
    s.put(
        "permit",
        date(2023, 1, 9),
        {"permit": "LCNA-H-0041", "authority": "LCNA", "house": "MS", "allows": ["hold", "display", "breed"]},
        **{"from": "2023-01-01", "until": "2025-12-31"},
        unseen=True,
    )
    s.put("permit_changed", date(2025, 11, 24), {"permit": "LCNA-H-0041", "until": "2028-12-31"}, unseen=True)
    bull = transfers(s, "Bosun")[0].payload["permits"][0]
    lent = {"permit": bull, "authority": "LCNA", "house": "MS", "allows": ["export", "transport"]}
    taxa = {"taxa": [named(s, "Bosun").taxon]}
    s.put("permit", date(2024, 8, 28), lent | taxa, **{"from": "2024-08-27", "until": "2024-11-26"}, unseen=True)
    seized = {"permit": "HCO-2024-0052", "authority": "HCO", "house": "MS", "allows": ["hold"]}
    s.put(
        "permit",
        date(2024, 2, 26),
        seized | {"taxa": ["Hippocampus kuda"], "conditions": "No breeding, no display."},
        unseen=True,
    )
    s.put("permit_changed", date(2025, 6, 18), {"permit": "HCO-2024-0052", "closed": True}, unseen=True)


def _agreements(s: Story) -> None:
    """Three breeding loans; the one of Keel was extended by a season."""
    for code, name, nth, other, on, ends, young in (
        ("BL-2024-01", "Saltmeadow", 0, "OZG", date(2024, 4, 30), "2025-04-30", "MS"),
        ("BL-2024-02", "Bosun", 0, "NSP", date(2024, 8, 20), "2026-09-30", "NSP"),
        ("BL-2025-01", "Keel", 0, "OZG", date(2025, 4, 8), "2026-03-31", "MS"),
    ):
        line = transfers(s, name)[nth]
        line.payload = line.payload | {"agreement": code}
        fields = {"agreement": code, "terms": "breeding_loan", "parties": ["MS", other], "young_go_to": young}
        s.put("agreement", on, fields, **{"from": line.occurred, "ends": ends}, unseen=True)
    s.put(
        "agreement_changed",
        date(2026, 2, 24),
        {"agreement": "BL-2025-01", "ends": "2026-09-30"},
        young_terms="The first two pups of 2026 are Marrow Sound's, any further one is Ostrel's.",
        unseen=True,
    )


def _units(s: Story) -> None:
    """Groups that live as one."""
    for unit, sort, taxon, at in (
        ("R3-A", "pair_with_non_breeders", "Amphiprion percula", "R3"),
        ("R2-A", "harem", "Pseudanthias squamipinnis", "R2"),
        ("S1-A", "colony", "Zalophus californianus", "S1"),
    ):
        fields = {"unit": unit, "sort": sort, "taxa": [taxon], "enclosure": at}
        s.put("social_unit", date(2023, 2, 6), fields, unseen=True)


def _party(s: Story) -> None:
    """The dealer goes by another name."""
    fields = {"party": "BOA", "name": "Ottery and Daughters, aquatic imports"}
    s.put("party_changed", date(2025, 1, 7), fields, note="The same trader number.", unseen=True)


def _sheets(s: Story) -> None:
    """Sheets that came in with nothing on them, over three holidays."""
    for on, sections in (
        (date(2024, 12, 25), ("Bird Cliff", "Reef Hall")),
        (date(2025, 12, 25), ("Bird Cliff", "Seal Cove", "Sound Hall")),
        (date(2026, 1, 1), ("Reef Hall", "Seal Cove")),
    ):
        for section in sections:
            s.put("sheet_received", on, {"house": "MS", "section": section, "nothing_to_report": True}, unseen=True)


def _stock_take(s: Story) -> None:
    """3 January 2026, for the end of 2025: animals seen, and one looked for in vain."""
    source = {"kind": "stock_take", "ref": "stock take for the end of 2025, Seal Cove"}
    for name in ("Saltmeadow", "Wrenna", "Ternlet", "Marl", "Clifftop", "Keel"):
        s.put("sighting", date(2026, 1, 3), {"animal": named(s, name), "seen": True}, seen="LJ", source=source)
    s.put(
        "sighting",
        date(2026, 1, 3),
        {"animal": named(s, "Cobalt"), "seen": False},
        note="Deep in the ledge, or moulting.",
        seen="FO",
        source={"kind": "stock_take", "ref": "stock take for the end of 2025, Sound Hall"},
    )
    s.put("sighting", date(2026, 1, 19), {"animal": named(s, "Cobalt"), "seen": True, "enclosure": "C8"}, seen="FO")


def _bodies(s: Story) -> None:
    """The old cow goes to the university; a gilthead eaten past telling."""
    marl = named(s, "Marl")
    s.put("remains", date(2026, 2, 17), {"animal": marl, "fate": "frozen"}, seen="HK")
    given = {"animal": marl, "fate": "examined", "to": "USH", "number_there": "SH-26-0017", "permit": "LCNA-2026-0055"}
    s.put("remains", date(2026, 3, 9), given, unseen=True)
    opened = (line.payload for line in s.diary.lines if line.kind == "opening")
    bream = next(p["lot"] for p in opened if p["taxon"] == GILTHEAD)
    assert isinstance(bream, Lot)
    s.put(
        "death",
        date(2026, 5, 12),
        {"lot": bream, "how_many": {"n": 1}, "cause": "not_determined", "circumstance": "found_dead"},
        note="Eaten past telling; the sex is not known.",
        seen="FO",
    )
    left = bream.at("C2") | {"f": bream.at("C2")["f"] - 1}
    s.put("count", date(2026, 9, 15), {"lot": bream, "how_many": left}, seen="FO", note="It was a female.")


def _measured(s: Story) -> None:
    """The seahorses of pair A, each spring."""
    method = "crown to tip of the tail, against the card"
    for on, name, height in (
        (date(2023, 3, 14), "Sedge", "128"),
        (date(2023, 3, 14), "Rowan", "133.5"),
        (date(2024, 3, 12), "Sedge", "141"),
        (date(2024, 3, 12), "Rowan", "146"),
        (date(2025, 3, 18), "Sedge", "147.5"),
    ):
        fields = {"animal": named(s, name), "measure": "height", "value": height, "unit": "mm", "method": method}
        s.put("measurement", on, fields, seen="SN")
