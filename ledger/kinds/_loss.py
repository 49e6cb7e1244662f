"""Acts shared by what takes animals out of their places: release, escape, missing, and the lots' side of death."""

from __future__ import annotations

from ledger.acts import HELD, Act, Shift, Step
from ledger.kinds._subject import Loss, ident


def sets_of(place: str, *, keeps_owner: bool) -> tuple[tuple[str, str], ...]:
    """The cell after: in an account, held by nobody; escaped and missing animals keep their owner."""
    sets = (("place", place), ("holder", ""))
    return sets if keeps_owner else (*sets, ("owner", ""))


def loss_acts(p: Loss, place: str, reason: str, *, gone: bool) -> tuple[Act, ...]:
    """Out of the house into an account. `gone`: it has left the book and is not followed."""
    amount, at, owner = p.taken()
    op = Shift(amount, HELD, at, owner, sets_of(place, keeps_owner=not gone))
    subject = ident(p.subject())
    if p.animal is None:
        return (Act(subject, Step.LEAVE, op, reason, individual=False, needs=HELD),)
    return (Act(subject, Step.LEAVE, op, reason, axes="*" if gone else "p", needs=HELD, gone=gone),)
