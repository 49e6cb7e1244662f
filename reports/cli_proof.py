"""`check` (is it plausible) and `verify` (is it untouched)."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reports import cli_say as out
from reports.cli_book import INVENTED, existing
from reports.cli_guard import FOUND, INTEGRITY, Stop, end

if TYPE_CHECKING:
    from ledger.recompute import Recomputed

FORMS = ("table", "json")


def check(book: Path | None, form: str) -> None:
    """`tidemark check`."""
    from ledger import open_book
    from ledger.checks.standing import plausible

    if form not in FORMS:
        raise Stop(f"--format is {', '.join(FORMS)}; not “{form}”.")
    path = existing(book)
    opened = open_book(str(path))
    try:
        found = plausible(opened.index)
        position, leaf = opened.head
        events = len(opened.index.standing)
    finally:
        opened.close()
    if form == "json":
        rows = [{**f._asdict(), "weight": f.weight} for f in found]
        sys.stdout.write(json.dumps({"position": position, "head": leaf, "rows": rows}, indent=1) + "\n")
    else:
        out.say(f"{path} · what stands · {events:,} events, @{position}")
        out.findings(found, err=False)
        kept = "What was accepted when it was recorded is not asked again."
        out.say(f"{len(found)} findings. {kept}" if found else f"Nothing found. {kept}")
    if found:
        end(FOUND)


def _second(store: Any) -> Recomputed:
    from ledger.recompute import recompute

    return recompute(store)


def verify(book: Path | None, *, recompute: bool = False) -> None:
    """`tidemark verify`; with `recompute` the journal is derived a second way too."""
    from ledger import open_book

    path = existing(book)
    opened = open_book(str(path))
    try:
        report = opened.verify()
        simulated = next(opened.events())["payload"]["clock_kind"] == "simulated"
        second = _second(opened.store) if recompute else None
    finally:
        opened.close()
    out.say(report.sentence())
    for fault in report.faults:
        out.say(f"  {f'#{fault.seq}' if fault.seq else 'book'} · {fault.part} · {fault.sentence}", style="31")
    if report.missing_texts:
        out.say(f"{len(report.missing_texts)} texts were erased or are lost; their events still bind them.")
    out.say(f"head {report.head.leaf.hex()}")
    out.say(f"root {report.root.hex()}")
    out.say(f"journal {report.head.journal.hex()}")
    if simulated:
        out.say(f"A simulated book: {INVENTED}.")
    if second is not None:
        out.say(second.sentence())
    if not report.whole or (second is not None and not second.agrees):
        end(INTEGRITY)
    out.say(
        "Compare position and root with those printed or handed over earlier: a file cannot show that its end is gone."
    )
