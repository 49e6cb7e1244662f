"""CITES codes are those of the Convention's lists, used as it says.

Finds a source code that is not on the list, one for plants (A and Y), O (pre-Convention) without another code beside
it, two codes neither of which is O; and a purpose code that is not on the list. Asked of acquisitions and transfers.
Source: purpose codes read on the Convention's site (adapted from Resolution Conf. 12.3, Rev. CoP18); source codes A,
D, C, F, I and the rule for O read in 50 CFR 23.24, the others and Y from memory.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.checks.base import Batch
from ledger.findings import Finding
from ledger.words import CITES_PLANTS_ONLY, CITES_PURPOSE, CITES_SOURCE

CODES = ("cites-code",)

PRE_CONVENTION = "O"


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on codes, one a field."""
    for draft in batch.drafts:
        source = getattr(draft.standing.payload, "source_code", None)
        if source and (wrong := wrong_source(source)):
            expected = f"one of {', '.join(CITES_SOURCE)}; O only beside another"
            yield draft.at.finding("cites-code", *wrong[:1], expected, wrong[1], "source_code")
        purpose = getattr(draft.standing.payload, "purpose_code", None)
        if purpose and purpose not in CITES_PURPOSE:
            expected = f"one of {', '.join(CITES_PURPOSE)}"
            yield draft.at.finding(
                "cites-code", f"no purpose code {purpose}", expected, "Read it off the permit.", "purpose_code"
            )


def wrong_source(text: str) -> tuple[str, str] | None:
    """What is wrong with a source code and the way out; None where it may stand for an animal."""
    letters = [c for c in text if c.isalpha()]
    others = [c for c in letters if c != PRE_CONVENTION]
    plants = [c for c in others if c in CITES_PLANTS_ONLY]
    unknown = [c for c in others if c not in CITES_SOURCE and c not in CITES_PLANTS_ONLY]
    if unknown:
        return f"no source code {unknown[0]}", "Read it off the permit."
    if plants:
        return f"source code {plants[0]} is for plants", "Read it off the permit; C or F may be meant."
    if not others:
        return "source code O stands alone", "Write the other code beside it, as in W/O."
    if len(others) > 1:
        return f"two source codes, {' and '.join(others)}", "Write one; or enter each part of the shipment apart."
    return None
