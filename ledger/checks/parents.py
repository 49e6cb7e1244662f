"""Parents that were there, of the right sex, of one taxon.

Finds a dam or sire that the house did not hold at the time; one of a sex that does not fit its part; dam and sire
of two taxa where the young are not entered as their hybrid, and young of another taxon than their parents; and one
animal as both, refused where its taxon is known to have two sexes in two animals.
Asked when young with a named parent are entered, or a brood of theirs or a finding about their parents (then sex and
taxon only; of pairs with weights each), not again when something else about them is corrected; and of a sexing that
contradicts young already on record. An animal that is entered as one outside the book is not asked where it was.

*At the time*: the animal that carries live young (the dam; in the pipefish family the sire) was there on the day of
birth or the one before. Of other parents, of
parents of eggs, and in a taxon entered without its family, any of the 400 days before will do: eggs of
sharks take most of a year, and sperm is stored for longer (that is worth a look, and is accepted with a reason).
Sex is that of the same 400 days, so a parent that has changed since fits; before the house's own book it is not asked.
Source: common practice, no source; carrying by the sire in the pipefish family is general knowledge.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ledger.acts import Cell
from ledger.checks.base import CHANGERS, Batch, ident, of_taxon, say, spells, subject_of, taxon_of
from ledger.draft import Draft
from ledger.findings import Finding
from ledger.index import Index, Standing

CODES = ("parent-absent", "parent-sex", "two-taxa", "dam-is-sire")

WITHIN: Final = 400  # days before the birth in which a parent may have been there; since version 1, common practice
CARRIED_BY_SIRE: Final = ("Syngnathidae",)
WRONG: Final = {"dam": "male", "sire": "female"}
BOTH: Final = ("both_at_once", "male_first_then_both")  # systems in which one animal may be dam and sire

Roles = dict[str, str]  # "dam" or "sire", and the id


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on young, and on sexings against young on record."""
    for draft in batch.drafts:
        event = draft.standing
        if event.kind == "sexing":
            yield from _sexed_against(batch.index, draft)
        if event.kind not in ("hatching", "birth", "opening", "brood", "parentage"):
            continue
        pairs = _pairs(event)
        if not pairs or (draft.old is not None and _says(draft.old) == _says(event)):
            continue
        told = set()
        for role, parent in (item for pair in pairs for item in pair.items()):
            if (role, parent) in told:
                continue
            told.add((role, parent))
            if event.kind in ("hatching", "birth") and not batch.index.outside(parent):
                yield from _absent(batch.index, draft, role, parent)
            yield from _sex(batch.index, draft, role, parent)
        for pair in pairs:
            yield from _taxa(batch.index, draft, pair)
            yield from _both(batch.index, draft, pair)


def _pairs(event: Standing) -> list[Roles]:
    """The parents an event names: one pair, or several with weights."""
    parts = [event.payload, *(getattr(event.payload, "parents", None) or ())]
    pairs = [{r: i for r in ("dam", "sire") if (i := ident(getattr(part, r, None)))} for part in parts]
    return [pair for pair in pairs if pair]


def _says(event: Standing) -> tuple[object, ...]:
    named = [ident(getattr(event.payload, f, None)) for f in ("taxon", "holder")]
    return (event.first, event.last, _pairs(event), *named)


def _both(index: Index, draft: Draft, pair: Roles) -> Iterator[Finding]:
    animal = pair.get("dam", "")
    system = of_taxon(index, taxon_of(index, animal), "sexual_system") if animal == pair.get("sire") else None
    if animal[:2] == "a-" and system is not None and system not in BOTH:
        yield draft.at.finding(
            "dam-is-sire",
            f"{index.name(animal)} as dam and sire, and its taxon is {system.replace('_', ' ')}",
            "two animals",
            "Name the other parent, or leave it out if it is not known.",
            "sire",
        )


