"""`load`: files of entries, judged whole, then written in their order; what is recorded already is passed over."""

from __future__ import annotations

import sys
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from ledger.entry import same_id
from ledger.intake.jsonl import Row, Unread, batches, read
from reports import cli_say as out
from reports.cli_ask import Asking
from reports.cli_book import terminal
from reports.cli_desk import Desk
from reports.cli_guard import Stop, code_of, end
from reports.cli_record import Ways, span

if TYPE_CHECKING:
    from ledger.findings import Finding
    from ledger.outcome import Outcome

WHOLE: Final = (
    "Nothing is loaded: a file lands whole or not at all. "
    "With --set-aside FILE the good rows land and the rest goes there."
)
Cut = Sequence[Sequence[Row]]
Loaded = list[tuple[dict[str, Any], str | None]]


class Sheet(NamedTuple):
    """What the files hold: rows in order, the key of each by its identity, and the lines that are no entries."""

    rows: tuple[Row, ...]
    keys: dict[int, str | None]
    unread: tuple[Unread, ...] = ()

    def loaded(self, cut: Cut) -> list[Loaded]:
        """Batches as the book takes them."""
        return [[(row.entry, self.keys[id(row)]) for row in batch] for batch in cut]


def load(files: Sequence[Path], ways: Ways, aside: Path | None = None) -> None:
    """`tidemark load`. With `aside`, what cannot land goes into that file and the rest lands (`cli_aside`)."""
    accept = ways.accepted()
    sheet = read_all(files, partible=aside is not None)
    cut, found = batches(sheet.rows)
    if found:
        out.findings(found)
        end(code_of(found), "Nothing is loaded.")
    desk = Desk(ways.book, ways.by)
    try:
        named = f"load {files[0].name}" if len(files) == 1 else f"load {len(files)} files"
        out.say(desk.head_line(f"{named} · {len(sheet.rows):,} entries"))
        if aside is not None:
            from reports import cli_aside

            return cli_aside.load_parts(desk, sheet, ways, aside)
        outcomes = _try(desk, sheet, cut, accept, dry_run=ways.dry_run)
        problems = placed_all(desk, cut, outcomes, sheet.keys)
        if problems:
            accept |= _refuse(desk, problems)
            outcomes = _try(desk, sheet, cut, accept, dry_run=ways.dry_run)
            if again := placed_all(desk, cut, outcomes, sheet.keys):
                out.findings(again)
                end(code_of(again), "Nothing is loaded.")
        told(desk, cut, outcomes, dry_run=ways.dry_run)
    finally:
        desk.close()
    return None


def _try(desk: Desk, sheet: Sheet, cut: Cut, accept: dict[str, str], *, dry_run: bool) -> list[Outcome]:
    with progress("Writing", len(sheet.rows), quiet=dry_run) as step:
        return desk.book.load(sheet.loaded(cut), by=desk.by, accept=accept, dry_run=dry_run, progress=step)


def read_all(files: Sequence[Path], *, partible: bool = False) -> Sheet:
    """All files in order. Stops with the findings of the lines, unless they can be set aside as they stand."""
    from ledger.intake.row_key import JSONL, row_keys

    rows: list[Row] = []
    found: list[Finding] = []
    unread: list[Unread] = []
    keys: dict[int, str | None] = {}
    for file in files:
        if file.is_dir():
            raise Stop(f"{file} is a folder; name the files in it.")
        reading = read(file)
        unread += reading.unread
        if not (partible and reading.partible):
            found += reading.findings
        rows += reading.rows
        made = row_keys([row.entry for row in reading.rows], JSONL)
        keys |= {id(row): key for row, key in zip(reading.rows, made, strict=True)}
    if found:
        out.findings(found)
        end(code_of(found), "Nothing is loaded." if partible else WHOLE)
    if not rows and not unread:
        raise Stop(f"There is no entry in {', '.join(file.name for file in files)}.")
    return Sheet(tuple(rows), keys, tuple(unread))


def placed_all(desk: Desk, cut: Cut, outcomes: Sequence[Outcome], keys: dict[int, str | None]) -> list[Finding]:
    """Findings of all batches, each named by file and line."""
    return [f for batch, outcome in zip(cut, outcomes, strict=True) for f in placed(desk, batch, outcome, keys)]


def placed(desk: Desk, batch: Sequence[Row], outcome: Outcome, keys: dict[int, str | None]) -> Iterator[Finding]:
    """Findings of one batch, each named by file and line; `entry` is then the place of the row in the batch.

    The book numbers the entries that are new to it; those recorded before are passed over.
    """
    index = desk.book.index
    every = list(range(len(batch)))
    fresh = [
        n
        for n in every
        if keys[id(batch[n])] not in index.row_keys
        and (same_id(batch[n].entry.get("event_id")) or "") not in index.by_id
    ]
    for finding in outcome.findings:
        among = every if finding.code == "id-with-other-content" or not outcome.already else fresh
        if 0 <= finding.entry < len(among):
            number = among[finding.entry]
            _, bracket, what = finding.where.partition(" (")
            yield finding._replace(where=f"{batch[number].where}{bracket}{what}", entry=number)
        else:
            yield finding._replace(where=f"{batch[0].where} and on: {finding.where}", entry=-1)


def _refuse(desk: Desk, problems: Sequence[Finding]) -> dict[str, str]:
    """End here; or, of warnings alone and at a terminal, the reasons for which they are accepted, one a cause."""
    out.findings(problems)
    refused = [f for f in problems if f.weight != "warning"]
    if refused:
        end(code_of(refused), WHOLE)
    return reasons(desk, problems) or end(code_of(problems), f"Nothing is loaded. {accepting(problems)}")


def reasons(desk: Desk, warnings: Sequence[Finding]) -> dict[str, str]:
    """Why the warnings are right all the same: asked once a cause for the whole file, at a terminal only."""
    asking = Asking(desk, "", terminal())
    asking.asked = asking.terminal
    return asking.accept(warnings)


def accepting(warnings: Sequence[Finding]) -> str:
    """How warnings are accepted on the command line."""
    codes = " ".join(f"--accept {code}" for code in dict.fromkeys(f.code for f in warnings))
    return f"If it is right all the same: {codes} --because '…'."


def told(desk: Desk, cut: Cut, outcomes: Sequence[Outcome], *, dry_run: bool) -> None:
    """Say what was recorded, or would be."""
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
