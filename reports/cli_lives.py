"""The commands about bonds, broods, sexes and lives, with their options; what they do is imported when asked for."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

from reports.cli_options import BookAt, Flag, Form, House, KnownAt, On


def add(app: typer.Typer) -> None:
    """Give the commands to the app, in the order of its help."""
    # each command is a function below and a line here, as in cli_look
    app.command(short_help="Who bonded with whom, and what came of it.")(pairs)
    app.command(short_help="Each brood, to day 30 of its young.")(broods)
    app.command(short_help="Who changed sex, and after whose loss.")(sexes)
    app.command(short_help="Units, open places, who is next.")(succession)
    app.command(short_help="Parents, siblings and young of one.")(kin)
    app.command(short_help="Who shared an enclosure with one.")(shared)
    app.command(short_help="All that is known of one animal or lot.")(life)
    app.command(short_help="Who ever bore a mark, number or name.")(find)


def life(
    number: Annotated[
        str, typer.Argument(metavar="ACCESSION", help="Its number; CODE:number where two houses bear it.")
    ],
    on: On = None,
    evidence: Annotated[bool, Flag("--evidence", help="The entries behind it, as written, instead.")] = False,
    html: Annotated[Path | None, Flag("--html", metavar="FILE", help="A page, into this file.")] = None,
    into: Annotated[Path | None, Flag("--into", metavar="FOLDER", help="A page, life-NUMBER.html, in there.")] = None,
    known_at: KnownAt = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """The whole story of one animal or lot, by topic: marks, places, owners, sexes, mates, broods, young, end.

    Behind each line stand the entries it rests on; what came out of a lot has the lot's story up to that day.
    """
    from reports import cli_book, cli_life

    asked = cli_book.Asked(book, known_at, "all", owned=False, form=form)
    cli_life.life(asked, number, on, cli_life.Wish(evidence, html, into))


def find(
    text: Annotated[str, typer.Argument(metavar="TEXT", help="A mark, number, name or enclosure, or part of one.")],
    on: On = None,
    known_at: KnownAt = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """Everyone who ever bore a mark, number or name with that in it, from when to when, old numbers too.

    The code or name of an enclosure finds all that stood there on the day.
    """
    from reports import cli_book, cli_life

    cli_life.find(cli_book.Asked(book, known_at, "all", owned=False, form=form), text, on)


def sexes(
    on: On = None,
    findings: Annotated[
        bool, Flag("--findings", help="Entries about sex and what each did to figures, instead.")
    ] = False,
    known_at: KnownAt = None,
    house: House = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """Sex changes up to a day: from which first sign to which end, after whose loss, from which rank and size.

    A loss that no entry names is presumed, and said to be. With --findings sexings, changes and corrections stand side
    by side: one restates figures since birth, one re-classes on its day, one replaces what was said.
    """
    from reports import cli_book, cli_sexes

    cli_sexes.sexes(cli_book.Asked(book, known_at, house, owned=False, form=form), on, findings=findings)


def succession(
    on: On = None,
    known_at: KnownAt = None,
    house: House = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """Social units: the order seen, open places as a queue, who is presumed next, and for how long nobody leads.

    Presumed by the rule of the taxon's sexual system, never in a census. A lot in no unit is taken as one, and said so.
    """
    from reports import cli_book, cli_sexes

    cli_sexes.succession(cli_book.Asked(book, known_at, house, owned=False, form=form), on)


def pairs(
    on: On = None,
    courtship: Annotated[bool, Flag("--courtship", help="Who courted whom, and which led to eggs, instead.")] = False,
    waiting: Annotated[bool, Flag("--waiting", help="Each wait for the next mate, instead.")] = False,
    fidelity: Annotated[bool, Flag("--fidelity", help="The same mate again, from brood to brood, instead.")] = False,
    taxon: Annotated[str | None, Flag("--taxon", metavar="NAME", help="Only of this taxon.")] = None,
    html: Annotated[Path | None, Flag("--html", metavar="FILE", help="All of it as a page with pictures.")] = None,
    known_at: KnownAt = None,
    house: House = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """Pair histories: how long each bond stood, days together and apart, what ended it, what came of it, who came next.

    Days have ranges where dates are uncertain. What days apart do is not judged.
    """
    from reports import cli_book, cli_pairs
    from reports.cli_guard import Stop

    wishes: dict[cli_pairs.Wish, bool] = {"courtship": courtship, "waiting": waiting, "fidelity": fidelity}
    named = [wish for wish, wanted in wishes.items() if wanted]
    if len(named) > 1:
        raise Stop(f"One of --{' and --'.join(named)} at a time; --html has them all.")
    asked = cli_book.Asked(book, known_at, house, owned=False, form=form)
    cli_pairs.pairs(asked, on, named[0] if named else "histories", taxon, html)


def broods(
    on: On = None,
    by: Annotated[
        str, Flag("--by", metavar="KEY", help="brood; rates by pairing, carrier, dam, taxon, year, all.")
    ] = "brood",
    dam: Annotated[str | None, Flag("--dam", metavar="NUMBER", help="Only hers.")] = None,
    first: Annotated[str | None, Flag("--from", metavar="DAY", help="Begun on that day or later.")] = None,
    last: Annotated[str | None, Flag("--to", metavar="DAY", help="Begun on that day or before.")] = None,
    chart: Annotated[
        Path | None, Flag("--chart", metavar="FILE", help="Draw one dam’s overlapping clutches, as .svg or .png.")
    ] = None,
    known_at: KnownAt = None,
    house: House = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """Broods from start to day 30: days carried against the published range, hatch rate, what became of the young.

    Their five states sum to the born alive; survival to 30 days has bounds. The chart is of --dam, else of the dam
    with the most clutches in care at once.
    """
    from reports import cli_book, cli_broods

    asked = cli_book.Asked(book, known_at, house, owned=False, form=form)
    cli_broods.broods(asked, on, cli_broods.Wish(by, dam, first, last, chart))


def kin(
    number: Annotated[
        str, typer.Argument(metavar="ACCESSION", help="Its number; CODE:number where two houses bear it.")
    ],
    on: On = None,
    chart: Annotated[
        Path | None, Flag("--chart", metavar="FILE", help="Draw the family where parents are sure, as .svg or .png.")
    ] = None,
    html: Annotated[Path | None, Flag("--html", metavar="FILE", help="A page with chart and table instead.")] = None,
    known_at: KnownAt = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """Parents, full and half siblings in any role, offspring and clones, and where they are on the day.

    Where parents are not sure, every candidate has its weight and every sibling its chances.
    """
    from reports import cli_book, cli_kin

    asked = cli_book.Asked(book, known_at, "all", owned=False, form=form)
    cli_kin.kin(asked, number, on, chart, html)


def shared(
    number: Annotated[str, typer.Argument(metavar="ACCESSION", help="Its number; with --candidates also a brood.")],
    on: On = None,
    candidates: Annotated[
        bool, Flag("--candidates", help="Who was there and could be a parent of it, instead.")
    ] = False,
    known_at: KnownAt = None,
    form: Form = "table",
    book: BookAt = None,
) -> None:
    """Who stood in the same enclosure, from when to when, by closes of days; and its associations beside it.

    With --candidates: who of a fitting sex was there when the eggs were laid or the young conceived.
    """
    from reports import cli_book, cli_kin

    asked = cli_book.Asked(book, known_at, "all", owned=False, form=form)
    if candidates:
        cli_kin.candidates(asked, number, on)
    else:
        cli_kin.shared(asked, number, on)
