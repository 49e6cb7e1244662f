"""Somebody who sees, decides or writes down.

What happened
    A person joined those who may be named in the book.

When it counts
    From this day the person can be named as recorder or observer.

What it changes
    No figure. The short code is what people type; the book keeps its own id for the person. The name is
    kept apart from the record and can be erased without breaking it.

What it does not mean
    A permission. Who may write is settled where the book is kept, not by this entry.

Example
    {"kind": "person", "occurred": "2023-01-02", "payload": {"person": "ADA", "name": "Ada Quill",
    "role": "registrar"}}
"""

from __future__ import annotations

from typing import Any, ClassVar

from pydantic import model_validator

from ledger.acts import Act
from ledger.kinds._fields import kept_code
from ledger.kinds.base import Carried, Code, NewPerson, Text, Word

NAME = "person"
VERSION = 1
ONE_DAY = False
SUBJECT_FIELDS: tuple[str, ...] = ("person",)


class Payload(Carried):
    """Stored, `person` bears the id only; `code` keeps what is typed for it."""

    person: NewPerson
    code: Code | None = None
    name: Text | None = None
    role: Word | None = None
    login: Code | None = None

    LATER: ClassVar[dict[str, str]] = {}

    @model_validator(mode="before")
    @classmethod
    def _code(cls, value: Any) -> Any:
        return kept_code(value, "person")


def acts(_p: Payload) -> tuple[Act, ...]:
    """None: it moves nobody."""
    return ()
