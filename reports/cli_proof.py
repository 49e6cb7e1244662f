"""`check` (is it plausible) and `verify` (is it untouched)."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from reports import cli_say as out
from reports.cli_book import INVENTED, existing
from reports.cli_guard import FOUND, INTEGRITY, Stop, end

if TYPE_CHECKING:
    from ledger.book import Book
    from ledger.draft import Draft
    from ledger.findings import Finding

FORMS = ("table", "json")


def check(book: Path | None, form: str) -> None:
    """`tidemark check`."""
    from ledger import open_book

    if form not in FORMS:
        raise Stop(f"--format is {', '.join(FORMS)}; not “{form}”.")
    path = existing(book)
    opened = open_book(str(path))
    try:
        found, accepted = _findings(opened)
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
        kept = f" {accepted} accepted when they were recorded are not shown." if accepted else ""
        out.say(f"{len(found)} findings.{kept}" if found else f"Nothing found.{kept}")
    if found:
        end(FOUND)


def _findings(book: Book) -> tuple[list[Finding], int]:
    """What every check says of the events that stand; those accepted when recorded are counted apart."""
    from ledger.checks import Batch, run

    drafts, accepted = _standing(book)
    found: list[Finding] = []
    kept = 0
    for finding in run(Batch(book.index, drafts, [], 0)):
        if 0 <= finding.entry < len(drafts) and finding.code in accepted[finding.entry]:
            kept += 1
        else:
            found.append(finding)
    return found, kept


def _standing(book: Book) -> tuple[list[Draft], list[set[str]]]:
    """The events that stand as the checks read them, each with the codes of the warnings it was accepted with."""
    from ledger.draft import Draft
    from ledger.spot import Spot, spot

    stands = {event.seq: event for event in book.index.standing.values()}
    drafts: list[Draft] = []
    accepted: list[set[str]] = []
    for event in book.events():
        if event["seq"] in stands:
            where = spot(event, 0).where.replace("entry 1", f"#{event['seq']}", 1)
            drafts.append(Draft(Spot(where, len(drafts)), stands[event["seq"]], event, None))
            accepted.append({mark["code"] for mark in event["accepted"]})
    return drafts, accepted


def verify(book: Path | None) -> None:
    """`tidemark verify`."""
    from ledger import open_book

    path = existing(book)
    opened = open_book(str(path))
    try:
        report = opened.verify()
        simulated = next(opened.events())["payload"]["clock_kind"] == "simulated"
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
    if not report.whole:
        end(INTEGRITY)
    out.say(
        "Compare position and root with those printed or handed over earlier: a file cannot show that its end is gone."
    )
