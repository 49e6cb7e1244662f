"""`reassign A B`: two animals that were taken for one another for a time; one batch puts their entries round.

What was entered of the one since that day is struck out and entered anew for the other, in the order in which it
was entered; entries that only name one of them (as a dam, say) are corrected. Arrivals stay where they are: they
gave the numbers.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from ledger.content import content_of
from ledger.kinds import KINDS
from ledger.refs import named, rewritten
from reports import cli_say as out
from reports.cli_ask import Asking
from reports.cli_book import terminal
from reports.cli_desk import Desk
from reports.cli_entry import about, words
from reports.cli_guard import REFUSED, Stop
from reports.cli_record import Ways, finish, write

if TYPE_CHECKING:
    from ledger.index import Standing
    from ledger.outcome import Outcome

_COLUMNS: Final = [
    out.Column("no", "entry", right=True),
    out.Column("day", "occurred"),
    out.Column("kind", "kind"),
    out.Column("was", "of"),
    out.Column("now", "then of"),
    out.Column("words", "says"),
]
_FILLED: Final = ("holder", "owner", "standing", "taxon", "sex", "was", "owned_by")  # of the wrong animal: filled anew


class Pair(NamedTuple):
    """Two animals, or two lots, that were taken for one another: their ids, and each one's number."""

    one: str
    other: str
    number: dict[str, str]

    def swapped(self, id_: str) -> str:
        """The one for the other; anything else as it is."""
        return {self.one: self.other, self.other: self.one}.get(id_, id_)


class Anew(NamedTuple):
    """An entry that changes hands: the entries that do it, and what is shown of it."""

    event: Standing
    strikes: list[dict[str, Any]]
    enters: list[dict[str, Any]]
    shown: dict[str, Any]


def reassign(one: str, other: str, first: str, last: str | None, ways: Ways, *, yes: bool) -> None:
    """`tidemark reassign`."""
    because = ways.because
    if not because:
        raise Stop("Say how it is known that they were swapped: --because '…'.")
    desk = Desk(ways.book, ways.by)
    try:
        pair = _pair(desk, one, other)
        begin = _day(desk, first)
        end = _day(desk, last) if last else desk.today()
        if begin > end:
            raise Stop(f"The time begins on {begin}, after its end on {end}; turn --from and --until round.")
        stays, moves = _sorted(desk, pair, begin, end)
        anew = [_anew(desk, pair, event, because) for event in moves]
        out.say(desk.head_line(f"reassign {one} and {other}, {begin} to {end}"))
        out.say()
        for event in stays:
            out.say(f"Stays: #{event.seq}, {event.kind.replace('_', ' ')} of {_of(desk, pair, event)}, {event.edtf}.")
        if not anew:
            raise Stop("Nothing was entered of either in that time.", REFUSED)
        out.table([a.shown for a in anew], _COLUMNS)
        out.say()
        strikes = [(e, f"#{a.event.seq}, to be struck out") for a in anew for e in a.strikes]
        anew_ = [(e, f"{a.shown['kind']} of {a.shown['now']}, now #{a.event.seq}") for a in anew for e in a.enters]
        entries, labels = [e for e, _ in strikes + anew_], [label for _, label in strikes + anew_]

        def attempt(accept: dict[str, str], *, dry: bool) -> Outcome:
            tried = desk.book.append(entries, by=desk.by, accept=accept, dry_run=dry, basis=desk.basis)
            return labelled(tried, labels)

        finish(write(desk, attempt, entries, ways, consent(desk, f"Put these {len(anew)} round", yes=yes)))
    finally:
        desk.close()


def consent(desk: Desk, question: str, *, yes: bool) -> Asking:
    """Somebody who is asked before many entries change; `--yes` says it beforehand."""
    asking = Asking(desk, "", terminal())
    asking.asked = asking.terminal and not yes
    asking.consent = "" if yes else question
    return asking


def labelled(outcome: Outcome, labels: Sequence[str]) -> Outcome:
    """The findings of a batch that nobody typed, named by the entries of the log it is made of."""
    found = [f._replace(where=labels[f.entry]) if 0 <= f.entry < len(labels) else f for f in outcome.findings]
    return replace(outcome, findings=tuple(found))


# --- what changes hands -----------------------------------------------------------------------------


