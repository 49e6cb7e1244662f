"""Animals of a house stand in its own enclosures, and no enclosure stands in itself.

Finds animals held by one house that would come to stand in an enclosure of another: that is a transfer, for custody
passes with it. Finds an enclosure whose parent belongs to another house, or leads back to itself. Asked of
everything that places animals, and of standing events that a late entry makes so; and of the register.
Source: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator

from ledger.checks.base import Batch, ident
from ledger.draft import Draft
from ledger.findings import Finding

CODES = ("another-house", "own-parent-enclosure")

WITHIN_A_HOUSE = ("move", "split", "merge", "draw", "join")


def check(batch: Batch) -> Iterator[Finding]:
    """The findings on places and on the enclosures themselves."""
    told: set[tuple[int, str]] = set()
    drafts = {draft.standing.seq: draft for draft in batch.drafts}
    for posting in batch.postings:
        cell, draft = posting.line.cell, drafts.get(posting.because)
        if posting.line.delta <= 0 or cell.place[:2] != "e-" or cell.holder[:2] != "h-" or draft is None:
            continue
        thing = batch.index.things.get(cell.place)
        if thing is not None and thing.house != cell.holder and (draft.number, cell.place) not in told:
            told.add((draft.number, cell.place))
            yield _another(batch, draft, cell.place, cell.holder, thing.house)
    for posting in batch.postings:  # a standing entry that passes animals on, of another house than it says
        line, draft = posting.line, drafts.get(posting.because)
        if draft is not None and draft.standing.root == line.effect and getattr(draft.standing.payload, "from_", None):
            continue  # the entry itself, which says from where: below
        if line.reason != "passed_out" or line.delta >= 0 or line.cell.place[:2] != "e-" or draft is None:
            continue
        event = batch.index.standing.get(line.effect)
        holder = ident(getattr(event.payload, "holder", None)) if event else ""
        if holder and holder != line.cell.holder and (draft.number, line.cell.place) not in told:
            told.add((draft.number, line.cell.place))
            yield _another(batch, draft, line.cell.place, holder, line.cell.holder)
    for draft in batch.drafts:
        payload = draft.standing.payload
        to = ident(getattr(payload, "to", None))
        if draft.standing.kind in WITHIN_A_HOUSE and (draft.number, to) not in told:
            houses = [_house(batch, ident(getattr(payload, f, None))) for f in ("from_", "to")]
            if all(houses) and houses[0] != houses[1]:
                yield _another(batch, draft, to, houses[0], houses[1])
        if draft.standing.kind in ("enclosure", "enclosure_changed") and ident(getattr(payload, "parent", None)):
            yield from _parent(batch, draft)


def _house(batch: Batch, place: str) -> str:
    thing = batch.index.things.get(place)
    return thing.house if thing is not None and thing.sort == "enclosure" else ""


def _another(batch: Batch, draft: Draft, place: str, holder: str, house: str) -> Finding:
    name = batch.index.name
    return draft.at.finding(
        "another-house",
        f"{name(place)} belongs to {name(house)}, the animals are held by {name(holder)}",
        f"an enclosure of {name(holder)}",
        f"Enter a transfer to {name(house)}, with its terms; or mend the enclosure.",
    )


def _parent(batch: Batch, draft: Draft) -> Iterator[Finding]:
    index, payload = batch.index, draft.standing.payload
    own, parent = ident(getattr(payload, "enclosure", None)), ident(getattr(payload, "parent", None))
    if _house(batch, parent) and _house(batch, parent) != _house(batch, own):
        yield _another(batch, draft, parent, _house(batch, own), _house(batch, parent))
    above, seen = parent, set()
    while above and above != own and above not in seen:
        seen.add(above)
        thing = index.things.get(above)
        above = ident(thing.fields.get("parent")) if thing is not None else ""
    if above == own:
        yield draft.at.finding(
            "own-parent-enclosure",
            f"{index.name(own)} would be part of itself, by {index.name(parent)}",
            "an enclosure outside it",
            "Name another parent.",
            "parent",
        )
