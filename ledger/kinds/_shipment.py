"""A transfer that takes its time: what is in transit between leaving and arriving, and what arrives alive.

Between the two days the animals are the sender's. They leave into `in_transit` on the day they `left`; on the day
of the transfer those that are dead on arrival die, still the sender's, and the others pass. What comes from outside
the book enters it when it arrives, alive.
"""

from __future__ import annotations

from datetime import date
from typing import Self, TypeVar

from pydantic import model_validator

from ledger.acts import DAY_RANK, TRANSIT, WHOLE_LOT_LEAVES, Act, Back, Shift, Step
from ledger.kinds._fields import Day, Kept, refuse
from ledger.kinds._loss import sets_of
from ledger.kinds._subject import called, ident, in_house
from ledger.kinds._terms import Passage, fill_transfer, going, member
from ledger.kinds.base import CannotFill, Counts, HowMany, Look
from ledger.words import IN_TRANSIT, SEX_OF


class Shipment(Passage):
    """`left`: the day they left, if another than that of arrival. `sent` = `arrived_alive` + `dead_on_arrival`.

    Of an animal, `dead_on_arrival: 1` says that it came dead. What of the three is not said follows from the others.
    """

    left: Day | None = None
    sent: Counts | None = None
    arrived_alive: Counts | None = None
    dead_on_arrival: Counts | None = None
    kept: Kept | None = None

    @model_validator(mode="after")
    def _adds_up(self) -> Self:
        sent, alive, dead = (n.total() if n is not None else None for n in self.three())
        if self.animal is not None and (sent is not None or alive is not None or (dead or 1) != 1):
            way_out = "Leave them out; of one that came dead say dead_on_arrival=1."
            refuse("sent", "numbers for one animal", "one animal", way_out, "not-one")
        if sent is not None and alive is not None and sent != alive + (dead or 0):
            found = f"{sent} sent, {alive} alive and {dead or 0} dead on arrival"
            refuse("sent", found, "sent = arrived alive + dead on arrival", "Mend one of the three.")
        if sent is not None and dead is not None and dead > sent:
            refuse("dead_on_arrival", f"{dead} dead of {sent}", "no more than were sent", "Mend one of the two.")
        if self.kept is not None and self.lot is None:
            refuse("kept", "how a lot is kept count of, without a lot", "a new lot", "Leave kept out.")
        return self

    def three(self) -> tuple[HowMany | None, HowMany | None, HowMany | None]:
        """Sent, arrived alive, dead on arrival."""
        return self.sent, self.arrived_alive, self.dead_on_arrival


T = TypeVar("T", bound=Shipment)


def fill_shipment(p: T, look: Look) -> T:
    """The three numbers, how many pass, and all that the terms give."""
    if p.left is not None and date.fromisoformat(p.left).toordinal() >= look.last_day():
        raise CannotFill(
            "left", f"left on {p.left}", "a day before it arrived", "Leave left out if it was the same day."
        )
    if p.kept is not None and not look.is_new(p.subject()):
        raise CannotFill("kept", f"{called(p.lot)} stands already", "a new lot", "Leave kept out.")
    if p.animal is not None:
        if p.dead_on_arrival is not None and not member(p.from_):
            found = f"{called(p.animal)}, which came dead from outside the book"
            way_out = "It was never held here: leave the entry out, or say it in a note."
            raise CannotFill("dead_on_arrival", found, "an animal of a house of this book", way_out)
    elif any(p.three()):
        p = _numbers(p, look)
    return fill_transfer(p, look)


