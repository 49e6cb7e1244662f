"""What makes the log provable: the chain of leaves, the tree over them (RFC 9162), the digest of the journal.

A verifier that stands alone needs only `check_chain` and the bytes of the events in order.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from typing import Any, NamedTuple

import orjson
import rfc8785

from ledger.event import KEYS, MOST_BYTES, ZERO, BadValue, check, leaf
from ledger.posting import Posting, day_text


def line_text(posting: Posting) -> bytes:
    """A journal line: 14 fields parted by TAB, ended by LF, an empty field without length."""
    known_from, because, line = posting
    cell = line.cell
    text = (
        f"{known_from}\t{because}\t{line.effect}\t{line.subject}\t{day_text(line.counts_on)}\t"
        f"{day_text(line.could_from)}\t{cell.taxon}\t{cell.sex}\t{cell.place}\t{cell.holder}\t"
        f"{cell.owner}\t{cell.standing}\t{line.reason}\t{line.delta}\n"
    )
    return one_line(text)


def one_line(text: str) -> bytes:
    """The bytes of a line; raises BadValue where a field holds TAB or LF: two journals could have one digest."""
    if text.count("\t") != 13 or text.count("\n") != 1:
        raise BadValue(repr(text), "fields without TAB and LF")
    return text.encode()


def digest(prev: bytes, postings: Iterable[Posting]) -> bytes:
    """J of a batch: sha256(J of the batch before ‖ its lines, sorted as bytes, equal lines kept)."""
    return digest_lines(prev, map(line_text, postings))


def digest_lines(prev: bytes, lines: Iterable[bytes]) -> bytes:
    """The same over lines that are bytes already."""
    return hashlib.sha256(prev + b"".join(sorted(lines))).digest()


class Tree:
    """The Merkle tree of RFC 9162 over leaves that come one by one; holds one node a level."""

    def __init__(self) -> None:
        self.size = 0
        self._nodes: list[bytes] = []  # roots of full subtrees, largest first

    def add(self, leaf_hash: bytes) -> None:
        """The next leaf (already hashed)."""
        node, rest = leaf_hash, self.size
        while rest & 1:
            node = _node(self._nodes.pop(), node)
            rest >>= 1
        self._nodes.append(node)
        self.size += 1

    def root(self) -> bytes:
        """Root over what was added; of nothing, sha256 of nothing."""
        if not self._nodes:
            return hashlib.sha256().digest()
        node = self._nodes[-1]
        for left in reversed(self._nodes[:-1]):
            node = _node(left, node)
        return node


def _node(left: bytes, right: bytes) -> bytes:
    return hashlib.sha256(b"\x01" + left + right).digest()


def merkle_root(leaves: Iterable[bytes]) -> bytes:
    """Root over leaf hashes in order."""
    tree = Tree()
    for each in leaves:
        tree.add(each)
    return tree.root()


class Fault(NamedTuple):
    """Something that is not as it was written. `part` is what differs; `seq` the event, 0 where it is none."""

    part: str
    seq: int
    sentence: str


class Chain:
    """Follows the chain event by event, the slow way: bytes against `rfc8785`, `seq` and `prev` against what came."""

    def __init__(self) -> None:
        self.head = ZERO
        self.tree = Tree()
        self.event: dict[str, Any] = {}

    def add(self, data: bytes) -> list[Fault]:
        """Faults of the next event; its content, as far as it can be read, is then in `event`."""
        seq = self.tree.size + 1
        faults = self._read(seq, data)
        if self.event.get("seq") != seq:
            faults.append(Fault("chain", seq, f"event {seq} says it is number {self.event.get('seq')}"))
        if self.event.get("prev") != self.head.hex():
            faults.append(Fault("chain", seq, f"event {seq} does not follow the event before it"))
        self.head = leaf(data)
        self.tree.add(self.head)
        return faults

    def _read(self, seq: int, data: bytes) -> list[Fault]:
        self.event = {}
        try:
            event = orjson.loads(data)
        except orjson.JSONDecodeError:
            return [Fault("bytes", seq, f"the bytes of event {seq} are not JSON")]
        if not isinstance(event, dict) or tuple(sorted(event)) != KEYS:
            return [Fault("bytes", seq, f"event {seq} does not have the 21 keys of an envelope")]
        self.event = event
        try:
            check(event)
            same = rfc8785.dumps(event) == data
        except (BadValue, rfc8785.CanonicalizationError) as bad:
            return [Fault("bytes", seq, f"event {seq} holds what no event can hold ({bad})")]
        if not same or len(data) > MOST_BYTES:
            return [Fault("bytes", seq, f"the bytes of event {seq} are not in the one form they can have")]
        return []


class Checked(NamedTuple):
    """Outcome of a stand-alone check: how many events, leaf of the last, root over all, what is wrong."""

    size: int
    head: bytes
    root: bytes
    faults: tuple[Fault, ...]


def check_chain(events: Iterable[bytes]) -> Checked:
    """Check events by their bytes alone.

    Compare `size` and `head` (or `root`) with those of a checkpoint you hold: a chain cut short, or written anew
    as a whole, is sound in itself.
    """
    chain = Chain()
    faults = [fault for data in events for fault in chain.add(data)]
    return Checked(chain.tree.size, chain.head, chain.tree.root(), tuple(faults))
