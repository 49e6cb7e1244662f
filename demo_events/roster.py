"""Who and where: the two member houses, their staff, their partners, their enclosures. All invented."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

BEGIN = date(2023, 1, 1)  # the day the old card index was closed
JOINED = date(2023, 3, 1)  # the day Skerrin joined the book


class Person(NamedTuple):
    """One of the staff: the short code that is typed, and from when it may be."""

    code: str
    name: str
    role: str
    house: str
    since: date = BEGIN


class Party(NamedTuple):
    """An outside body or person the houses deal with."""

    code: str
    name: str
    sort: str
    country: str
    since: date = BEGIN
    numbers: tuple[tuple[str, str], ...] = ()
    members: tuple[tuple[str, str, str], ...] = ()  # of a joint party: house or party, its code, its share


class Enclosure(NamedTuple):
    """Where animals live."""

    code: str
    name: str
    section: str
    purpose: str
    setting: str = "indoors"
    parent: str = ""
    since: date = BEGIN
    house: str = "MS"


# the first person and the first house stand in genesis.json, not among the lines
FIRST_PERSON = Person("QM", "Marisa Quendle", "registrar", "MS")
HOUSES = {
    "MS": {
        "house": "MS",
        "name": "Marrow Sound Aquarium",
        "time_zone": "Europe/Lisbon",
        "hemisphere": "north",
        "number_pattern": "MS-{year}-{n:04}",
        "keep_years": 10,
    },
    "SK": {
        "house": "SK",
        "name": "Skerrin Shore Birdhall",
        "time_zone": "Europe/Dublin",
        "hemisphere": "north",
        "number_pattern": "SK-{year}-{n:04}",
        "keep_years": 10,
    },
}

PERSONS = (
    Person("VR", "Rui Velhorta", "curator of fishes and invertebrates", "MS"),
    Person("BI", "Ilse Bramwick", "curator of birds and mammals", "MS"),
    Person("SN", "Nuno Salgarte", "aquarist, Reef Hall", "MS"),
    Person("FO", "Odile Farranby", "aquarist, Sound Hall", "MS"),
    Person("CT", "Tomas Corvelle", "aquarist, nursery and quarantine", "MS"),
    Person("PD", "Dina Pedralha", "keeper, Bird Cliff", "MS"),
    Person("LJ", "Jory Lanterel", "keeper, Seal Cove", "MS"),
    Person("HK", "Katrin Hollbeque", "veterinarian", "MS"),
    Person("AE", "Edda Ansgold", "relief keeper", "MS", date(2024, 2, 5)),
    Person("EL", "Elva Lorring", "assistant registrar", "MS", date(2025, 6, 2)),
    Person("MU", "Una Merrowick", "head keeper and registrar", "SK", JOINED),
    Person("TB", "Brona Teigharn", "keeper", "SK", JOINED),
    Person("AC", "Colm Ardrossel", "keeper", "SK", date(2025, 3, 3)),
)

PARTIES = (
    Party("VBA", "Verrin Bay Aquarium", "institution", "ES"),
    Party("NSP", "Nordhavel Sea Park", "institution", "DK"),
    Party("OZG", "Ostrel Zoological Garden", "institution", "NL"),
    Party("CBC", "Corrigan Bay Sea Centre", "institution", "IE"),
    Party("GWP", "Grevel Wader Park", "institution", "FR", JOINED),
    Party("HTL", "Halyard and Tellin, live marine animals", "dealer", "PT", numbers=(("trader", "PT-LM-0417"),)),
    Party("BOA", "Brack and Ottery, aquatic imports", "dealer", "DE", numbers=(("trader", "DE-AQ-2290"),)),
    Party("LCNA", "Lower Coast Nature Authority", "authority", "PT"),
    Party("HCO", "Harbour Customs Office", "authority", "PT"),
    Party("USH", "University of Sarnhaven, fisheries laboratory", "research", "NL"),
    Party("PSR", "Pellmar Seal Rescue", "other", "PT"),
    Party("IWO", "Island Wildlife Office", "authority", "IE", JOINED),
    Party("ATW", "Ambrose Tillwater", "natural_person", "IE", date(2024, 5, 6)),
    Party(
        "MVJ",
        "Marrow Sound and Verrin Bay, jointly",
        "joint",
        "PT",
        date(2026, 9, 14),
        members=(("house", "MS", "1/2"), ("party", "VBA", "1/2")),
    ),
)

SOUND, REEF, BEHIND, SEAL, CLIFF = "Sound Hall", "Reef Hall", "Behind the scenes", "Seal Cove", "Bird Cliff"

ENCLOSURES = (
    Enclosure("C1", "Kelp Gully", SOUND, "exhibit"),
    Enclosure("C2", "Harbour Wall", SOUND, "exhibit"),
    Enclosure("C3", "Sand Flats", SOUND, "exhibit"),
    Enclosure("C4", "Rock Pool", SOUND, "exhibit"),
    Enclosure("C5", "The Wreck", SOUND, "exhibit"),
    Enclosure("C6", "Seagrass Meadow", SOUND, "exhibit"),
    Enclosure("C7", "Octopus Den", SOUND, "exhibit"),
    Enclosure("C8", "Lobster Ledge", SOUND, "exhibit"),
    Enclosure("C9", "Estuary", SOUND, "exhibit"),
    Enclosure("C10", "Weed Curtain", SOUND, "exhibit"),
    Enclosure("C11", "Seahorse Window", SOUND, "exhibit"),
    Enclosure("R1", "Outer Reef", REEF, "exhibit"),
    Enclosure("R2", "Anthias Wall", REEF, "exhibit"),
    Enclosure("R3", "Anemone Garden", REEF, "exhibit"),
    Enclosure("R4", "Skunk Reef", REEF, "exhibit"),
    Enclosure("R5", "Seahorse Grass", REEF, "exhibit"),
    Enclosure("R6", "Cleaner Station", REEF, "exhibit"),
    Enclosure("R7", "Cardinal Lagoon", REEF, "exhibit"),
    Enclosure("R8", "Moon Jelly Ring", REEF, "exhibit"),
    Enclosure("R9", "Coral Heads", REEF, "exhibit"),
    Enclosure("H1", "Hospital tank 1", BEHIND, "holding"),
    Enclosure("H2", "Hospital tank 2", BEHIND, "holding"),
    Enclosure("N1", "Seahorse rearing 1", BEHIND, "nursery"),
    Enclosure("N2", "Seahorse rearing 2", BEHIND, "nursery"),
    Enclosure("N3", "Reef rearing", BEHIND, "nursery"),
    Enclosure("N4", "Egg-case room", BEHIND, "nursery"),
    Enclosure("N5", "Cuttlefish raceway", BEHIND, "nursery"),
    Enclosure("N6", "Ray nursery", BEHIND, "nursery"),
    Enclosure("N7", "Seadragon rearing", BEHIND, "nursery"),
    Enclosure("V1", "Reserve, warm 1", BEHIND, "reserve"),
    Enclosure("V2", "Reserve, warm 2", BEHIND, "reserve"),
    Enclosure("V3", "Seahorse reserve 1", BEHIND, "reserve"),
    Enclosure("V4", "Seahorse reserve 2", BEHIND, "reserve"),
    Enclosure("V5", "Reserve, cold", BEHIND, "reserve"),
    Enclosure("V6", "Pair tanks", BEHIND, "reserve"),
    Enclosure("V7", "Pair tanks, waiting", BEHIND, "reserve"),
    Enclosure("Q1", "Quarantine, cold", BEHIND, "quarantine"),
    Enclosure("Q2", "Quarantine, warm", BEHIND, "quarantine"),
    Enclosure("Q3", "Quarantine, invertebrates", BEHIND, "quarantine"),
    Enclosure("Q4", "Quarantine, birds", BEHIND, "quarantine"),
    Enclosure("Q5", "Quarantine, mammals", BEHIND, "quarantine", "outdoors"),
    Enclosure("S1", "Main Pool", SEAL, "exhibit", "outdoors"),
    Enclosure("S2", "Pup Pool", SEAL, "nursery", "outdoors"),
    Enclosure("S3", "Bull Pool", SEAL, "reserve", "outdoors"),
    Enclosure("S4", "Rescue Ward", SEAL, "holding"),
    Enclosure("O1", "Otter Stream", SEAL, "exhibit", "outdoors"),
    Enclosure("O2", "Otter holt", SEAL, "nursery", parent="O1"),
    Enclosure("B1", "Penguin Beach", CLIFF, "exhibit", "outdoors"),
    *(Enclosure(f"B1-N{n}", f"Nest burrow {n}", CLIFF, "nursery", "outdoors", "B1") for n in range(1, 8)),
    Enclosure("B2", "Crèche Pen", CLIFF, "nursery", "outdoors"),
    Enclosure("B3", "Tern Aviary", CLIFF, "exhibit", "outdoors"),
    Enclosure("B5", "Burrow Bank", CLIFF, "exhibit", "outdoors", since=date(2025, 9, 15)),
    Enclosure("K1", "Puffin Cliff", "Hall", "exhibit", "outdoors", since=JOINED, house="SK"),
    Enclosure("K2", "Shingle Run", "Hall", "exhibit", "outdoors", since=JOINED, house="SK"),
    Enclosure("K3", "Lily House", "Hall", "exhibit", since=JOINED, house="SK"),
    Enclosure("K4", "Eider Pond", "Hall", "exhibit", "outdoors", since=JOINED, house="SK"),
    Enclosure("K5", "Rearing Room", "Yard", "nursery", since=JOINED, house="SK"),
    Enclosure("K6", "Quarantine Room", "Yard", "quarantine", since=JOINED, house="SK"),
    Enclosure("K7", "Side Aviary", "Yard", "reserve", "outdoors", since=JOINED, house="SK"),
    Enclosure("K9", "Avocet Lagoon", "Hall", "exhibit", "outdoors", since=JOINED, house="SK"),
)

# Who types the sheets: (on weekdays, by weight), (at weekends). A person of the list types only once on the staff.
TYPISTS = {
    "MS": ((("QM", 70), ("EL", 45), ("VR", 8), ("BI", 8)), (("SN", 1), ("FO", 1), ("PD", 1), ("AE", 1))),
    "SK": ((("MU", 80), ("TB", 20)), (("TB", 2), ("AC", 1))),
}
SINCE = {p.code: p.since for p in (FIRST_PERSON, *PERSONS)}
