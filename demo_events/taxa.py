"""The taxa of the house: real names, with facts whose source and trust are those of the project's own list.

`seen`: words or numbers were read at the source; `memory`: not checked against it. Facts that nobody looked
up are left out rather than guessed.
"""

from __future__ import annotations

from datetime import date
from typing import Any, NamedTuple

from demo_events.roster import BEGIN, JOINED

FISH, INVERTEBRATE, BIRD, MAMMAL = "Fishes", "Invertebrates", "Birds", "Mammals"


class Taxon(NamedTuple):
    """A real taxon, as its entry in the register says it."""

    name: str
    common: str
    group: str
    order: str
    family: str
    system: str = "gonochoristic"
    mates: str = ""
    counted_in: str = "animals"
    since: date = BEGIN
    house: str = "MS"


class Fact(NamedTuple):
    """A figure with its source; low and high as decimal text."""

    fact: str
    low: str
    high: str
    unit: str
    condition: str
    source: str
    trust: str


TAXA = (
    Taxon("Hippocampus erectus", "lined seahorse", FISH, "Syngnathiformes", "Syngnathidae", mates="one"),
    Taxon("Hippocampus abdominalis", "big-belly seahorse", FISH, "Syngnathiformes", "Syngnathidae"),
    Taxon("Hippocampus kuda", "spotted seahorse", FISH, "Syngnathiformes", "Syngnathidae", since=date(2024, 2, 20)),
    Taxon("Hippocampus whitei", "White's seahorse", FISH, "Syngnathiformes", "Syngnathidae", mates="one"),
    Taxon("Phyllopteryx taeniolatus", "common seadragon", FISH, "Syngnathiformes", "Syngnathidae", mates="several"),
    Taxon("Doryrhamphus excisus", "bluestripe pipefish", FISH, "Syngnathiformes", "Syngnathidae", mates="one"),
    Taxon("Amphiprion percula", "orange clownfish", FISH, "Blenniiformes", "Pomacentridae", "male_first", "one"),
    Taxon("Amphiprion akallopisos", "skunk clownfish", FISH, "Blenniiformes", "Pomacentridae", "male_first", "one"),
    Taxon("Chromis viridis", "blue-green chromis", FISH, "Blenniiformes", "Pomacentridae", ""),
    Taxon("Pseudanthias squamipinnis", "sea goldie", FISH, "Perciformes", "Serranidae", "female_first", "several"),
    Taxon("Anthias anthias", "swallowtail seaperch", FISH, "Perciformes", "Serranidae", "female_first", "several"),
    Taxon("Gobiodon okinawae", "Okinawa goby", FISH, "Gobiiformes", "Gobiidae", "both_ways", "one"),
    Taxon(
        "Labroides dimidiatus", "bluestreak cleaner wrasse", FISH, "Labriformes", "Labridae", "female_first", "several"
    ),
    Taxon("Coris julis", "rainbow wrasse", FISH, "Labriformes", "Labridae", "some_born_male", "several"),
    Taxon("Pterapogon kauderni", "Banggai cardinalfish", FISH, "Kurtiformes", "Apogonidae"),
    Taxon("Dicentrarchus labrax", "European seabass", FISH, "Moroniformes", "Moronidae"),
    Taxon("Diplodus vulgaris", "two-banded seabream", FISH, "Spariformes", "Sparidae", ""),
    Taxon("Sparus aurata", "gilthead seabream", FISH, "Spariformes", "Sparidae", "male_first"),
    Taxon("Epinephelus marginatus", "dusky grouper", FISH, "Perciformes", "Serranidae", "female_first"),
    Taxon("Conger conger", "European conger", FISH, "Anguilliformes", "Congridae"),
    Taxon("Muraena helena", "Mediterranean moray", FISH, "Anguilliformes", "Muraenidae", ""),
    Taxon("Anguilla anguilla", "European eel", FISH, "Anguilliformes", "Anguillidae"),
    Taxon("Balistes capriscus", "grey triggerfish", FISH, "Tetraodontiformes", "Balistidae"),
    Taxon("Atherina presbyter", "sand smelt", FISH, "Atheriniformes", "Atherinidae"),
    Taxon("Gobius niger", "black goby", FISH, "Gobiiformes", "Gobiidae"),
    Taxon("Gobius paganellus", "rock goby", FISH, "Gobiiformes", "Gobiidae", "", since=date(2025, 2, 11)),
    Taxon("Scyliorhinus canicula", "small-spotted catshark", FISH, "Carcharhiniformes", "Scyliorhinidae"),
    Taxon("Chiloscyllium punctatum", "brownbanded bamboo shark", FISH, "Orectolobiformes", "Hemiscylliidae"),
    Taxon("Raja undulata", "undulate ray", FISH, "Rajiformes", "Rajidae"),
    Taxon("Octopus vulgaris", "common octopus", INVERTEBRATE, "Octopoda", "Octopodidae"),
    Taxon(
        "Callistoctopus macropus",
        "white-spotted octopus",
        INVERTEBRATE,
        "Octopoda",
        "Octopodidae",
        since=date(2025, 10, 21),
    ),
    Taxon("Sepia officinalis", "common cuttlefish", INVERTEBRATE, "Sepiida", "Sepiidae"),
    Taxon("Homarus gammarus", "European lobster", INVERTEBRATE, "Decapoda", "Nephropidae"),
    Taxon("Lysmata seticaudata", "Monaco shrimp", INVERTEBRATE, "Decapoda", "Lysmatidae", "male_first_then_both"),
    Taxon("Paracentrotus lividus", "purple sea urchin", INVERTEBRATE, "Camarodonta", "Parechinidae"),
    Taxon("Marthasterias glacialis", "spiny starfish", INVERTEBRATE, "Forcipulatida", "Asteriidae"),
    Taxon("Actinia equina", "beadlet anemone", INVERTEBRATE, "Actiniaria", "Actiniidae", ""),
    Taxon("Entacmaea quadricolor", "bubble-tip anemone", INVERTEBRATE, "Actiniaria", "Actiniidae", ""),
    Taxon(
        "Eunicella verrucosa", "pink sea fan", INVERTEBRATE, "Malacalcyonacea", "Eunicellidae", counted_in="colonies"
    ),
    Taxon("Artemia franciscana", "brine shrimp", INVERTEBRATE, "Anostraca", "Artemiidae", since=date(2023, 5, 2)),
    *(
        Taxon(name, common, INVERTEBRATE, "Scleractinia", family, "", counted_in="colonies", since=since)
        for name, common, family, since in (
            ("Euphyllia ancora", "hammer coral", "Euphylliidae", date(2023, 5, 2)),
            ("Stylophora pistillata", "smooth cauliflower coral", "Pocilloporidae", date(2023, 5, 2)),
            ("Stylophora mordax", "robust cauliflower coral", "Pocilloporidae", date(2024, 10, 1)),
        )
    ),
    Taxon("Aurelia aurita", "moon jelly", INVERTEBRATE, "Semaeostomeae", "Ulmaridae"),
    Taxon("Spheniscus humboldti", "Humboldt penguin", BIRD, "Sphenisciformes", "Spheniscidae", mates="one"),
    Taxon("Larosterna inca", "Inca tern", BIRD, "Charadriiformes", "Laridae", mates="one"),
    Taxon(
        "Fratercula arctica",
        "Atlantic puffin",
        BIRD,
        "Charadriiformes",
        "Alcidae",
        mates="one",
        since=JOINED,
        house="SK",
    ),
    Taxon("Somateria mollissima", "common eider", BIRD, "Anseriformes", "Anatidae", since=JOINED, house="SK"),
    Taxon(
        "Recurvirostra avosetta", "pied avocet", BIRD, "Charadriiformes", "Recurvirostridae", since=JOINED, house="SK"
    ),
    Taxon(
        "Jacana jacana",
        "wattled jacana",
        BIRD,
        "Charadriiformes",
        "Jacanidae",
        mates="several",
        since=JOINED,
        house="SK",
    ),
    Taxon(
        "Psittacus erithacus", "grey parrot", BIRD, "Psittaciformes", "Psittacidae", since=date(2024, 5, 6), house="SK"
    ),
    Taxon("Zalophus californianus", "California sea lion", MAMMAL, "Carnivora", "Otariidae", mates="several"),
    Taxon("Halichoerus grypus", "grey seal", MAMMAL, "Carnivora", "Phocidae", mates="several"),
    Taxon("Aonyx cinereus", "Asian small-clawed otter", MAMMAL, "Carnivora", "Mustelidae", mates="one"),
)

