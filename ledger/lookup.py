"""Keys by which the index finds events without a scan: who names a thing, whose young, which mark, what is alike."""

from __future__ import annotations

import re
import unicodedata
from typing import TYPE_CHECKING, Final

from ledger import transponder
from ledger.kinds.base import Ref
from ledger.refs import references

if TYPE_CHECKING:
    from ledger.index import Standing

Key = tuple[str | int, ...]

# ids of enclosures, taxa, parties, houses, permits, agreements, units, broods
_REGISTER: Final = ("e-", "t-", "o-", "h-", "m-", "c-", "u-", "b-")
_SUBJECT: Final = ("animal", "lot", "into")


def keys_of(event: Standing) -> list[Key]:
    """The keys of one event.

    `("named", id)` of the register, and of animals and lots that an event names and does not move;
    `("young", parent)`; `("marks", subject)` and `("mark", scheme, value)`;
    `("like", kind, subject, last day)`, and for a lot that arrives also by taxon and enclosure.
    """
    payload = event.payload
    out: list[Key] = []
    subject = ""
    for field, at, ref in references(payload):
        id_ = ref.id
        if not id_:
            continue
        if id_[:2] in _REGISTER:
            out.append(("named", id_))
        elif field.name in ("dam", "sire"):
            out.append(("young", id_))
        elif at in _SUBJECT:
            subject = subject or id_
            out.append(("like", event.kind, id_, event.last))
            if not event.acts:
                out.append(("named", id_))
        elif id_[:2] in ("a-", "g-"):
            out.append(("named", id_))
    said = vars(payload)
    scheme = said.get("scheme")
    if scheme:
        out += [("marks", subject), mark_key(scheme, said.get("value", ""))]
    taxon, enclosure = said.get("taxon"), said.get("enclosure")
    if subject[:2] == "g-" and isinstance(taxon, Ref) and isinstance(enclosure, Ref):
        out.append(("like", event.kind, taxon.id or "", enclosure.id or "", event.last))
    return out


def mark_key(scheme: str, value: str) -> Key:
    """A mark, in the form in which two readings of it are the same."""
    if scheme == "transponder":
        return ("mark", scheme, transponder.read(value).number)
    return ("mark", scheme, " ".join(value.split()).casefold())


_ALIKE: Final = str.maketrans({"O": "0", "o": "0", "I": "1", "l": "1", "|": "1"})


def skeletons(number: str) -> tuple[str, str]:
    """Two forms in which numbers that a reader takes for one another are equal.

    O and 0, I, l and 1, upper and lower case are one in both; the first leaves out all but letters and digits,
    the second leaves out zeros that begin a row of digits.
    """
    text = unicodedata.normalize("NFKC", number).translate(_ALIKE).casefold()
    bare = "".join(c for c in text if c.isalnum())
    parts = re.sub(r"[\W_]+", "-", text).strip("-")
    return bare, "=" + re.sub(r"(?<![0-9])0+(?=[0-9])", "", parts)