def _pair(desk: Desk, one: str, other: str) -> Pair:
    found: list[str] = []
    for number in (one, other):
        ids = desk.book.index.find(("animal", "lot"), number)
        if len(ids) != 1:
            said = "is borne at several houses; write HOUSE:number" if ids else "is in standing use"
            raise Stop(f"“{number}” {said}." if ids else f"No animal or lot “{number}” {said}.", REFUSED)
        found += ids
    sorts = {desk.book.index.things[id_].sort for id_ in found}
    if found[0] == found[1] or len(sorts) > 1:
        raise Stop("Two animals can be put round, or two lots; not an animal and a lot, nor one with itself.")
    return Pair(found[0], found[1], dict(zip(found, (one, other), strict=True)))


def _day(desk: Desk, text: str) -> date:
    try:
        return date.fromisoformat(desk.iso(text))
    except ValueError:
        raise Stop(f"“{text}” is not a day; write 2025-12-31, today, yesterday or the name of a weekday.") from None


def _sorted(desk: Desk, pair: Pair, begin: date, end: date) -> tuple[list[Standing], list[Standing]]:
    """Entries of the two in that time: arrivals, which stay; and the others, in the order of recording."""
    index, low, high = desk.book.index, begin.toordinal(), end.toordinal()
    stays, moves = [], []
    for root, event in sorted(index.standing.items()):
        if event.last < low or event.first > high or not {pair.one, pair.other} & set(_named(event)):
            continue
        if root in (index.made_by.get(pair.one), index.made_by.get(pair.other)):
            stays.append(event)
            continue
        if event.first < low or event.last > high:
            raise Stop(
                f"#{event.seq}, the {event.kind.replace('_', ' ')} of {_of(desk, pair, event)} ({event.edtf}), can lie "
                "on either side of that time; correct its date first, or take another day.",
                REFUSED,
            )
        moves.append(event)
    return stays, moves


def _named(event: Standing) -> Iterator[str]:
    yield from (ref.id for _, _, ref in named(event.payload) if ref.id)


def _of(desk: Desk, pair: Pair, event: Standing) -> str:
    """Whose entry it is, by the numbers as they were given to the command."""
    own = [id_ for id_ in _named(event) if id_ in pair.number] or event.subjects()
    return " and ".join(pair.number.get(id_) or desk.book.index.name(id_) for id_ in dict.fromkeys(own))


def _anew(desk: Desk, pair: Pair, event: Standing, because: str) -> Anew:
    """What an entry becomes: struck out and entered anew, or corrected where it is about another animal."""
    content = content_of(desk.book.store, event.seq)
    kind = KINDS[event.kind]
    held: dict[str, list[str]] = {}  # field -> ids
    for _, at, ref in named(event.payload):
        held.setdefault(at, []).append(ref.id or "")
    held = {at: ids for at, ids in held.items() if {pair.one, pair.other} & set(ids)}  # that name one of the two
    payload = rewritten(
        event.payload, content["payload"], lambda ref, text: pair.number.get(pair.swapped(ref.id or ""), text)
    )
    whose = _of(desk, pair, event)
    found = dict.fromkeys(id_ for ids in held.values() for id_ in ids if id_ in pair.number)
    becomes = " and ".join(pair.number[pair.swapped(id_)] for id_ in found)
    own = bool(held.keys() & set(kind.subject_fields))
    shown = {
        "no": f"#{event.seq}",
        "day": event.edtf,
        "kind": event.kind.replace("_", " "),
        "was": whose if own else f"{about(event.kind, content['payload'], str)}, naming {whose}",
        "now": becomes,
        "words": words(event.kind, content["payload"], str),
    }
    entry: dict[str, Any] = {
        "kind": event.kind,
        "occurred": event.edtf,
        "payload": {k: v for k, v in payload.items() if not own or k not in _FILLED or _typed(event.kind, k)},
        "reason": {"code": "mistake", "text": f"{because} (reassigned from #{event.seq}, of {whose})"},
        **{key: content[key] for key in ("observed_by", "source") if content[key]},
    }
    if not own:
        return Anew(event, [], [{**entry, "supersedes": event.event_id}], shown)
    reason = {"code": "mistake", "text": f"{because} (reassigned: entered anew for {becomes})"}
    strike = {"kind": "void", "occurred": event.edtf, "payload": {}, "supersedes": event.event_id, "reason": reason}
    return Anew(event, [strike], [entry], shown)


def _typed(kind: str, field: str) -> bool:
    """A field that only a person can have given: the kind cannot do without it."""
    info = {i.alias or a: i for a, i in KINDS[kind].Payload.model_fields.items()}.get(field)
    return info is not None and info.is_required()