_LIN_2012 = "Lin et al. 2012, doi 10.1242/bio.2012398"
_EMLEN = "Emlen and Wrege 2004, Auk 121(2):391-403"
_FRICKE = "Fricke and Fricke 1977, Nature 266:830; the number from memory"
_KEEPERS = "keepers' knowledge, not looked up"
_MORNING = "eggs over to first young"
FACTS = {
    "Hippocampus erectus": (
        Fact("carrying_days", "17", "21", "days", _MORNING, _KEEPERS, "memory"),
        Fact(
            "brood_size",
            "28.5",
            "142.3",
            "young",
            "first birth, pairs one year old; mean and one standard deviation",
            _LIN_2012,
            "seen",
        ),
        Fact(
            "brood_size", "329.5", "602.3", "young", "sixth birth; mean and one standard deviation", _LIN_2012, "seen"
        ),
    ),
    "Hippocampus whitei": (Fact("carrying_days", "19", "23", "days", _MORNING, _KEEPERS, "memory"),),
    "Hippocampus abdominalis": (
        Fact("carrying_days", "28", "32", "days", _MORNING, _KEEPERS, "memory"),
        Fact(
            "survival_to_one_year",
            "10.6",
            "10.6",
            "%",
            "reared young",
            "Woods 2007, thesis, Victoria University of Wellington",
            "seen",
        ),
    ),
    "Hippocampus kuda": (
        Fact("carrying_days", "20", "28", "days", _MORNING, _KEEPERS, "memory"),
        Fact("temperature", "26", "28", "°C", "best for growth", "Lin et al. 2006, Aquaculture 254:701-713", "seen"),
    ),
    "Phyllopteryx taeniolatus": (
        Fact("carrying_days", "38", "56", "days", "on the tail, 16 to 18 °C", _KEEPERS, "memory"),
    ),
    "Amphiprion percula": (
        Fact(
            "non_breeders",
            "0",
            "4",
            "animals",
            "beside the pair, in one anemone",
            "Buston 2003, Nature 424:145",
            "seen",
        ),
        Fact("incubation_days", "6", "8", "days", "laid to hatched", _KEEPERS, "memory"),
        Fact("completion_days", "26", "63", "days", "two other species of the genus", _FRICKE, "memory"),
    ),
    "Amphiprion akallopisos": (
        Fact(
            "first_sign_days",
            "18",
            "18",
            "days",
            "from putting widowed males together; not from a loss in a group",
            "Casadevall et al. 2009",
            "seen",
        ),
        Fact("completion_days", "63", "63", "days", "", _FRICKE, "memory"),
        Fact("size_error_mm", "2", "2", "mm", "length from a photograph", _KEEPERS, "practice"),
    ),
    "Pseudanthias squamipinnis": (
        Fact("completion_days", "14", "28", "days", "after the loss of a male", _KEEPERS, "memory"),
    ),
    "Labroides dimidiatus": (
        Fact(
            "completion_days",
            "14",
            "18",
            "days",
            "until sperm is shed",
            "Robertson 1972, Science 177:1007-1009; the number from memory",
            "memory",
        ),
    ),
    "Chiloscyllium punctatum": (
        Fact("sperm_storage_days", "0", "1370", "days", "45 months, one female", "a note in the press", "second_hand"),
    ),
    "Spheniscus humboldti": (
        Fact("incubation_days", "40", "42", "days", "each egg, laid to hatched", _KEEPERS, "memory"),
    ),
    "Jacana jacana": (
        Fact("incubation_days", "28", "28", "days", "by the male alone", _EMLEN, "seen"),
        Fact("care_of_chicks", "50", "60", "days", "", _EMLEN, "seen"),
    ),
}

