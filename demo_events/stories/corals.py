"""Corals cut and divided, live food, clownfish nobody counted and sent over the New Year, an eider that stays."""

from __future__ import annotations

from datetime import date

from demo_events.diary import Diary
from demo_events.stories.common import permit
from demo_events.storyteller import Story
from demo_events.subjects import Animal, Lot

HAMMER, SMOOTH, ROBUST = "Euphyllia ancora", "Stylophora pistillata", "Stylophora mordax"
BRINE, SMELT, PERCULA, EIDER = "Artemia franciscana", "Atherina presbyter", "Amphiprion percula", "Somateria mollissima"


def tell(diary: Diary, place: int) -> None:
    """Four stories."""
    _corals(Story(diary, place, "corals", "Reef Hall", "SN CT"))
    _food(Story(diary, place + 1, "live food", "Behind the scenes", "CT"))
    _nest(Story(diary, place + 2, "a nest not counted", "Behind the scenes", "CT SN"))
    _eider(Story(diary, place + 3, "an eider stays", "Yard", "TB", "SK"))


def _corals(s: Story) -> None:
    """Two colonies become many; one name is changed, two are found to be one; two houses own a colony together."""
    papers = {"permits": [permit(s, date(2023, 5, 8))], "source_code": "C"}
    mother: Animal = s.receive(date(2023, 5, 16), "VBA", SMOOTH, "Q3", "u", "donation", origin="bred", **papers)
    hammer: Animal = s.receive(date(2023, 5, 16), "VBA", HAMMER, "Q3", "u", "donation", origin="bred", **papers)
    s.move(date(2023, 6, 20), mother, "R1")
    s.move(date(2023, 6, 20), hammer, "R1")
    cut = _made(s, date(2024, 10, 22), mother, "N3", 8, made_how="fragment", note="Of the tips, on plugs.")
    s.die(date(2024, 11, 5), cut, {"u": 1}, cause="husbandry", circumstance="found_dead", note="Off its plug.")
    s.put(
        "propagation",
        date(2025, 2, 11),
        {"into": cut, "how_many": {"u": 5}, "enclosure": "N3"},
        made_from=mother,
        made_how="fragment",
    )
    cut.put("N3", {"u": 5})
    rough: Lot = s.receive(
        date(2024, 10, 15), "BOA", ROBUST, "Q3", {"u": 4}, "sale", permits=[permit(s, date(2024, 10, 7), "HCO")]
    )
    s.move(date(2024, 11, 19), rough, "R1")
    _names(s)
    s.put("measurement", date(2024, 10, 8), {"animal": mother, "measure": "tissue_area", "value": "310", "unit": "cm2"})
    _made(s, date(2025, 4, 29), hammer, "R1", 2, made_how="division", source_remains=False, note="Grown apart.")
    s.send(date(2025, 10, 28), cut, "CBC", "donation", {"u": 4}, permits=[permit(s, date(2025, 10, 20))])
    late: Lot = s.receive(
        date(2026, 1, 2),
        "BOA",
        SMOOTH,
        "Q3",
        {"u": 8},
        "sale",
        left="2025-12-30",
        sent={"u": 10},
        arrived_alive={"u": 8},
        dead_on_arrival={"u": 2},
        permits=[permit(s, date(2025, 12, 18), "HCO")],
        note="Held back at the border over the New Year; two bags cold.",
    )
    s.move(date(2026, 2, 10), late, "R1")
    s.title(date(2026, 9, 15), mother, "MVJ", unseen=True, note="Half each with Verrin Bay from today; it stays here.")
    s.put("measurement", date(2026, 10, 6), {"animal": mother, "measure": "tissue_area", "value": "905", "unit": "cm2"})


def _names(s: Story) -> None:
    """One genus has another name, and two species are one: nobody moves."""
    s.put(
        "taxon_renamed",
        date(2025, 2, 3),
        {"taxon": HAMMER, "name": "Fimbriaphyllia ancora", "evidence": "The list of corals the house follows."},
        unseen=True,
    )
    s.put(
        "taxa_united",
        date(2025, 2, 3),
        {"taxon": ROBUST, "united_into": SMOOTH, "evidence": "A revision, cited from memory."},
        note="Bought under the other name; nobody looked at the colonies again.",
        unseen=True,
    )


