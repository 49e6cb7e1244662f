"""The tables as SQLModel classes: the definition that other databases will be made from.

`schema_1.sql` is what a SQLite file is made from and compared with; a test holds the two to each other.
Importing SQLModel takes most of a second, and neither reading nor writing a SQLite book needs it.
"""

from __future__ import annotations

from typing import Any, ClassVar, TypeAlias

from sqlalchemy import Column, Index, Integer, LargeBinary, MetaData, Text, text
from sqlmodel import Field, SQLModel

Raw: TypeAlias = bytes  # a column is called `bytes`
_STRICT: dict[str, Any] = {"sqlite_strict": True}


class Table(SQLModel):
    """Base of the tables of a book; their metadata is their own, so that no other program's tables join them."""

    metadata: ClassVar[MetaData] = MetaData()


def _number(*, key: bool = False) -> Any:
    return Field(sa_column=Column(Integer, primary_key=key, nullable=False, autoincrement=False))


def _word(*, key: bool = False, unique: bool = False, empty: bool = False) -> Any:
    return Field(sa_column=Column(Text, primary_key=key, unique=unique or None, nullable=empty))


def _raw(*, key: bool = False) -> Any:
    return Field(sa_column=Column(LargeBinary, primary_key=key, nullable=False))


class EventTable(Table, table=True):
    """One event: its bytes and leaf, and columns derived from the bytes."""

    __tablename__ = "event"
    __table_args__ = (
        Index("event_supersedes", "supersedes", unique=True, sqlite_where=text("supersedes IS NOT NULL")),
        Index("event_row_key", "row_key", unique=True, sqlite_where=text("row_key IS NOT NULL")),
        _STRICT,
    )
    seq: int = _number(key=True)
    event_id: str = _word(unique=True)
    kind: str = _word()
    first: str | None = _word(empty=True)
    last: str = _word()
    recorded: str = _word()
    supersedes: str | None = _word(empty=True)
    row_key: str | None = _word(empty=True)
    batch_end: int = _number()
    prev: Raw = _raw()
    leaf: Raw = _raw()
    bytes: Raw = _raw()


class BatchTable(Table, table=True):
    """One batch; its row is written last and shuts it."""

    __tablename__ = "batch"
    __table_args__ = (_STRICT,)
    known_from: int = _number(key=True)
    first_seq: int = _number()
    batch_id: str = _word(unique=True)
    journal: Raw = _raw()
    last_posting: int = _number()
    last_open_row: int = _number()


class PostingTable(Table, table=True):
    """One line of the journal."""

    __tablename__ = "posting"
    __table_args__ = (_STRICT,)
    id: int = _number(key=True)
    known_from: int = _number()
    because: int = _number()
    effect: int = _number()
    subject: str = _word()
    counts_on: str = _word()
    could_from: str = _word()
    taxon: str = _word()
    sex: str = _word()
    place: str = _word()
    holder: str = _word()
    owner: str = _word()
    standing: str = _word()
    reason: str = _word()
    delta: int = _number()


class OpenRowTable(Table, table=True):
    """One cell of one possible state, put in or taken back."""

    __tablename__ = "open_row"
    __table_args__ = (_STRICT,)
    id: int = _number(key=True)
    known_from: int = _number()
    subject: str = _word()
    choice: int = _number()
    part: int = _number()
    from_day: str = _word()
    to_day: str = _word()
    state: int = _number()
    taxon: str = _word()
    sex: str = _word()
    place: str = _word()
    holder: str = _word()
    owner: str = _word()
    standing: str = _word()
    n: int = _number()
    weight: int = _number()


class TextTable(Table, table=True):
    """One detached text."""

    __tablename__ = "text"
    __table_args__ = (_STRICT,)
    commit: Raw = _raw(key=True)
    salt: Raw = _raw()
    text: str = _word()


class SubjectEvent(Table, table=True):
    """Which events speak of a subject."""

    __tablename__ = "subject_event"
    __table_args__ = ({**_STRICT, "sqlite_with_rowid": False},)
    block: int = _number(key=True)
    subject: str = _word(key=True)
    seq: int = _number(key=True)


class SegmentTable(Table, table=True):
    """One file of the reading copy."""

    __tablename__ = "segment"
    __table_args__ = (_STRICT,)
    id: int = _number(key=True)
    holds: str = _word()
    after: int = _number()
    upto: int = _number()
    rows: int = _number()
    file: str = _word(unique=True)
    sha256: Raw = _raw()
