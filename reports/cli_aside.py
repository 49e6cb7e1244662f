"""`load --set-aside`: what can land does; the rest goes into a file, its findings beside each row, to be mended there.

Rows that share an animal or a lot stand or fall together (`ledger.intake.parting`); rows whose warnings nobody
accepts are set aside with them. The file that is written is loaded again as it is: its findings are passed over.
"""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from ledger.intake.jsonl import Row
from ledger.intake.parting import line_of, packed, parts, unread_line
from reports import cli_say as out
from reports.cli_desk import Desk
from reports.cli_guard import REFUSED, Stop, end
from reports.cli_load import Cut, Sheet, accepting, placed, progress, reasons, told
from reports.cli_record import Ways

if TYPE_CHECKING:
    from ledger.findings import Finding
    from ledger.outcome import Outcome


class _Judged(NamedTuple):
    """Parts that can land with what they would do, and parts that cannot with their findings."""

    good: list[tuple[tuple[Row, ...], Outcome]]
    bad: list[tuple[tuple[Row, ...], list[Finding]]]

    def findings(self) -> list[Finding]:
        """All of them, in the order of the file."""
        return [finding for _, found in self.bad for finding in found]


def load_parts(desk: Desk, sheet: Sheet, ways: Ways, aside: Path) -> None:
    """Land what can land and write the rest to `aside`; ends with 3 where anything is set aside."""
    if aside.exists():
        raise Stop(f"Something stands at {aside} already; rows set aside go into a new file.")
    if not aside.absolute().parent.is_dir():
        raise Stop(f"There is no folder {aside.parent}; make it first.")
    accept = ways.accepted()
    judged = _judge(desk, sheet, accept)
    found = [odd.finding for odd in sheet.unread] + judged.findings()
    out.findings(found)
    warnings = [f for f in found if f.weight == "warning"]
    if warnings and (said := reasons(desk, warnings)):
        accept |= said
        judged = _judge(desk, sheet, accept)
        warnings = [f for f in judged.findings() if f.weight == "warning"]
    lines = _lines(judged, sheet)
    if lines and not ways.dry_run:
        _write(aside, lines)  # before anything lands: what is set aside is never only in memory
    _land(desk, sheet, judged, accept, dry_run=ways.dry_run)
    if lines:
        where = "would be set aside" if ways.dry_run else f"set aside in {aside}, each with its findings"
        again = "" if ways.dry_run else f" Mend them there, then: tidemark load {aside}"
        if warnings:
            out.say(accepting(warnings), err=True)
        end(REFUSED, f"{len(lines):,} of {len(sheet.rows) + len(sheet.unread):,} {where}.{again}")


def _judge(desk: Desk, sheet: Sheet, accept: dict[str, str]) -> _Judged:
    cut = parts(sheet.rows, desk.book.index)
    outcomes = desk.book.load(sheet.loaded(cut), by=desk.by, accept=accept, dry_run=True)
    judged = _Judged([], [])
    for part, outcome in zip(cut, outcomes, strict=True):
        if outcome.landed:
            judged.good.append((part, outcome))
        else:
            judged.bad.append((part, list(placed(desk, part, outcome, sheet.keys))))
    return judged


def _land(desk: Desk, sheet: Sheet, judged: _Judged, accept: dict[str, str], *, dry_run: bool) -> None:
    good = [part for part, _ in judged.good]
    if not good:
        out.say("Nothing is loaded.")
        return
    if dry_run:
        told(desk, good, [outcome for _, outcome in judged.good], dry_run=True)
        return
    cut: Cut = packed(good, sheet.rows)
    with progress("Writing", sum(map(len, good))) as step:
        outcomes = desk.book.load(sheet.loaded(cut), by=desk.by, accept=accept, progress=step)
        if any(not outcome.landed for outcome in outcomes):  # together they do not, as they did one by one
            cut = good
            outcomes = desk.book.load(sheet.loaded(cut), by=desk.by, accept=accept, progress=step)
    if any(not outcome.landed for outcome in outcomes):
        out.findings([f for outcome in outcomes for f in outcome.findings])
        end(REFUSED, "Nothing is loaded: the book changed meanwhile. Load the file again.")
    told(desk, cut, outcomes, dry_run=False)


def _lines(judged: _Judged, sheet: Sheet) -> list[str]:
    """What is set aside, in the order of the file; a row that two files share stands once."""
    place = {id(row): number for number, row in enumerate(sheet.rows)}
    rows: list[tuple[int, str]] = []
    seen: set[tuple[str, str]] = set()
    for part, found in judged.bad:
        causes = ", ".join(dict.fromkeys(part[f.entry].where for f in found if f.entry >= 0)) or part[0].where
        for number, row in enumerate(part):
            key = sheet.keys[id(row)]
            if key is not None and any(key == k and file != row.file for file, k in seen):
                continue
            seen.add((row.file, key or ""))
            own = [f for f in found if f.entry in (number, -1)]
            rows.append((place[id(row)], line_of(row.entry, own, causes)))
    return [unread_line(odd) for odd in sheet.unread] + [line for _, line in sorted(rows)]


def _write(path: Path, lines: Sequence[str]) -> None:
    half = path.with_name(path.name + ".part")  # renamed when whole
    half.write_text("".join(f"{line}\n" for line in lines), encoding="utf-8")
    half.replace(path)