def _numbers(p: T, look: Look) -> T:
    """What was sent is what leaves a house; what comes from outside is what arrived alive."""
    ours = member(p.from_)
    sent, alive, dead = p.three()
    dead = dead or HowMany()
    if ours:
        sent = sent or p.how_many or (_sum(alive, dead) if alive is not None else _all(p, look))
        alive = alive if alive is not None else _less(sent, dead)
        passes = sent
    else:
        alive = alive or p.how_many or (_less(sent, dead) if sent is not None else None)
        if alive is None or not alive.total():
            found = "nobody who arrived alive" if alive is not None else "no number"
            raise CannotFill("how_many", found, "how many came in alive", "Say how_many=….", "no-number")
        sent = sent or _sum(alive, dead)
        passes = alive
    if sent.total() != alive.total() + dead.total() or (
        p.how_many is not None and p.how_many.total() != passes.total()
    ):
        said = f"how_many {p.how_many.total()}, " if p.how_many is not None else ""
        found = f"{said}{sent.total()} sent, {alive.total()} alive and {dead.total()} dead on arrival"
        expected = "sent = arrived alive + dead on arrival, and how_many those " + ("sent" if ours else "alive")
        raise CannotFill("sent", found, expected, "Mend one of the numbers.")
    how_many = p.how_many
    if how_many is None and not (ours and passes.n and passes.total() == _all(p, look).total()):
        how_many = passes
    update: dict[str, object] = {"sent": sent, "arrived_alive": alive, "how_many": how_many}
    return p.model_copy(update=update)


def _all(p: Shipment, look: Look) -> HowMany:
    """All of the lot that the sender holds, as a total."""
    cells = look.cells(p.subject())
    return HowMany(n=sum(n for c, n in cells.items() if in_house(c) and c.holder == ident(p.from_)))


def _sum(a: HowMany, b: HowMany) -> HowMany:
    if a.n or b.n:
        return HowMany(n=a.total() + b.total())
    return HowMany(**{k: getattr(a, k) + getattr(b, k) for k in SEX_OF})


def _less(a: HowMany, b: HowMany) -> HowMany:
    """What is left, by sex where both are told and it can be; never below nobody."""
    left = {k: getattr(a, k) - getattr(b, k) for k in SEX_OF}
    if a.n or b.n or min(left.values()) < 0:
        return HowMany(n=max(a.total() - b.total(), 0))
    return HowMany(**left)


def shipped(p: Shipment) -> tuple[Act, ...]:
    """From a house: into transit if it left on another day; the dead; and what arrives."""
    arrives = going(p)
    assert isinstance(arrives.op, Shift)
    one, whole = arrives.individual, arrives.whole
    out: list[Act] = []
    if p.left is not None and not p.on_the_way:
        leaves = arrives.op._replace(sets=(("place", IN_TRANSIT),))
        axes, rank = ("p" if one or whole else ""), (WHOLE_LOT_LEAVES if whole else -1)
        out.append(
            arrives._replace(
                step=Step.LEAVE, op=leaves, reason="re_housed", reason_in="", axes=axes, gone=False, rank=rank, title=()
            )._replace(since=p.left)
        )
    if p.left is not None or p.on_the_way:
        arrives = _out_of_transit(p, arrives)
    dead = p.dead_on_arrival
    if dead is not None and dead.total():
        op = arrives.op
        where, at, owned_by = (op.where, op.at, op.owned_by) if isinstance(op, Shift) else (TRANSIT, "", "")
        died = Shift(None if one else dead.told(), where, at, owned_by, sets_of("dead", keeps_owner=False))
        rank = DAY_RANK[arrives.step] if arrives.rank == -1 else arrives.rank
        step, axes = (Step.END, "*") if one else (Step.LEAVE, "")
        out.append(Act(arrives.subject, step, died, "died", individual=one, axes=axes, rank=-1 if one else rank))
        if one or (p.arrived_alive is not None and not p.arrived_alive.total()):
            return tuple(out)
        alive = p.arrived_alive
        if not whole and alive is not None:
            arrives = arrives._replace(op=arrives.op._replace(amount=alive.told()))
    return (*out, arrives)


def _out_of_transit(p: Shipment, arrives: Act) -> Act:
    """The leg of arrival, of what is on the way."""
    op = arrives.op
    assert isinstance(op, Shift)
    if not member(p.to):
        return arrives._replace(op=op._replace(where=TRANSIT, at=""), needs=TRANSIT)
    sets = dict(op.sets)
    back = Back(op.amount, TRANSIT, "", sets["place"], sets["holder"], sets.get("owner", ""), sets.get("standing", ""))
    # a whole lot that is in can be moved or lose animals the same day
    return arrives._replace(step=Step.COME, op=back, needs=TRANSIT, rank=0 if arrives.whole else -1)
