"""Where a finding points: an entry of a batch, in words and by number; and refusing it."""

from __future__ import annotations

from typing import Any, Final, NamedTuple, NoReturn

from ledger.findings import Finding

LONGEST: Final = 400  # characters of a part of a finding


def short(text: str) -> str:
    """A text, or its beginning and `…`."""
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"


class Refused(Exception):
    """This entry cannot be drafted; `findings` say why."""

    def __init__(self, *findings: Finding) -> None:
        super().__init__(findings[0].sentence() if findings else "")
        self.findings = findings


class Spot(NamedTuple):
    """One entry of a batch: `entry 3 (death of MS-2024-0117)`, and 2."""

    where: str
    number: int

    def finding(self, code: str, found: str, expected: str, way_out: str, field: str = "", event: int = 0) -> Finding:
        """A finding about this entry; what was typed is cut where it would bury the sentence."""
        found, way_out = short(found), short(way_out)
        return Finding(code, self.where, found, expected, way_out, short(field), self.number, event)

    def refuse(self, code: str, found: str, expected: str, way_out: str, field: str = "", event: int = 0) -> NoReturn:
        """Raise `Refused` with that one finding."""
        raise Refused(self.finding(code, found, expected, way_out, field, event))


def spot(entry: Any, number: int) -> Spot:
    """An entry in words a person can look up."""
    payload = entry.get("payload") if isinstance(entry, dict) else None
    if payload is None and not isinstance(entry, dict):
        return Spot(f"entry {number + 1}", number)
    named = ""
    for key in ("animal", "lot", "brood", "a", "by", "unit", "enclosure", "taxon", "party", "house", "person", "code"):
        value = payload.get(key) if isinstance(payload, dict) else None
        value = value[0] if isinstance(value, list) and value else value
        value = value.get("as") if isinstance(value, dict) else value
        if isinstance(value, str):
            named = f" of {value[:40]}"
            break
    kind = str(entry.get("kind"))[:40].replace("_", " ")
    return Spot(f"entry {number + 1} ({kind}{named})", number)
