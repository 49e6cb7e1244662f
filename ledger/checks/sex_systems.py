"""Sex changes fit the sexual system of the taxon.

Finds a change of sex in a direction that the taxon's system does not know, and a sex said to hold *since birth* in a
taxon that changes sex. A first sign is asked like a completed change; a change given up is not. From *unknown* (an
immature animal) nothing is against a system, and reversal (male to female) is known in wrasses that are female
first. Where the register gives no system, nothing is asked. The system warns and never refuses.
Source: Bauer on *Lysmata* (seen); reversal in *Labroides dimidiatus* (seen in a listing only); the directions of the
other systems follow from their definitions.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from ledger.checks.base import CHANGERS, Batch, of_taxon, subject_of, taxon_of
from ledger.findings import Finding
from ledger.index import Index, Standing

CODES = ("against-system", "since-birth-in-changer")

UP, DOWN = ("female", "male"), ("male", "female")
KNOWN: Final[dict[str, tuple[tuple[str, str], ...]]] = {
    "gonochoristic": (),
    "male_first": (DOWN,),
    "female_first": (UP,),
    "some_born_male": (UP,),
    "both_ways": (UP, DOWN),
    "male_first_then_both": (("male", "hermaphrodite"),),
    "both_at_once": (),
}
REVERSALS: Final = ("Labridae",)  # families in which a change back is known


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on sex changes and sexings."""
    for draft in batch.drafts:
        event = draft.standing
        if event.kind not in ("sex_change", "sexing"):
            continue
        taxon = taxon_of(batch.index, subject_of(event.payload))
        system = of_taxon(batch.index, taxon, "sexual_system")
        if system is None:
            continue
        name, words = batch.index.name(taxon), system.replace("_", " ")
        if event.kind == "sex_change":
            to = getattr(event.payload, "to", "")
            for was in _against(batch.index, event, taxon, system):
                yield draft.at.finding(
                    "against-system",
                    f"from {was} to {to}, and {name} is {words}",
                    "a change that its sexual system knows",
                    "If an earlier sexing was wrong, correct that; if it changed so, accept it with what was seen.",
                    "to",
                )
        elif getattr(event.payload, "holds_since", None) == "birth" and system in CHANGERS:
            yield draft.at.finding(
                "since-birth-in-changer",
                f"since birth, and {name} is {words}",
                "the day since which it holds",
                "Say holds_since= a day, or leave it out; if it was examined at birth, accept it.",
                "holds_since",
            )


def _against(index: Index, event: Standing, taxon: str, system: str) -> list[str]:
    """Former sexes from which the change is not known in that system."""
    payload = event.payload
    if getattr(payload, "stage", "") == "given_up":
        return []
    how_many = getattr(payload, "how_many", None)
    was = (
        [sex for sex, _ in how_many.amount()] if how_many is not None else [getattr(payload, "was", None) or "unknown"]
    )
    known = KNOWN[system]
    if UP in known and of_taxon(index, taxon, "family") in REVERSALS:
        known = (*known, DOWN)
    return [sex for sex in was if sex != "unknown" and (sex, getattr(payload, "to", "")) not in known]
