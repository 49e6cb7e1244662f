"""`load`: files of entries, judged whole, then written in their order; what is recorded already is passed over."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ledger.intake.jsonl import Row, batches, read
from reports import cli_say as out
from reports.cli_desk import Desk
from reports.cli_guard import Stop, code_of, end
from reports.cli_record import Ways, span

if TYPE_CHECKING:
    from ledger.book import Outcome
    from ledger.findings import Finding

Loaded = list[tuple[dict[str, Any], str | None]]


def load(files: Sequence[Path], ways: Ways) -> None:
    """`tidemark load`."""
    accept = ways.accepted()
    rows, keys = _read(files)
    cut, found = batches(rows)
    if found:
        out.findings(found)
        end(code_of(found), "Nothing is loaded.")
    desk = Desk(ways.book, ways.by)
    try:
        named = f"load {files[0].name}" if len(files) == 1 else f"load {len(files)} files"
        out.say(desk.head_line(f"{named} · {len(rows):,} entries"))
        batch_rows: list[Loaded] = [[(row.entry, keys[id(row)]) for row in batch] for batch in cut]
        with progress("Writing", len(rows), quiet=ways.dry_run) as step:
            outcomes = desk.book.load(batch_rows, by=desk.by, accept=accept, dry_run=ways.dry_run, progress=step)
        problems = [f for batch, o in zip(cut, outcomes, strict=True) for f in _placed(desk, batch, o, keys)]
        if problems:
            _refuse(problems)
        _told(desk, cut, outcomes, dry_run=ways.dry_run)
    finally:
        desk.close()


def _read(files: Sequence[Path]) -> tuple[tuple[Row, ...], dict[int, str | None]]:
    """Rows of all files in order, and the key of each by its identity. Stops with the findings of the lines."""
    from ledger.intake.row_key import JSONL, row_keys

    rows: list[Row] = []
    found: list[Finding] = []
    keys: dict[int, str | None] = {}
    for file in files:
        if file.is_dir():
            raise Stop(f"{file} is a folder; name the files in it.")
        reading = read(file)
        found += reading.findings
        rows += reading.rows
        made = row_keys([row.entry for row in reading.rows], JSONL)
        keys |= {id(row): key for row, key in zip(reading.rows, made, strict=True)}
    if found:
        out.findings(found)
        end(code_of(found), "Nothing is loaded.")
    if not rows:
        raise Stop(f"There is no entry in {', '.join(file.name for file in files)}.")
    return tuple(rows), keys


def _placed(desk: Desk, batch: Sequence[Row], outcome: Outcome, keys: dict[int, str | None]) -> Iterator[Finding]:
    """Findings of one batch, each named by file and line.

    The book numbers the entries that are new to it; those recorded before are passed over.
    """
    index = desk.book.index
    fresh = [
        row
        for row in batch
        if keys[id(row)] not in index.row_keys and str(row.entry.get("event_id", "")).lower() not in index.by_id
    ]
    for finding in outcome.findings:
        among = batch if finding.code == "id-with-other-content" or not outcome.already else fresh
        if 0 <= finding.entry < len(among):
            _, bracket, what = finding.where.partition(" (")
            yield finding._replace(where=f"{among[finding.entry].where}{bracket}{what}")
        else:
            yield finding._replace(where=f"{batch[0].where} and on: {finding.where}")


def _refuse(problems: Sequence[Finding]) -> None:
    out.findings(problems)
    refused = [f for f in problems if f.weight != "warning"]
    if not refused:
        codes = " ".join(f"--accept {code}" for code in dict.fromkeys(f.code for f in problems))
        end(code_of(problems), f"Nothing is loaded. If it is right all the same: {codes} --because '…'.")
    end(code_of(refused), "Nothing is loaded: a file lands whole or not at all.")


def _told(desk: Desk, cut: Sequence[Sequence[Row]], outcomes: Sequence[Outcome], *, dry_run: bool) -> None:
    already = [seq for outcome in outcomes for seq in outcome.already]
    written = [seq for outcome in outcomes for seq, _ in outcome.events]
    new = sum(len(batch) for batch in cut) - len(already)
    if dry_run and new:
        kinds = Counter(str(row.entry.get("kind")).replace("_", " ") for batch in cut for row in batch)
        out.say(f"Entries: {', '.join(f'{n} {kind}' for kind, n in kinds.most_common())}.")
        postings = [posting for outcome in outcomes for posting in outcome.postings]
        desk.effect(postings, [row.entry for batch in cut for row in batch])
    if already:
        out.say(f"{len(already):,} recorded already ({span(sorted(already))}), passed over.")
    if dry_run:
        out.say(f"Dry run: {new:,} would be recorded; nothing is.")
    elif written:
        out.say(f"Recorded {len(written):,} as {span(written)}, @{outcomes[-1].position}.")
        out.say("Next: tidemark census")
    else:
        out.say("Nothing new.")


@contextmanager
def progress(what: str, total: int, *, quiet: bool = False) -> Iterator[Callable[[int], None] | None]:
    """A bar on standard error, at a terminal only; what it gives counts so many more as done."""
    if quiet or not sys.stderr.isatty():
        yield None
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

    parts = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*parts, console=Console(stderr=True, no_color=True), transient=True) as bar:
        task = bar.add_task(what, total=total)
        yield lambda done: bar.advance(task, done)
