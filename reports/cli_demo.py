"""`demo`: the invented aquarium loaded into a fresh book, its year-end census, roll-forward and annual report."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any

from reports import cli_read
from reports import cli_say as out
from reports.cli_book import Asked, now
from reports.cli_guard import CONFLICT, Stop, code_of, end
from reports.cli_load import progress
from reports.cli_report import write_report

if TYPE_CHECKING:
    from ledger.chance import SeededChance


def demo(into: Path) -> None:
    """`tidemark demo`."""
    path = into / "tidemark.sqlite"
    if path.exists():
        raise Stop(
            f"There is a book at {path} already; nothing is changed. Load the demo elsewhere: "
            "tidemark demo --into another-folder.",
            CONFLICT,
        )
    into.mkdir(parents=True, exist_ok=True)
    try:
        events = _load(path)
    except BaseException:
        path.unlink(missing_ok=True)  # half a demo would only be in the way; it was made a moment ago
        raise
    year = now().year - 1
    out.say(f"Loaded {events:,} events of the invented Marrow Sound Aquarium into {path}.")
    asked = Asked(path, None, None, owned=False, form="table")
    out.say()
    cli_read.census(asked, date(year, 12, 31).isoformat(), "taxon")
    out.say()
    cli_read.year(asked, year, "01-01", hint=False)
    page, _ = write_report(asked, year, "01-01", into)
    out.say()
    out.say(f"Wrote {path} and {page}. Open the page in a browser.")
    out.say(f"Next, {'here' if into == Path() else f'in {into}'}:")
    for example in (
        f"tidemark census --on {year}-06-30 --by enclosure,taxon",
        f"tidemark census --on {year}-06-30 --known-at {year}-07-01",
        f"tidemark register --from {year}-01-01 --to {year}-12-31",
        "tidemark record death --by QM --dry-run",
        "tidemark verify",
    ):
        out.say(f"  {example}")


def _load(path: Path) -> int:
    """Lines of the event files, each at its own time of recording; the number of events in the book."""
    from demo_events.read import batches, genesis
    from ledger import new_book
    from ledger.chance import SeededChance

    first = genesis()
    chance = SeededChance(first["seed"], at=first["recorded"])
    book = new_book(str(path), person=first["person"], house=first["house"], chance=chance)
    told = list(batches())
    try:
        with book.sitting(), progress("Loading the invented aquarium", sum(map(len, told))) as step:
            for batch in told:
                _record(book, chance, batch)
                if step:
                    step(len(batch))
        return book.head[0]
    finally:
        book.close()


def _record(book: Any, chance: SeededChance, batch: list[dict[str, Any]]) -> None:
    first = batch[0]
    chance.at(first["recorded"])
    accept = {code: why for line in batch for code, why in line.get("accept", {}).items()}
    outcome = book.append([line["entry"] for line in batch], by=first["by"], accept=accept)
    if not outcome.landed:
        found = [f._replace(where=f"recorded {first['recorded']}: {f.where}") for f in outcome.findings]
        out.findings(found)
        end(code_of(found), "The demo does not load: its files and this program do not fit.")
