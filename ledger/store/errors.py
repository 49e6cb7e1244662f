"""What can go wrong with a store, each with one sentence a person can act on. A refused entry is a finding."""

from __future__ import annotations


class StoreError(Exception):
    """The store could not do what was asked; `str()` is the sentence."""


class NoBook(StoreError):
    """There is nothing at that place."""


class BookExists(StoreError):
    """A book is to be made where something stands already."""


class NotABook(StoreError):
    """What stands there is not a book of this program, or is damaged as a file."""


class NewerBook(StoreError):
    """The book was written by a later version, in a schema this one does not know."""


class SchemaChanged(StoreError):
    """Tables, indexes or triggers are not those the book was made with."""


class Locked(StoreError):
    """Another program holds the book longer than we wait."""


class ReadOnly(StoreError):
    """The book may not be written: opened for reading, or the file or folder is protected."""


class HeadMoved(StoreError):
    """Somebody else has appended since the head was read."""


class BrokenWall(StoreError):
    """A batch does not fit what stands (position, link, id, sum): a fault of the program, never of an entry."""


class NoSuch(StoreError):
    """No event of that position or id, or no text of that commitment (erased, or never there)."""


class StoreTrouble(StoreError):
    """The disk is full or fails; nothing of the batch was written."""


class UnsafeJournal(StoreError):
    """The file is in write-ahead mode, which the SQLite at hand does not keep safely."""
