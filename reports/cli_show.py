"""`show`: one entry whole, its texts opened, its line of corrections and what it did to the figures."""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from ledger.content import content_of
from reports import cli_say as out
from reports.cli_ask import choices
from reports.cli_book import existing
from reports.cli_desk import EFFECT, effect_rows
from reports.cli_entry import Log, plain, tied
from reports.cli_guard import REFUSED, Stop
from reports.cli_log import write_json
from reports.cli_words import event_ref, spoken

if TYPE_CHECKING:
    from ledger.book import Book

_LABEL: Final = 18  # columns of the names of fields
_FORMS: Final = ("table", "json")


def show(event: str, book: Path | None, form: str) -> None:
    """`tidemark show`."""
    from ledger import open_book

    if form not in _FORMS:
        raise Stop(f"--format is {', '.join(_FORMS)}; not “{form}”.")
    with closing(open_book(str(existing(book)))) as opened:
        seq = _seq(opened, event)
        stored = json.loads(opened.store.event(seq).data)
        content = content_of(opened.store, seq)
        log = Log(opened.store)
        if form == "json":
            return write_json({**stored, "content": content, "line": _line(opened, seq)})
        _head(log, opened, stored, seq)
        _fields(log, stored, content)
        _history(log, opened, seq)
        _did(opened, seq)
    return None


def _seq(book: Book, event: str) -> int:
    ref = event_ref(event)
    seq = ref if isinstance(ref, int) else book.index.by_id.get(ref, 0)
    if not 1 <= seq <= book.head[0]:
        raise Stop(f"There is no event {event}; the log ends at #{book.head[0]}.", REFUSED)
    return seq


def _line(book: Book, seq: int) -> list[int]:
    """Positions of the line of corrections an event belongs to, rising."""
    root = book.index.root_of[seq]
    return sorted(s for s, r in book.index.root_of.items() if r == root)


def _head(log: Log, book: Book, stored: dict[str, Any], seq: int) -> None:
    row = log.row(book.store.event(seq))
    kind, subject = stored["kind"].replace("_", " "), f" of {row['subject']}" if row["subject"] else ""
    out.say(f"#{seq} · {kind}{subject} · {spoken(row['occurred'])} · {row['state'] or 'stands'}")
    out.say()


def _fields(log: Log, stored: dict[str, Any], content: dict[str, Any]) -> None:
    for name, value in content["payload"].items():
        _say(name, _spaced(name, plain(value, log.called), stored["kind"]))
    days, recorded = stored["occurred"], stored["recorded"]
    if days["first"] != days["last"]:
        _say("possible days", f"{days['first'] or 'open'} to {days['last']}")
    _say("recorded", f"{recorded[:10]} {recorded[11:19]}Z by {log.called(stored['actor'])} ({stored['basis']})")
    if stored["observed_by"]:
        _say("observed by", ", ".join(map(log.called, stored["observed_by"])))
    for name in ("source", "reason"):
        if content[name]:
            _say(name, ": ".join(plain(part, log.called).replace("_", " ") for part in content[name].values()))
    for accepted in stored["accepted"]:
        _say("accepted", ": ".join(plain(part, log.called) for part in _opened(log, accepted).values()))
    batch = stored["batch"]
    if batch["of"] > 1:
        first = stored["seq"] - batch["no"] + 1
        _say("batch", f"{batch['no']} of {batch['of']}, #{first} to #{first + batch['of'] - 1}")
    _say("event id", stored["event_id"])


def _spaced(name: str, text: str, kind: str) -> str:
    """A word of a closed list as people say it; names, numbers and texts as they were typed."""
    return text.replace("_", " ") if text in choices(kind, name) else text


def _opened(log: Log, value: dict[str, Any]) -> dict[str, Any]:
    from ledger.content import open_text

    opened = open_text(value, log.store)
    assert isinstance(opened, dict)
    return opened


def _say(name: str, text: str) -> None:
    out.say(f"{name.replace('_', ' '):{_LABEL}}{text}", hang=_LABEL)


def _history(log: Log, book: Book, seq: int) -> None:
    """The line of corrections, and what each changed; nothing where it was never corrected."""
    line = _line(book, seq)
    if len(line) == 1:
        return
    out.say()
    for old, new in zip([0, *line], line, strict=False):
        stored, content = json.loads(book.store.event(new).data), content_of(book.store, new)
        mark = "this" if new == seq else ""
        when = f"{stored['recorded'][:10]} {stored['recorded'][11:16]}Z by {log.called(stored['actor'])}"
        if not old:
            said = "first entered"
        elif stored["kind"] == "void":
            said = f"struck out ({(content['reason'] or {}).get('code', '')})"
        else:
            said = f"{tied(content['reason']['code'], old, back=True)}: {'; '.join(_changes(log, book, old, content))}"
        text = (content["reason"] or {}).get("text", "")
        quoted = f"; “{text}”" if isinstance(text, str) and text else ""
        out.say(f"{f'#{new}':>7} {mark:5}{when}  {said}{quoted}", hang=13)


def _changes(log: Log, book: Book, old: int, new: dict[str, Any]) -> Iterator[str]:
    was = content_of(book.store, old)
    before = {"occurred": was["occurred"], **was["payload"]}
    after = {"occurred": new["occurred"], **new["payload"]}
    for key in dict.fromkeys((*before, *after)):
        if before.get(key) != after.get(key):
            a, b = (plain(side[key], log.called) if key in side else "nothing" for side in (before, after))
            yield f"{key.replace('_', ' ')} {a} → {b}"


def _did(book: Book, seq: int) -> None:
    """The lines of the journal that were posted because of it."""
    batch = json.loads(book.store.event(seq).data)["batch"]
    end = seq - batch["no"] + batch["of"]
    lines = [posting for posting in book.store.postings(end - 1, end) if posting.because == seq]
    rows = effect_rows(lines, book.index.name)
    out.say()
    if rows:
        out.say("Posted when it was recorded:")
        out.table(rows, EFFECT)
    else:
        out.say("It moved no figure.")
