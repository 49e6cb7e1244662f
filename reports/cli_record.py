"""`record`, `correct` and `strike-out`: ask for what is missing, show what it does, then write it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, Protocol

from reports import cli_say as out
from reports.cli_ask import Asking, list_fields
from reports.cli_book import terminal
from reports.cli_desk import Desk
from reports.cli_guard import WELL, Stop, code_of, end
from reports.cli_words import Mistyped, entry, event_ref, pairs, several, spoken

if TYPE_CHECKING:
    from ledger.findings import Finding
    from ledger.outcome import Outcome

REASONS = ("slip", "mistake", "learnt", "merged_records")


class Ways(NamedTuple):
    """The options that every writing command takes, as typed."""

    book: Path | None
    by: str | None
    accept: list[str]
    because: str | None
    dry_run: bool

    def accepted(self) -> dict[str, str]:
        """Warning code to reason."""
        from ledger.findings import BY_NAME

        if self.accept and not self.because:
            raise Stop("A warning is accepted with a reason: --because 'why it is right all the same'.")
        for code in self.accept:
            if code not in BY_NAME or BY_NAME[code].weight != "warning":
                raise Stop(f"“{code}” is no warning that could be accepted.")
        return dict.fromkeys(self.accept, self.because or "")


class Try(Protocol):
    """One attempt at an entry: accepted warnings by code, and whether it is only tried."""

    def __call__(self, accept: dict[str, str], *, dry: bool) -> Outcome:
        """What became of it, or would become."""


def record(kind: str, typed: Sequence[str], ways: Ways) -> None:
    """`tidemark record`."""
    from ledger.kinds import KINDS, nearest

    name = kind.replace("-", "_")
    if name not in KINDS:
        near = nearest(name)
        raise Stop(f"There is no kind “{kind}”{f'; {near} is near' if near else ''}. `tidemark kinds` lists them.")
    fields = pairs(typed, list_fields(name))
    count = _count(fields.pop("count", None))
    desk = Desk(ways.book, ways.by)
    try:
        asking = Asking(desk, name, terminal())
        fields, count = asking.complete(fields, count)
        while True:
            entries = several(entry(name, fields, desk.today()), count)
            outcome = _record_once(desk, entries, ways, asking)
            mended = asking.mend(fields, outcome.refusals) if outcome.refusals else None
            if mended is None:
                return finish(outcome)
            fields = mended
    finally:
        desk.close()


def _record_once(desk: Desk, entries: list[dict[str, Any]], ways: Ways, asking: Asking) -> Outcome:
    """Say what is to be recorded, try it and, where nothing stands against it, write it."""

    def attempt(accept: dict[str, str], *, dry: bool) -> Outcome:
        return desk.book.append(entries, by=desk.by, accept=accept, dry_run=dry, basis=desk.basis)

    one = entries[0]
    what = f"{one['kind'].replace('_', ' ')} · {spoken(str(one.get('occurred', 'no date')))}"
    out.say(desk.head_line(what if len(entries) == 1 else f"{len(entries)} × {what}"))
    _numbers(entries)
    return write(desk, attempt, entries, ways, asking)


def _numbers(entries: list[dict[str, Any]]) -> None:
    numbers = [str(e["payload"]["animal"]) for e in entries if "animal" in e["payload"]]
    if len(numbers) > 1:
        out.say(f"{numbers[0]} to {numbers[-1]}")


def correct(event: str, typed: Sequence[str], reason: str, ways: Ways) -> None:
    """`tidemark correct`. `field=` with nothing after it takes the field out."""
    taken_out = {text[:-1]: None for text in typed if text.endswith("=") and text.count("=") == 1}
    fields = pairs([text for text in typed if text.removesuffix("=") not in taken_out])
    known_reason(reason)
    desk = Desk(ways.book, ways.by)
    try:
        asking = Asking(desk, "", terminal())
        given = entry("", fields, desk.today())
        changes = {**given.pop("payload"), **taken_out}
        if not changes and len(given) == 1:
            raise Stop("Say what to put right: field=value, or occurred=….")
        made = desk.book.correction(event_ref(event), changes, reason=reason, text=ways.because)
        if not isinstance(made, dict):
            out.findings([made])
            end(code_of([made]), "Nothing is recorded.")
        whole = {**made, **given, "kind": made["kind"]}

        def attempt(accept: dict[str, str], *, dry: bool) -> Outcome:
            return desk.book.append(whole, by=desk.by, accept=accept, dry_run=dry, basis=desk.basis)

        out.say(desk.head_line(f"correct {_named(event, made)}"))
        for line in changed(desk, event_ref(event), changes, given):
            out.say(line, hang=4)
        finish(write(desk, attempt, [], ways, asking))
    finally:
        desk.close()


def changed(desk: Desk, ref: int | str, changes: dict[str, Any], given: dict[str, Any]) -> Iterator[str]:
    """What a correction changes, field by field: `  how many: 0.0.1 → 2`."""
    from ledger.content import content_of
    from reports.cli_entry import plain

    seq = desk.book.index.seq_of(ref)
    was = content_of(desk.book.store, seq) if seq else {"payload": {}}
    old = {**was["payload"], "occurred": was.get("occurred")}
    for name, new in {**changes, **{k: v for k, v in given.items() if k == "occurred"}}.items():
        a, b = (plain(value, str) if value is not None else "nothing" for value in (old.get(name), new))
        yield f"  {name.replace('_', ' ')}: {a} → {b}"


def strike_out(event: str, reason: str, ways: Ways) -> None:
    """`tidemark strike-out`."""
    known_reason(reason)
    desk = Desk(ways.book, ways.by)
    try:
        ref = event_ref(event)

        def attempt(accept: dict[str, str], *, dry: bool) -> Outcome:
            return desk.book.strike_out(ref, reason=reason, text=ways.because, by=desk.by, accept=accept, dry_run=dry)

        out.say(desk.head_line(f"strike out {_named(event)}"))
        finish(write(desk, attempt, [], ways, Asking(desk, "", terminal())))
    finally:
        desk.close()


def _named(event: str, entry_: dict[str, Any] | None = None) -> str:
    """`#812 (death of MS-2024-0117)`."""
    from ledger.spot import spot

    ref = event_ref(event)
    said = f"#{ref}" if isinstance(ref, int) else ref
    return said + spot(entry_, 0).where.removeprefix("entry 1") if entry_ else said


def known_reason(reason: str) -> None:
    """Stop where a reason for a correction is none of `REASONS`."""
    if reason not in REASONS:
        raise Stop(f"--reason is {', '.join(REASONS)}; not “{reason}”.")


def _count(value: Any) -> int:
    if value is None:
        return 1
    if isinstance(value, str) and value.isascii() and value.isdecimal():
        return int(value[:9])
    raise Mistyped("count= is a whole number, such as count=12.")


# --- try, show, accept, write -------------------------------------------------------------------------


def write(desk: Desk, attempt: Try, entries: list[dict[str, Any]], ways: Ways, asking: Asking) -> Outcome:
    """A dry run first, its effect shown; then, where nothing stands against it, the real one."""
    accept = ways.accepted()
    tried = attempt(accept, dry=True)
    if tried.already and not tried.events and not tried.postings and tried.landed:
        return tried
    if tried.refusals:
        out.findings(_plain(tried.findings, entries))
        return tried
    desk.effect(tried.postings, entries)
    if tried.warnings:
        out.findings(_plain(tried.warnings, entries))
        accept |= asking.accept(tried.warnings)
        if any(f.code not in accept for f in tried.warnings):
            codes = " ".join(f"--accept {code}" for code in dict.fromkeys(f.code for f in tried.warnings))
            out.say(f"Not recorded. If it is right all the same: {codes} --because '…'.", err=True)
            return tried
    if ways.dry_run:
        out.say("Dry run: nothing is recorded.")
        end(WELL)
    if not asking.agree():
        out.say("Nothing is recorded.")
        end(WELL)
    return attempt(accept, dry=False)


def _plain(findings: Sequence[Finding], entries: list[dict[str, Any]]) -> list[Finding]:
    """Where there is but one entry it needs no number: `death of MS-2024-0117`."""
    if len(entries) > 1:
        return list(findings)
    return [f._replace(where=f.where.removeprefix("entry 1 (").removesuffix(")")) for f in findings]


def finish(outcome: Outcome) -> None:
    """Say what was recorded, or end with the code of what stood against it."""
    if not outcome.landed:
        if outcome.refusals:
            out.say("Nothing is recorded.", err=True)
        end(code_of(outcome.findings))
    if outcome.already:
        out.say(f"Already recorded as {span(outcome.already)}.")
    if outcome.events:
        out.say(f"Recorded as {span([seq for seq, _ in outcome.events])}, @{outcome.position}.")


def span(seqs: Sequence[int]) -> str:
    """Positions of events in words: `#15`, `#15 to #17`, `#15, #19`."""
    if len(seqs) > 1 and list(seqs) == list(range(seqs[0], seqs[-1] + 1)):
        return f"#{seqs[0]} to #{seqs[-1]}"
    return ", ".join(f"#{seq}" for seq in seqs[:12]) + (f" and {len(seqs) - 12} more" if len(seqs) > 12 else "")
