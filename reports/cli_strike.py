"""`strike-out --with-all`: an entry struck out with all that hangs on it, in one batch, shown before it is written.

What hangs on an entry: whatever is about an animal, a lot or a thing of the register that it brought in, and
whatever could no longer be without it (a move of an animal that would not be there). An entry about another animal
that only names one of these, as a dam say, is corrected: the name is left out, from a list too; where it cannot be
without the name, as an order of rank of that one alone, it is struck out as well.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, Final

from ledger.content import content_of
from ledger.kinds import KINDS
from ledger.kinds.base import Ref
from ledger.refs import named, ref_fields, rewritten
from reports import cli_say as out
from reports.cli_desk import Desk
from reports.cli_entry import Called, Log, about, words
from reports.cli_guard import code_of, end
from reports.cli_reassign import consent, labelled
from reports.cli_record import Ways, finish, known_reason, write
from reports.cli_words import event_ref

if TYPE_CHECKING:
    from ledger.index import Index
    from ledger.outcome import Outcome

MOST: Final = 1_000  # entries of one batch; more than that is no slip
_COLUMNS: Final = [
    out.Column("no", "entry", right=True),
    out.Column("day", "occurred"),
    out.Column("kind", "kind"),
    out.Column("subject", "of"),
    out.Column("words", "says"),
    out.Column("then", "stays"),
]


def strike_out(event: str, reason: str, ways: Ways, *, yes: bool) -> None:
    """`tidemark strike-out --with-all`."""
    known_reason(reason)
    desk = Desk(ways.book, ways.by)
    try:
        seqs = _hanging(desk, event_ref(event), reason)
        entries = [_void(desk, seq, reason, ways.because) for seq in [*sorted(seqs[1:], reverse=True), seqs[0]]]
        mentions, gone = _mentions(desk.book.index, seqs), _brought(desk.book.index, seqs)
        labels = [f"#{seq}, to be struck out" for seq in [*sorted(seqs[1:], reverse=True), seqs[0]]]
        labels += [f"#{seq}, without {', '.join(fields)}" for seq, fields in mentions.items()]
        entries += [_without(desk, seq, gone, reason, ways.because) for seq in mentions]
        more = len(seqs) - 1
        hang = f"and {more} that hang{'s' if more == 1 else ''} on it" if more else "alone: nothing hangs on it"
        out.say(desk.head_line(f"strike out #{seqs[0]} {hang}"))
        out.say()
        called = Log(desk.book.store).called
        rows = [_shown(desk, seq, called) for seq in sorted(seqs)]
        rows += [
            {**_shown(desk, seq, called), "then": f"without {', '.join(f)}"} for seq, f in sorted(mentions.items())
        ]
        out.table(rows, _COLUMNS)
        out.say()

        question = f"Strike out these {len(seqs)} for good" if more else "Strike it out for good"

        def attempt(accept: dict[str, str], *, dry: bool) -> Outcome:
            tried = desk.book.append(entries, by=desk.by, accept=accept, dry_run=dry, basis=desk.basis)
            return labelled(tried, labels)

        finish(write(desk, attempt, entries, ways, consent(desk, question, yes=yes)))
    finally:
        desk.close()


def _void(desk: Desk, seq: int, reason: str, text: str | None) -> dict[str, Any]:
    standing = desk.book.index.standing[desk.book.index.root_of[seq]]
    why = {"code": reason, **({"text": text} if text else {})}
    return {"kind": "void", "occurred": standing.edtf, "payload": {}, "supersedes": standing.event_id, "reason": why}


def _hanging(desk: Desk, ref: int | str, reason: str) -> list[int]:
    """The entry and all that hangs on it, by position. Ends with the findings where it cannot be struck out at all."""
    index = desk.book.index
    seq = index.seq_of(ref)
    if seq is None or index.newest[index.root_of[seq]] != seq or index.root_of[seq] not in index.standing:
        tried = desk.book.strike_out(ref, reason=reason, by=desk.by, dry_run=True)
        out.findings(tried.refusals)
        end(code_of(tried.findings), "Nothing is recorded.")
    found = [seq]
    while len(found) < MOST:
        known = len(found)
        found += [n for n in _naming(index, found) if n not in found]
        tried = desk.book.append([_void(desk, n, reason, None) for n in found], by=desk.by, dry_run=True, accept={})
        hit = (index.root_of.get(f.event, 0) for f in tried.refusals if f.event and f.code != "still-named")
        more = dict.fromkeys(index.standing[root].seq for root in hit if root in index.standing)
        found += [n for n in more if n not in found]
        found += [n for n in _mentions(index, found) if n not in found and not _stands(desk, n, _brought(index, found))]
        if len(found) == known:
            break
    return found


def _brought(index: Index, seqs: Iterable[int]) -> set[str]:
    """Ids of what these entries brought in."""
    roots = {index.root_of[seq] for seq in seqs}
    return {id_ for id_, root in index.made_by.items() if root in roots}


def _naming(index: Index, seqs: Iterable[int]) -> list[int]:
    """Standing entries about what these brought in; one that only names it (as a dam, say) is judged by the book."""
    brought = _brought(index, seqs)
    if not brought:
        return []
    out_: list[int] = []
    for event in index.standing.values():
        own = KINDS[event.kind].subject_fields
        for field in ref_fields(type(event.payload)):
            value = getattr(event.payload, field.attr)
            if field.name in own and isinstance(value, Ref) and value.id in brought:
                out_.append(event.seq)
    return list(dict.fromkeys(out_))


def _mentions(index: Index, seqs: Iterable[int]) -> dict[int, list[str]]:
    """Entries that stay, and their fields that name an animal or lot of these."""
    roots = {index.root_of[seq] for seq in seqs}
    brought = {id_ for id_ in _brought(index, seqs) if id_[:2] in ("a-", "g-")}
    found: dict[int, list[str]] = {}
    for root, event in index.standing.items() if brought else ():
        for _, at, ref in named(event.payload) if root not in roots else ():
            if ref.id in brought and at not in found.setdefault(event.seq, []):
                found[event.seq].append(at)
    return {seq: fields for seq, fields in found.items() if fields}


def _payload(desk: Desk, seq: int, gone: set[str]) -> dict[str, Any]:
    """What an entry says without the names of those that are gone."""
    index = desk.book.index
    payload = index.standing[index.root_of[seq]].payload
    typed = content_of(desk.book.store, seq)["payload"]
    return dict(_full(rewritten(payload, typed, lambda ref, said: None if ref.id in gone else said)))


def _full(value: Any) -> Any:
    """A value without what is empty in it."""
    if isinstance(value, dict):
        value = {key: _full(part) for key, part in value.items()}
        return {key: part for key, part in value.items() if part not in (None, [], {})}
    if isinstance(value, list):
        return [part for part in map(_full, value) if part not in (None, [], {})]
    return value


def _stands(desk: Desk, seq: int, gone: set[str]) -> bool:
    """Whether an entry can be without the names of those that are gone."""
    index = desk.book.index
    try:
        type(index.standing[index.root_of[seq]].payload).model_validate(_payload(desk, seq, gone))
    except ValueError:
        return False
    return True


def _without(desk: Desk, seq: int, gone: set[str], reason: str, text: str | None) -> dict[str, Any]:
    content = content_of(desk.book.store, seq)
    return {
        **{key: content[key] for key in ("kind", "occurred", "observed_by", "source") if content[key]},
        "payload": _payload(desk, seq, gone),
        "supersedes": desk.book.index.standing[desk.book.index.root_of[seq]].event_id,
        "reason": {"code": reason, **({"text": text} if text else {})},
    }


def _shown(desk: Desk, seq: int, called: Called) -> dict[str, Any]:
    content = content_of(desk.book.store, seq)
    return {
        "no": f"#{seq}",
        "day": content["occurred"],
        "kind": content["kind"].replace("_", " "),
        "subject": about(content["kind"], content["payload"], str),
        "words": words(content["kind"], content["payload"], called),
    }
