"""A sheet parted into what can land apart: rows that share no subject do not wait for one another.

Rows are bound together where they name the same animal, lot or brood in any field (`into`, `new`, `dam`, `sire`
too), where one supersedes an event about it, where they bear one `batch` mark, and where one changes or closes a
thing of the register that another names. What only brings a new enclosure, taxon, party or person in binds
nothing: it comes first, and if it is refused, the rows that name it say so themselves.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from typing import Any, Final

from ledger.findings import Finding
from ledger.index import SUBJECTS, Index, namespace
from ledger.intake.jsonl import BATCH_CUT, FINDINGS, UNREAD, Row, Unread
from ledger.kinds import KINDS
from ledger.refs import RefField, named, ref_fields, written
from ledger.things import base_of

# things that many entries name and none moves: naming one does not bind two rows
REGISTER: Final = ("house", "party", "person", "enclosure", "taxon", "permit", "agreement", "unit", "social_unit")

# of a row whose kind nobody knows
_USUAL: Final = tuple(
    RefField(name, name, SUBJECTS, "never", many=False) for name in ("animal", "lot", "into", "new", "dam", "sire")
)
Part = tuple[Row, ...]
Key = tuple[str, ...]


def parts(rows: Sequence[Row], index: Index) -> tuple[Part, ...]:
    """Rows that must land together, each part in file order; new things of the register first, then by first row."""
    changed = {key for row in rows for key in _changes(row.entry, index)}
    groups = _Groups(len(rows))
    first: dict[Key, int] = {}
    for number, row in enumerate(rows):
        for key in _keys(row, index, changed):
            groups.join(number, first.setdefault(key, number))
    gathered: dict[int, list[Row]] = {}
    for number, row in enumerate(rows):
        gathered.setdefault(groups.root(number), []).append(row)
    return tuple(tuple(part) for part in sorted(gathered.values(), key=lambda part: not all(map(_brings, part))))


def packed(good: Sequence[Part], rows: Sequence[Row]) -> tuple[Part, ...]:
    """Parts put together to be written at once, each part whole, in the order of the file; about a thousand rows."""
    place = {id(row): number for number, row in enumerate(rows)}
    out: list[list[Row]] = []
    for part in good:
        new_first = bool(out) and all(map(_brings, out[-1])) != all(map(_brings, part))
        if not out or new_first or len(out[-1]) + len(part) > BATCH_CUT:
            out.append([])
        out[-1] += part
    return tuple(tuple(sorted(pack, key=lambda row: place[id(row)])) for pack in out)


def line_of(entry: dict[str, Any], found: Sequence[Finding], beside: str = "") -> str:
    """A row set aside, as one line: the entry as it was, then its findings; `beside`: the rows that keep it back.

    Read again, the findings are passed over: what counts is whether the entry has been mended.
    """
    said: list[dict[str, Any]] = [_plain(finding) for finding in found]
    if not said:
        said = [{"code": "kept-back", "found": f"it shares an animal, a lot or a batch with {beside}"}]
    bare = {key: value for key, value in entry.items() if key != FINDINGS}
    return json.dumps({**bare, FINDINGS: said}, ensure_ascii=False)


def unread_line(odd: Unread) -> str:
    """A line that could not be read, kept as it stands beside its finding; it is to be written anew as an entry."""
    return json.dumps({UNREAD: odd.text, FINDINGS: [_plain(odd.finding)]}, ensure_ascii=False)


# --- what binds -----------------------------------------------------------------------------------


class _Groups:
    """Numbers gathered into groups (union-find)."""

    def __init__(self, size: int) -> None:
        self._above = list(range(size))

    def root(self, number: int) -> int:
        while self._above[number] != number:
            self._above[number] = self._above[self._above[number]]
            number = self._above[number]
        return number

    def join(self, one: int, other: int) -> None:
        low, high = sorted((self.root(one), self.root(other)))
        self._above[high] = low


def _keys(row: Row, index: Index, changed: set[Key]) -> Iterator[Key]:
    entry = row.entry
    if entry.get("batch") is not None:
        yield ("batch", row.file, json.dumps(entry["batch"], sort_keys=True))
    if entry.get("event_id"):
        yield ("event", str(entry["event_id"]).lower())
    if entry.get("supersedes") is not None:
        yield from _of_event(entry["supersedes"], index)
    for field, text in _named(entry):
        key = _key(field.sorts, text, index)
        if field.sorts[0] not in REGISTER or key in changed:
            yield key
    payload = entry.get("payload")
    if isinstance(payload, dict) and isinstance(payload.get("new_number"), str):
        yield _key(SUBJECTS, payload["new_number"], index)


def _of_event(superseded: object, index: Index) -> Iterator[Key]:
    """The event a row supersedes, and the subjects of the event that stands in its line."""
    seq = index.seq_of(superseded)
    if seq is None:
        yield ("event", str(superseded).lower())
        return
    root = index.root_of[seq]
    yield ("line", str(root))
    event = index.standing.get(root)
    if event is None:
        return
    yield from (("subject", subject) for subject in event.subjects())
    for field, _, ref in named(event.payload):
        if ref.id and field.sorts[0] not in REGISTER:
            yield (namespace(field.sorts[0]), ref.id)


def _changes(entry: dict[str, Any], index: Index) -> Iterator[Key]:
    """The thing of the register that a row changes, closes or corrects."""
    kind = str(entry.get("kind"))
    base = base_of(kind)
    if base == kind and entry.get("supersedes") is None:
        return
    united = kind == "taxa_united"  # all taxa it names
    yield from (_key(f.sorts, text, index) for f, text in _named(entry) if f.name == base or united)


def _brings(row: Row) -> bool:
    """A row that only brings a new thing of the register."""
    kind, plain = KINDS.get(str(row.entry.get("kind"))), row.entry.get("supersedes") is None
    if kind is None or not plain or row.entry.get("batch") is not None:
        return False
    fields = ref_fields(kind.Payload)
    return any(f.new == "must" and f.sorts[0] in REGISTER for f in fields) and not any(
        f.sorts[0] not in REGISTER for f, _ in _named(row.entry)
    )


def _named(entry: dict[str, Any]) -> Iterator[tuple[RefField, str]]:
    """(field, text as typed) of everything a row names."""
    kind, payload = KINDS.get(str(entry.get("kind"))), entry.get("payload")
    if not isinstance(payload, dict):
        return
    if kind is not None:
        yield from ((field, text) for field, _, text in written(kind.Payload, payload))
        return
    for field in _USUAL:
        value = payload.get(field.name)
        for one in value if isinstance(value, list) else (value,):
            text = one.get("id") or one.get("as") if isinstance(one, dict) else one
            if isinstance(text, str) and text.strip():
                yield field, text.strip()


def _key(sorts: tuple[str, ...], text: str, index: Index) -> Key:
    """A thing named: by its id where the book knows one, else by the text without the house before it."""
    space = namespace(sorts[0])
    found = index.find(SUBJECTS if space == "subject" else sorts, text)
    return (space, found[0] if len(found) == 1 else text.rpartition(":")[2])


def _plain(finding: Finding) -> dict[str, Any]:
    whole = {
        "code": finding.code,
        "where": finding.where,
        "field": finding.field,
        "found": finding.found,
        "expected": finding.expected,
        "way_out": finding.way_out,
    }
    return {key: value for key, value in whole.items() if value}