_SANTIAGO = "CITES, adopted at Santiago, November 2002"
_MEMORY = "from memory; check the current appendices"
LISTINGS: dict[str, dict[str, Any]] = {
    "Hippocampus erectus": {"listing": "II", "since": "2004-05-15", "source": _SANTIAGO},
    "Hippocampus abdominalis": {"listing": "II", "since": "2004-05-15", "source": _SANTIAGO},
    "Hippocampus whitei": {"listing": "II", "since": "2004-05-15", "source": _SANTIAGO},
    "Hippocampus kuda": {"listing": "II", "since": "2004-05-15", "source": _SANTIAGO},
    "Anguilla anguilla": {"listing": "II", "source": _MEMORY},
    "Euphyllia ancora": {"listing": "II", "source": _MEMORY},
    "Stylophora pistillata": {"listing": "II", "source": _MEMORY},
    "Stylophora mordax": {"listing": "II", "source": _MEMORY},
    "Spheniscus humboldti": {"listing": "I", "source": _MEMORY},
    "Psittacus erithacus": {"listing": "I", "source": _MEMORY},
    "Aonyx cinereus": {"listing": "I", "source": _MEMORY},
}


def payload(taxon: Taxon) -> dict[str, Any]:
    """The payload of the entry that registers a taxon."""
    out: dict[str, Any] = {"taxon": taxon.name, "rank": "species", "common_name": taxon.common, "class": taxon.group}
    out |= {"order": taxon.order, "family": taxon.family}
    if taxon.system:
        out["sexual_system"] = taxon.system
    if taxon.counted_in != "animals":
        out["counted_in"] = taxon.counted_in
    if taxon.mates:
        out["mates"] = taxon.mates
    if taxon.name in FACTS:
        since = taxon.since.isoformat()
        out["facts"] = [{k: v for k, v in f._asdict().items() if v} | {"since": since} for f in FACTS[taxon.name]]
    if taxon.name in LISTINGS:
        out["listings"] = [{"instrument": "CITES"} | LISTINGS[taxon.name]]
    return out