def _absent(index: Index, draft: Draft, role: str, parent: str) -> Iterator[Finding]:
    event, house = draft.standing, ident(getattr(draft.standing.payload, "holder", None))
    family = of_taxon(index, taxon_of(index, parent), "family")
    carrier = "sire" if family in CARRIED_BY_SIRE else "dam"
    days = 1 if event.kind == "birth" and family is not None and role == carrier else WITHIN

    def here(cell: Cell) -> bool:
        return cell.place[:2] == "e-" and cell.holder == house

    stays = spells(index, parent, here)
    if any(begun <= event.last and end >= event.first - days + 1 for begun, end in stays):
        return
    when = "on that day" if days == 1 else f"in the {days} days before"
    yield draft.at.finding(
        "parent-absent",
        f"the {role} {index.name(parent)} was not held by {index.name(house)} {when}",
        f"a {role} that was in the house at the time",
        f"Mend the {role} or the date; if it is right, accept it with the reason.",
        role,
    )


def _sex(index: Index, draft: Draft, role: str, parent: str) -> Iterator[Finding]:
    event, wrong = draft.standing, WRONG[role]
    if event.kind == "parentage":  # it is about the time at which the young came
        event = index.standing.get(index.made_by.get(subject_of(event.payload), 0), event)
    since = 1 if event.kind in ("opening", "transfer", "acquisition", "draw") else event.first - WITHIN
    if _sexes(index, parent, since, event.last) == {wrong}:
        yield draft.at.finding(
            "parent-sex",
            f"the {role} {index.name(parent)} was {wrong} at the time",
            f"a {role} that was not {wrong}",
            f"Mend the {role}; or correct its sex, or enter that it changed.",
            role,
        )


def _sexes(index: Index, animal: str, since: int, until: int) -> set[str]:
    """Sexes it had, alive, on any of these days; nothing where it was not in the book."""
    out: set[str] = set()
    for sex in ("male", "female", "hermaphrodite", "unknown"):

        def test(cell: Cell, sex: str = sex) -> bool:
            return cell.sex == sex and (cell.place[:2] in ("e-", "o-") or cell.place in ("escaped", "missing"))

        if any(begun <= until and end > since for begun, end in spells(index, animal, test)):
            out.add(sex)
    return out


def _taxa(index: Index, draft: Draft, roles: Roles) -> Iterator[Finding]:
    young = ident(getattr(draft.standing.payload, "taxon", None)) or taxon_of(index, subject_of(draft.standing.payload))
    found = {t for p in roles.values() if (t := taxon_of(index, p))}
    hybrid = {ident(r) for r in of_taxon(index, young, "hybrid_of") or ()}
    if not found or found <= hybrid or (len(found) == 1 and _related(index, young, next(iter(found)))):
        return
    names = " and ".join(f"{role} {index.name(p)} of {index.name(taxon_of(index, p))}" for role, p in roles.items())
    yield draft.at.finding(
        "two-taxa",
        f"{names}, the young entered as {index.name(young)}",
        "parents of the taxon of their young, or young entered as the hybrid of the two",
        "Mend the parent or the taxon; a hybrid is a taxon of its own, with hybrid_of.",
        "taxon",
    )


def _related(index: Index, one: str, other: str) -> bool:
    """The same taxon, or one within the other by its name: a genus and its species, a species and its subspecies."""
    a, b = sorted((index.name(one).removesuffix(" sp."), index.name(other).removesuffix(" sp.")), key=len)
    return one == other or a == b or b.startswith(f"{a} ")


def _sexed_against(index: Index, draft: Draft) -> Iterator[Finding]:
    animal, to = subject_of(draft.standing.payload), getattr(draft.standing.payload, "to", "")
    if animal[:2] != "a-" or of_taxon(index, taxon_of(index, animal), "sexual_system") in CHANGERS:
        return
    for young in index.naming("young", animal):
        for role, wrong in WRONG.items():
            if wrong == to and ident(getattr(young.payload, role, None)) == animal:
                yield draft.at.finding(
                    "parent-sex",
                    f"it is found to be {to}, and is the {role} of {say(index, young)}",
                    f"a {role} that was not {wrong}",
                    f"Correct the {role} there, or look again.",
                    "to",
                    young.seq,
                )
                return
