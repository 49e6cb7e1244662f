"""Candidate parents of a brood or of young: who was there, of a fitting sex, when eggs were laid or young conceived.

Definition (D21 of the design). Candidates are alive and in the same enclosure at one close at least in the window:

- eggs: from the first to the last possible day of the start of the brood; of young without a brood, as many days
  before the hatching as the taxon's `incubation_days` say;
- live young (womb, or a birth without a brood): from birth minus the high of `gestation_days` (else `carrying_days`)
  to birth minus its low. Without a published fact: 400 days before, common practice, and `by` says so.

For sires the window begins earlier by the high of the taxon's `sperm_storage_days`, where it states that fact; a dam
stores no eggs, so for dams it does not. *In the same enclosure*: as the one parent that is sure, at the same close;
else as the brood (or the birth) was. Sex on that day: male, hermaphrodite or unknown for a sire; female, hermaphrodite
or unknown for a dam. Those certainly younger on that day than the taxon's `maturity_age` are left out, those of unknown
age are not. Of the same genus; another taxon is said. Dead and gone since is no reproach: sperm is stored.

Source: D21; stored sperm for 45 months in a bamboo shark, second-hand, so it is a fact of the taxon and no constant.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, timedelta
from typing import Any, Final, NamedTuple

import polars as pl

from ledger.dates import End, parse
from ledger.read import AsOf, Copy, Names, Standing
from reports.parents import Family, Parentage, family, id_of, weighted
from reports.whereabouts import whereabouts

COLUMNS: Final[dict[str, Any]] = {
    **dict.fromkeys(("role", "number", "subject", "taxon", "other_taxon", "sex"), pl.String),
    **dict.fromkeys(("first", "last"), pl.Date),
    "days": pl.Int64,
    **dict.fromkeys(("sure", "enclosure"), pl.String),
    "age": pl.Int64,
    **dict.fromkeys(("state", "recorded"), pl.String),
}
WITHIN: Final = 400  # days before a birth where no fact bounds it; common practice, as the check of parents has it
_SEXES: Final = {"sire": ("male", "hermaphrodite", "unknown"), "dam": ("female", "hermaphrodite", "unknown")}
_UNITS: Final = {"d": 1, "day": 1, "days": 1, "week": 7, "weeks": 7, "month": 31, "months": 31}
_YEARS: Final = {"a": 366, "y": 366, "year": 366, "years": 366}
_DAY: Final = timedelta(days=1)


class Window(NamedTuple):
    """Days in which a parent was there, both inside; `by` in words what they rest on."""

    first: date
    last: date
    by: str


class Sought(NamedTuple):
    """Of whom parents are sought: what is known of the brood or the young."""

    taxon: str
    place: str
    eggs: bool
    begun: tuple[date, date] | None  # possible days of the start of a brood
    born: tuple[date, date] | None
    known: Parentage


class Candidates(NamedTuple):
    """`rows`: columns `COLUMNS`, sires then dams, by number. `windows` by role; `beside` says in whose company.

    `first`, `last`: the first and last close of the window they were together, `days` how many; `sure` is `perhaps`
    where only open dates allow it. `age`: days old on the last of them at the most, null where not known.
    `recorded`: the weight with which the record names it in that role; empty where it does not.
    """

    rows: pl.DataFrame
    windows: dict[str, Window]
    beside: str


class CannotSay(ValueError):
    """A reason in one sentence why no candidates can be listed."""


def candidates(copy: Copy, names: Names, asof: AsOf, of: str) -> Candidates:
    """Candidate parents of a brood, an animal or a lot (its id), as known at `asof.known`, by the close of `asof.on`.

    Raises CannotSay where neither start nor birth, or no enclosure, is on record.
    """
    known = family(copy, asof)
    sought = _sought(copy, known, asof, of)
    windows = _windows(names, sought)
    spells = copy.spells(asof.known).filter(pl.col("place").str.starts_with("e-") & (pl.col("since") <= asof.on))
    rows: list[dict[str, Any]] = []
    beside = []
    for role, window in windows.items():
        other = "dam" if role == "sire" else "sire"
        anchor, words = _anchor(names, spells, sought, other, window)
        beside.append(f"{role}s {words}")
        met = _met(spells, anchor, role, window)
        rows += _rows(names, known, sought, role, of, met)
    where = whereabouts(copy, names, asof, sorted({row["subject"] for row in rows}))
    for row in rows:
        now = where[row["subject"]]
        row["state"] = now.words
    return Candidates(pl.DataFrame(rows, schema=COLUMNS, orient="row"), windows, "; ".join(beside))


# --- what is sought, and when ---------------------------------------------------------------------------


def _sought(copy: Copy, known: Family, asof: AsOf, of: str) -> Sought:
    parentage = known.broods.get(of) if of.startswith("b-") else known.of.get(of)
    brood = of if of.startswith("b-") else parentage.clutch if parentage else ""
    event = next((e for e in copy.standing(("brood",), asof.known) if id_of(e.payload.get("brood")) == brood), None)
    young = _young(copy, asof, of, brood)
    born = min(((e.first or e.last, e.last) for e in young), default=None)
    if event is not None:
        eggs = event.payload.get("mode") != "womb"
        place = id_of(event.payload.get("enclosure")) or next((_place(e) for e in young), "")
        return Sought(
            id_of(event.payload.get("taxon")), place, eggs, _begun(event), born, parentage or known.broods[brood]
        )
    if born is None:
        raise CannotSay("Its birth is not on record under this number; ask about the lot or the brood it came from.")
    return Sought(
        id_of(young[0].payload.get("taxon")), _place(young[0]), young[0].kind == "hatching", None, born,
        parentage or Parentage(),
    )  # fmt: skip


def _young(copy: Copy, asof: AsOf, of: str, brood: str) -> list[Standing]:
    """The births and hatchings of a subject, or those that name a brood."""
    out = []
    for event in copy.standing(("birth", "hatching"), asof.known):
        named = event.payload.get("brood")
        broods = [id_of(b) for b in (named if isinstance(named, list) else [named])]
        subjects = [id_of(event.payload.get(f)) for f in ("animal", "lot", "into")]
        if (brood and brood in broods) or of in subjects:
            out.append(event)
    return out


def _place(event: Standing) -> str:
    return id_of(event.payload.get("enclosure"))


def _begun(event: Standing) -> tuple[date, date]:
    text = event.payload.get("started")
    if not isinstance(text, str):
        return event.first or event.last, event.last
    value = parse(text)
    last = event.last if isinstance(value.last, End) else min(date(*value.last), event.last)
    return last if isinstance(value.first, End) else date(*value.first), last


def fact(names: Names, taxon: str, words: tuple[str, ...], on: date) -> tuple[int, int, str] | None:
    """Low and high in days, and the word, of the first of these facts that the taxon states for a day."""
    thing = names.thing(taxon)
    for word in words:
        stated = [
            f
            for f in (thing.fields.get("facts") or () if thing else ())
            if f.get("fact") == word and str(f.get("since") or "") <= on.isoformat()
        ]
        for one in sorted(stated, key=lambda f: str(f.get("since") or ""), reverse=True):
            unit = {**_UNITS, **_YEARS}.get(str(one.get("unit")))
            if unit:
                return int(float(one["low"]) * unit), int(float(one["high"]) * unit), word.replace("_", " ")
    return None


def _windows(names: Names, sought: Sought) -> dict[str, Window]:
    if sought.begun and (sought.eggs or sought.born is None):
        first, last = sought.begun
        by = "start of the brood"
    else:
        assert sought.born is not None
        words = ("incubation_days", "carrying_days") if sought.eggs else ("gestation_days", "carrying_days")
        stated = fact(names, sought.taxon, words, sought.born[1])
        low, high, by = stated or (0, WITHIN, f"no published time: {WITHIN} days, common practice")
        first, last = sought.born[0] - timedelta(days=high), sought.born[1] - timedelta(days=low)
        by = f"{'hatching' if sought.eggs else 'birth'} less {by}" if stated else by
    stored = fact(names, sought.taxon, ("sperm_storage_days",), last)
    storing = f"{by}, sperm stored up to {stored[1]} days" if stored else by
    sires = Window(first - timedelta(days=stored[1] if stored else 0), last, storing)
    return {"sire": sires, "dam": Window(first, last, by)}


# --- who was there --------------------------------------------------------------------------------------


def _anchor(names: Names, spells: pl.DataFrame, sought: Sought, other: str, window: Window) -> tuple[pl.DataFrame, str]:
    """Where and when the company counts: place, a_since, a_since_possible, a_until, a_until_possible; and in words."""
    sure = [p for p, weight in weighted(other, sought.known.pairs).items() if weight == 1 and p.startswith("a-")]
    turned = [pl.col(c).alias(f"a_{c}") for c in ("since", "since_possible", "until", "until_possible")]
    own = spells.filter(pl.col("subject").is_in(sure)).select("place", *turned)
    if own.height:
        return own, f"beside the {other} {names.number(sure[0])}"
    if not sought.place:
        raise CannotSay("No enclosure is on record for it: nobody can be said to have been there.")
    day = [pl.lit(d, pl.Date).alias(f"a_{c}") for c, d in (("since", window.first), ("since_possible", window.first))]
    ends = [pl.lit(None, pl.Date).alias(f"a_{c}") for c in ("until", "until_possible")]
    return pl.DataFrame({"place": [sought.place]}).with_columns(*day, *ends), f"in {_code(names, sought.place)}"


def _code(names: Names, place: str) -> str:
    thing = names.thing(place)
    return thing.code if thing else place


def _met(spells: pl.DataFrame, anchor: pl.DataFrame, role: str, window: Window) -> pl.DataFrame:
    """Stretches of others of a fitting sex in that company: `low`..`high` closes as possible, `days`, `certain`."""
    close = window.last + _DAY
    first = pl.max_horizontal("since_possible", "a_since_possible", pl.lit(window.first))
    end = pl.min_horizontal("until", "a_until", pl.lit(close))
    begun = pl.max_horizontal("since", "a_since", pl.lit(window.first))
    certain = pl.min_horizontal("until_possible", "a_until_possible", pl.lit(close))
    return (
        spells.filter(pl.col("sex").is_in(_SEXES[role]))
        .join(anchor, on="place")
        .with_columns(low=first, high=end, begun=begun, certain=certain)
        .filter(pl.col("low") < pl.col("high"))
        .sort("low", "subject")
    )


def _rows(
    names: Names, known: Family, sought: Sought, role: str, of: str, met: pl.DataFrame
) -> Iterator[dict[str, Any]]:
    recorded = weighted(role, sought.known.pairs)
    for (subject,), stretch in sorted(met.group_by("subject"), key=lambda group: names.number(str(group[0][0]))):
        who = str(subject)
        parentage = known.of.get(who, Parentage())
        taxon = names.accepted(str(stretch["taxon"][0]))
        if who == of or _genus(names, taxon) != _genus(names, names.accepted(sought.taxon)):
            continue
        if sought.known.clutch and parentage.clutch == sought.known.clutch:
            continue
        spans = list(stretch.select("low", "high").iter_rows())
        last: date = max(high for _, high in spans) - _DAY
        age = _age(known, who, last)
        mature = fact(names, taxon, ("maturity_age", "age_at_maturity"), last)
        if age is not None and (age < 0 or (mature is not None and age < mature[0])):
            continue
        weight = recorded.get(who)
        days = {low + _DAY * i for low, high in spans for i in range((high - low).days)}
        yield {
            "role": role,
            "number": names.number(who),
            "subject": who,
            "taxon": names.label(taxon),
            "other_taxon": "" if taxon == names.accepted(sought.taxon) else "other taxon",
            "sex": ", ".join(dict.fromkeys(stretch["sex"])),
            "first": stretch["low"].min(),
            "last": last,
            "days": len(days),
            "sure": "yes" if (stretch["begun"] < stretch["certain"]).any() else "perhaps",
            "enclosure": ", ".join(dict.fromkeys(_code(names, p) for p in stretch["place"])),
            "age": age,
            "recorded": "" if weight is None else str(weight),
        }


def _genus(names: Names, taxon: str) -> str:
    return names.label(taxon).partition(" ")[0]


def _age(known: Family, subject: str, on: date) -> int | None:
    """The most days old it can have been on a day; None where its birth is open."""
    life = known.lives.get(subject)
    return None if life is None or life.last is None or life.first is None else (on - life.first).days