def _made(s: Story, on: date, source: Animal, place: str, n: int, **more: object) -> Lot:
    """A new lot of parts of a colony."""
    lot = s.new(source.taxon, place, on, {"u": n})
    assert isinstance(lot, Lot)
    s.put("propagation", on, {"lot": lot, "how_many": {"u": n}, "made_from": source, "enclosure": place}, **more)
    return lot


def _food(s: Story) -> None:
    """Brine shrimps nobody counts, and smelts that are counted nearly."""
    shrimps = Lot(BRINE, "MS", date(2023, 5, 2))
    s.put(
        "hatching",
        date(2023, 5, 2),
        {"lot": shrimps, "taxon": BRINE, "enclosure": "N2", "standing": "feeder", "kept": "not_counted"},
        note="Out of dry cysts of the trade: the culture in the six drums; present, never counted.",
    )
    smelts: Lot = s.receive(
        date(2025, 2, 11), "HTL", SMELT, "V5", {"u": 60}, "sale", standing="feeder", kept="estimated"
    )
    s.put("count", date(2025, 2, 24), {"lot": smelts, "at_least": 52, "at_most": 60, "taken_as": {"u": 56}})
    s.note(date(2025, 2, 24), "question", "Counted from a photograph of the shoal: between 52 and 60.", smelts)
    for on, n in ((date(2025, 3, 4), 20), (date(2025, 4, 1), 20), (date(2025, 4, 29), 16)):
        s.put("fed_out", on, {"lot": smelts, "how_many": {"u": n}, "fed_to": "C5"})


def _nest(s: Story) -> None:
    """Larvae nobody counted until they had settled; some sent off on 30 December, in on 2 January."""
    s.put(
        "brood",
        date(2025, 5, 10),
        {"brood": "AP-2025-2", "taxon": PERCULA, "mode": "substrate", "enclosure": "R3", "eggs": 300},
        eggs_are="at_least",
    )
    lot = Lot(PERCULA, "MS", date(2025, 5, 18))
    s.put(
        "hatching",
        date(2025, 5, 18),
        {"lot": lot, "taxon": PERCULA, "enclosure": "N3", "brood": "AP-2025-2", "counted": False, "stage": "larva"},
    )
    fields = {"lot": lot, "how_many": {"u": 12}, "from": "N3", "cause": "nutrition", "circumstance": "found_dead"}
    s.put("death", date(2025, 6, 3), fields)
    s.put(
        "count",
        date(2025, 7, 1),
        {"lot": lot, "how_many": {"u": 46}, "enclosure": "N3"},
        note="All settled; the first count.",
    )
    s.put(
        "measurement",
        date(2025, 9, 9),
        {"lot": lot, "measure": "length", "unit": "mm", "n": 10, "mean": "21.4", "least": "18", "most": "25"},
    )
    s.put("count", date(2025, 12, 30), {"lot": lot, "how_many": {"u": 41}, "before": True}, note="Before packing.")
    shipment = {"left": "2025-12-30", "sent": {"u": 20}, "arrived_alive": {"u": 18}, "dead_on_arrival": {"u": 2}}
    s.put(
        "transfer",
        date(2026, 1, 2),
        {"lot": lot, "from": "MS", "to": "VBA", "terms": "donation", **shipment},
        note="The ferry did not sail; Verrin Bay unpacked them on the second.",
    )
    taken = s.put(
        "count",
        date(2026, 1, 3),
        {"lot": lot, "how_many": {"u": 20}, "stands_for": "2025-12-31"},
        source={"kind": "stock_take", "ref": "stock take for the end of 2025, Behind the scenes"},
    )
    taken.marked = True
    s.put(
        "death",
        date(2026, 1, 9),
        {"lot": lot, "how_many": {"u": 1}, "out_of_count": taken, "cause": "not_determined"},
        circumstance="found_dead",
        note="Dry behind the filter, long dead: the one that the stock take missed.",
    )


def _eider(s: Story) -> None:
    """A duck with a broken wing, the authority's; unfit for the wild, it joins the collection."""
    duck: Animal = s.acquire(
        date(2025, 1, 21),
        EIDER,
        "K6",
        "f",
        "rescue",
        where="Skerrin slipway",
        owner="IWO",
        standing="rehabilitation",
        permit="IWO-2025-0031",
    )
    s.move(date(2025, 3, 11), duck, "K7")
    s.title(date(2025, 6, 17), duck, "SK", unseen=True, note="The office leaves her with us: she will not fly.")
    s.put("standing_change", date(2025, 6, 17), {"animal": duck, "standing": "collection"}, unseen=True)
    s.move(date(2025, 6, 24), duck, "K4")
