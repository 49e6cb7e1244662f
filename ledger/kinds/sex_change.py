"""An animal changes, or changed, its sex.

What happened
    The first sign was seen, the change was completed, or it was given up.

When it counts
    A completed change on its day; of a range, on its last possible day, with the range shown. First signs and
    changes given up count nothing.

What it changes
    The sex columns; *re-classed* in a roll-forward, only when completed. No total.

What it does not mean
    A finding about what it always was: that is a sexing. Until the change is completed the animal counts with its
    former sex.

Example
    {"kind": "sex_change", "occurred": "2025-08-01/2025-08-20", "payload": {"animal": "MS-2023-0042",
    "to": "f", "stage": "completed", "evidence": "spawning"}}
"""

from __future__ import annotations

from typing import ClassVar, Final, Literal, Self

from pydantic import model_validator

from ledger.acts import LIVE, SEEN, Act, Shift, Step
from ledger.kinds._bonds import event_of
from ledger.kinds._fields import refuse
from ledger.kinds._finding import Found
from ledger.kinds._subject import away, called, fill_from, ident, in_house, with_
from ledger.kinds.base import CannotFill, Code, Event, Look, Sex

NAME = "sex_change"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("animal", "lot")
FOLLOWS = {"stage": ("of",)}
# what can take an animal of the dominant sex from its unit, and so open its place
LOSSES: Final = ("death", "transfer", "move", "escape", "missing", "release", "fed_out", "sex_change")


class Payload(Found):
    """`was` is the former sex, filled in for an animal; of a lot, `how_many` is by the former sex.

    `of`: the first sign this goes on from, filled in where one is open; `opened_by`: the loss that opened the place
    (a death, transfer, move, escape, or change of another). Both name an event, as `#n` or by its id.
    """

    to: Sex
    was: Sex | None = None
    stage: Literal["first_sign", "completed", "given_up"]
    evidence: Literal["behaviour", "colour", "size", "spawning", "examination", "gonad", "gene", "other"] | None = None

    of: Code | None = None
    opened_by: Code | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="after")
    def _fits(self) -> Self:
        if self.to == "unknown":
            refuse("to", "a change to unknown", "male, female or hermaphrodite", "Say what it became.")
        if self.was == self.to:
            refuse("was", f"from {self.was} to {self.to}", "two sexes", "Say what it was and what it became.")
        if self.lot is not None and self.how_many is None:
            refuse("how_many", "no number", "how many changed, by their former sex", "Say how_many={'f': 1}.")
        if self.lot is not None and self.was is not None:
            refuse("was", "a former sex for a lot", "how_many by the former sex", "Leave was out.")
        if self.of is not None and self.stage == "first_sign":
            refuse(
                "of", "an earlier stage of a first sign", "a later stage", "Leave of out: a first sign is the first."
            )
        if self.how_many is not None and any(sex == self.to for sex, _ in self.how_many.amount()):
            refuse("how_many", f"{self.to} changed to {self.to}", "their former sex", "Say how_many by the former sex.")
        return self


def fill(p: Payload, look: Look) -> Payload:
    """The former sex of an animal; of a lot, where they stand, if in one enclosure; the events it goes on from."""
    sign = _sign(p, look)
    loss = event_of(look, "opened_by", p.opened_by, LOSSES, "the loss of another that opened the place")
    p = with_(p, of=sign.event_id if sign else None, opened_by=loss.event_id if loss else None)
    if p.animal is not None and p.was is None:
        sexes = {c.sex for c in look.cells(p.animal)}
        was = sexes.pop() if len(sexes) == 1 else ""
        return with_(p, was=was if was != p.to else "")
    return fill_from(p, look, in_house, away)


def _sign(p: Payload, look: Look) -> Event | None:
    """The first sign a later stage goes on from: as named, else the one that is open."""
    subject = p.subject()
    named = event_of(look, "of", p.of, (NAME,), f"a first sign of {called(subject)}")
    if named is not None:
        theirs = named.payload
        if not isinstance(theirs, Payload) or theirs.stage != "first_sign" or ident(theirs.subject()) != ident(subject):
            found = f"{p.of!r} is no first sign of {called(subject)}"
            raise CannotFill("of", found, "the first sign this goes on from", "Name it as #n.", "unknown-event")
        return named
    if p.stage == "first_sign" or p.animal is None:
        return None
    told = [e for e in look.about(NAME, subject) if isinstance(e.payload, Payload) and e.last <= look.last_day()]
    ended = [e for e in told if isinstance(e.payload, Payload) and e.payload.stage != "first_sign"]
    taken = {same.event_id for e in ended if (same := look.event(getattr(e.payload, "of", None) or "")) is not None}
    since = max((e.last for e in ended), default=0)
    signs = [e for e in told if e not in ended and e.event_id not in taken and e.last >= since]
    fits = [e for e in signs if getattr(e.payload, "to", "") == p.to]
    return fits[0] if len(fits) == 1 else None


def acts(p: Payload) -> tuple[Act, ...]:
    """Completed: the sex is set. Other stages: none."""
    if p.stage != "completed":
        return ()
    amount, at, owner = p.taken()
    one = p.animal is not None
    op = Shift(amount, LIVE if one else SEEN, at, owner, (("sex", p.to),))
    only = (p.was,) if one and p.was else ()
    axes = "s" if one else ""
    return (Act(ident(p.subject()), Step.CHANGE, op, "sex_changed", individual=one, axes=axes, only_from=only),)
