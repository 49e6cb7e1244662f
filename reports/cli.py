"""The command `tidemark`: the one place that puts ledger and reports together.

Here stand the commands and their options; what they do stands in `cli_*.py`, imported when it is asked
for, so that `--help` answers at once.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Annotated

import typer

from reports.cli_guard import ENDS, Door, hush
from reports.cli_lives import add as lives
from reports.cli_look import add as look
from reports.cli_options import BookAt, Flag, Form, From, House, KnownAt, NamesOf, On, Owned, Starts, To, Year
from reports.cli_write import add

app = typer.Typer(
    cls=Door,
    name="tidemark",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
    context_settings={"help_option_names": ["-h", "--help"]},
    help="A registrar's book: record what happened; ask what there was, on any day, as known then or now.",
    epilog=ENDS,
)
add(app)


# --- reading ----------------------------------------------------------------------------------------
@app.command(short_help="What there is on a day.")
def census(
    on: On = None,
    known_at: KnownAt = None,
    house: House = None,
    owned: Owned = False,
    keys: Annotated[str, Flag("--by", metavar="KEYS", help="By what, commas between; see below.")] = "taxon",
    names: NamesOf = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """What there is at the close of a day, with the range it could have.

    By taxon, class, enclosure, section, purpose, holder or owner, or several: --by enclosure,taxon.
    """
    from reports import cli_book, cli_read

    cli_read.census(cli_book.Asked(book, known_at, house, owned, form, names), on, keys)


@app.command(short_help="A year’s roll-forward: it adds up.")
def year(
    year: Year,
    starts: Starts = "01-01",
    known_at: KnownAt = None,
    house: House = None,
    owned: Owned = False,
    names: NamesOf = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """The roll-forward of a year: opening, what came, what went, closing; it adds up to the animal."""
    from reports import cli_book, cli_read

    cli_read.year(cli_book.Asked(book, known_at, house, owned, form, names), year, starts)


@app.command(short_help="What came and went, with papers.")
def register(
    first: From = None,
    last: To = None,
    known_at: KnownAt = None,
    house: House = None,
    owned: Owned = False,
    names: NamesOf = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """Every acquisition and disposition of a period, with source, terms and permits; else of this year."""
    from reports import cli_book, cli_read

    cli_read.register(cli_book.Asked(book, known_at, house, owned, form, names), first, last)


@app.command("over-time", short_help="The census over time, and a chart.")
def over_time(
    first: From = None,
    last: To = None,
    every: Annotated[str, Flag("--every", metavar="STEP", help="day, week, month, quarter or year.")] = "month",
    chart: Annotated[Path | None, Flag("--chart", metavar="FILE", help="Draw it too, as .svg or .png.")] = None,
    known_at: KnownAt = None,
    house: House = None,
    owned: Owned = False,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """The census on a series of days, in one question; else of the last twelve months."""
    from reports import cli_book, cli_read

    cli_read.over_time(cli_book.Asked(book, known_at, house, owned, form), first, last, every, chart)


@app.command(short_help="Write the annual report.")
def report(
    year: Year,
    starts: Starts = "01-01",
    known_at: KnownAt = None,
    house: House = None,
    owned: Owned = False,
    into: Annotated[Path, Flag("--into", metavar="FOLDER", help="Where the page goes.")] = Path(),
    book: BookAt = None,
) -> None:
    """Write the annual report of a year as one HTML page, annual-report-YEAR.html."""
    from reports import cli_book, cli_report

    cli_report.report(cli_book.Asked(book, known_at, house, owned, "table"), year, starts, into)


look(app)
lives(app)


# --- what can be recorded, and proof ------------------------------------------------------------------
@app.command(short_help="What can be recorded.")
def kinds(kind: Annotated[str | None, typer.Argument(metavar="[KIND]", show_default=False)] = None) -> None:
    """The kinds of event there are; with a KIND, its story and its fields."""
    from reports import cli_kinds

    cli_kinds.kinds(kind)


@app.command(short_help="The JSON Schema of a kind.")
def schema(kind: Annotated[str, typer.Argument(metavar="KIND")]) -> None:
    """The JSON Schema of a kind's payload, as people type it."""
    from reports import cli_kinds

    cli_kinds.schema(kind)


@app.command(short_help="Is it plausible?")
def check(form: Annotated[str, Flag("--format", help="table or json.")] = "table", book: BookAt = None) -> None:
    """Is it plausible? The findings on what stands in the book; ends with 1 if there are any."""
    from reports import cli_proof

    cli_proof.check(book, form)


@app.command(short_help="Is it untouched?")
def verify(
    recompute: Annotated[bool, Flag("--recompute", help="Derive the journal a second, set-based way as well.")] = False,
    book: BookAt = None,
) -> None:
    """Is it untouched? Bytes, hashes, chain, batches, texts, journal; ends with 5 if anything differs."""
    from reports import cli_proof

    cli_proof.verify(book, recompute=recompute)


@app.command(short_help="Load the invented aquarium.")
def demo(into: Annotated[Path, Flag("--into", metavar="FOLDER", help="Where it goes.")] = Path()) -> None:
    """Load the invented aquarium: a census, a roll-forward and an annual report to look at."""
    from reports import cli_demo

    cli_demo.demo(into)


@app.command(short_help="Open the notebooks.")
def lab(book: BookAt = None) -> None:
    """Open JupyterLab on the notebooks, on this machine only, with its token."""
    from reports import cli_report

    cli_report.lab(book)


def main() -> None:
    """Entry point of the console script."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):  # a terminal that cannot show a letter is sent its escape
            stream.reconfigure(errors="backslashreplace")
    try:
        try:
            app()
        finally:
            sys.stdout.flush()
    except BrokenPipeError:
        hush()


if __name__ == "__main__":
    main()
