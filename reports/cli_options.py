"""Options that several commands share, each with its one line of help."""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer

Flag = typer.Option
BookAt = Annotated[
    Path | None, Flag("--book", envvar="TIDEMARK_BOOK", help="The book; else tidemark.sqlite in this folder.")
]
By = Annotated[
    str | None, Flag("--by", envvar="TIDEMARK_BY", metavar="CODE", help="Who records; else your login says.")
]
Accept = Annotated[list[str] | None, Flag("--accept", metavar="CODE", help="Accept a warning; needs --because.")]
Because = Annotated[str | None, Flag("--because", metavar="TEXT", help="Why; kept with the entry.")]
DryRun = Annotated[bool, Flag("--dry-run", help="Show what it would do and write nothing.")]
Yes = Annotated[bool, Flag("--yes", help="Do not ask; what is shown is what is meant.")]
On = Annotated[str | None, Flag("--on", metavar="DAY", help="The day asked about; else today.")]
KnownAt = Annotated[
    str | None, Flag("--known-at", metavar="WHEN", help="As known then: a date, 2026-01-31T17:20Z, or @500; else now.")
]
House = Annotated[str | None, Flag("--house", metavar="CODE", help="A member house, or all; else the first.")]
Owned = Annotated[bool, Flag("--owned/--held", help="What the house owns, or what it holds.")]
NamesOf = Annotated[str | None, Flag("--names", metavar="today", help="Taxa by names of today; else as on the day.")]
Form = Annotated[str, Flag("--format", metavar="FORM", help="table, csv or json.")]
Fields = Annotated[list[str] | None, typer.Argument(metavar="FIELD=VALUE", show_default=False)]
Event = Annotated[str, typer.Argument(metavar="EVENT", help="#812, 812 or a UUID.")]
Reason = Annotated[
    str, Flag("--reason", metavar="WORD", help="slip (same day, same hand), mistake, learnt, merged_records.")
]
Year = Annotated[int, typer.Argument(metavar="YEAR", min=1, max=9998)]
Starts = Annotated[str, Flag("--starts", metavar="MM-DD", help="The first day of the year.")]
From = Annotated[str | None, Flag("--from", metavar="DAY", help="First day of the period.")]
To = Annotated[str | None, Flag("--to", metavar="DAY", help="Last day of the period.")]
