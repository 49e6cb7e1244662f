"""How a command ends: exit codes, and one sentence where something cannot be done. Never a traceback."""

from __future__ import annotations

import os
import sys
import traceback
from collections.abc import Sequence
from typing import Any, NoReturn

import typer
from typer.core import TyperGroup

from ledger.findings import Finding
from reports import cli_say as out

WELL, FOUND, USAGE, REFUSED, CONFLICT, INTEGRITY, ENVIRONMENT = range(7)
STOPPED = 130  # Ctrl-C, as shells have it
ENDS = (
    """Ends with 0 well · 1 a check found something · 2 usage · 3 refused · 4 conflict · 5 integrity · 6 environment."""
)

# what a store may raise, by the name of the class: importing them would import the store
_BY_CLASS = {
    "NoBook": ENVIRONMENT,
    "BookExists": CONFLICT,
    "NotABook": INTEGRITY,
    "NewerBook": ENVIRONMENT,
    "SchemaChanged": INTEGRITY,
    "Locked": ENVIRONMENT,
    "ReadOnly": ENVIRONMENT,
    "HeadMoved": CONFLICT,
    "BrokenWall": INTEGRITY,
    "NoSuch": REFUSED,
    "StoreTrouble": ENVIRONMENT,
    "StoreError": ENVIRONMENT,
    "NotAPosition": USAGE,
    "Mistyped": USAGE,
}


class Stop(Exception):
    """A command that cannot go on: one sentence, and the code to end with."""

    def __init__(self, sentence: str, code: int = USAGE) -> None:
        super().__init__(sentence)
        self.code = code


class Door(TyperGroup):
    """The group of all commands: whatever a command raises leaves here as one sentence and an exit code."""

    def invoke(self, ctx: Any) -> Any:
        """Run the command, then end as its outcome says."""
        try:
            answer = super().invoke(ctx)
            sys.stdout.flush()
        except BrokenPipeError:
            hush()
            end(WELL)
        except (KeyboardInterrupt, EOFError):
            out.say(err=True)
            end(STOPPED, "Stopped; what was not yet said to be written is not written.")
        except Exception as error:  # the last door: nothing of Python reaches the person
            if type(error).__module__.startswith(("typer", "click")):
                raise  # usage and chosen exits: typer says them
            end(*judged(error))
        return answer


def judged(error: Exception) -> tuple[int, str]:
    """Exit code and sentence for whatever a command raised."""
    if isinstance(error, Stop):
        return error.code, str(error)
    for kind in type(error).__mro__:
        if kind.__name__ in _BY_CLASS:
            return _BY_CLASS[kind.__name__], str(error)
    if isinstance(error, OSError):
        what = error.strerror or str(error)
        name = f" ({error.filename})" if error.filename else ""
        return ENVIRONMENT, f"The machine says: {what}{name}."
    if isinstance(error, MemoryError | RecursionError):
        return ENVIRONMENT, "There is not enough memory for that."
    if os.environ.get("TIDEMARK_DEBUG") == "1":
        traceback.print_exception(error)
    return (
        ENVIRONMENT,
        f"A fault of the program: {type(error).__name__}. TIDEMARK_DEBUG=1 shows where; please report it.",
    )


def end(code: int, sentence: str = "") -> NoReturn:
    """Leave with a code, after a sentence on standard error."""
    if sentence:
        out.say(sentence, err=True)
    raise typer.Exit(code)


def hush() -> None:
    """Whoever read our output has seen enough (`tidemark census | head`): what is left goes nowhere, quietly."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def code_of(findings: Sequence[Finding]) -> int:
    """The exit code for a batch that did not land: conflict before refusal."""
    return CONFLICT if any(f.weight == "conflict" for f in findings) else REFUSED
