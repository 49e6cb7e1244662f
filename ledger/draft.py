"""From an entry as people write it to an event ready to stand: names to ids, text detached, days resolved, gaps filled.

Nothing is written here and nothing is judged across events; every refusal is a finding about this entry alone.
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from ledger import kinds
from ledger.chance import Chance
from ledger.dates import DateRefused, Hemisphere, resolve
from ledger.entry import event_id_of, keys_of, kind_of, payload_of
from ledger.event import MOST_BYTES, BadValue, TextRow, commit_text, normalise
from ledger.form import commits
from ledger.index import Index, Standing
from ledger.kinds.base import CannotFill, Carried, Text
from ledger.looking import Looking
from ledger.naming import Namer
from ledger.refs import named
from ledger.spot import Spot, spot
from ledger.words import CORRECTION_REASONS

NEVER_SUPERSEDED = ("book", "reposting")


@dataclass(slots=True)
class Draft:
    """An entry made ready: the event that will stand, the parts of its envelope, its texts."""

    at: Spot
    standing: Standing
    content: dict[str, Any]  # the keys of the envelope that the entry decides
    supersedes: int | None
    texts: list[TextRow] = field(default_factory=list)
    reason: str = ""
    old: Standing | None = None  # what it supersedes, as it stood

    @property
    def where(self) -> str:
        """The entry in words."""
        return self.at.where

    @property
    def number(self) -> int:
        """Which entry of the batch, from 0."""
        return self.at.number


class Drafter:
    """Drafts the entries of one batch, one after another, on an index to which the earlier ones are applied."""

    def __init__(self, index: Index, chance: Chance, recorded: str, ids: dict[str, str] | None = None) -> None:
        self.index, self.chance, self.recorded = index, chance, recorded
        self.namer = Namer(index, chance, dict(ids or {}))

    def draft(self, entry: Any, number: int, seq: int, row_key: str | None = None) -> Draft:
        """Make one entry ready. Raises Refused with every finding about it."""
        at = spot(entry, number)
        try:
            return self._draft(entry, at, seq, row_key)
        except BadValue as bad:
            at.refuse(bad.code, bad.found, bad.expected, "Mend that text or number.", bad.where)

    def _draft(self, entry: Any, at: Spot, seq: int, row_key: str | None) -> Draft:
        kind = kind_of(keys_of(entry, at), at)
        old = self._superseded(entry, kind, at)
        before = old if old is not None and kind.NAME != "void" else None
        texts: list[TextRow] = []
        payload = self.namer.resolve(payload_of(entry, kind, at), before, at)
        occurred = self._occurred(entry, payload, old, at)
        first = date.fromisoformat(occurred["first"]).toordinal() if occurred["first"] else self.index.floor
        last = date.fromisoformat(occurred["last"]).toordinal()
        if kind.ONE_DAY and first != last:
            found = f"{occurred['edtf']!r} is a range"
            at.refuse("needs-one-day", found, "one day", "Say the day on which it was done.", "occurred")
        root = old.root if old else seq
        payload = self._fill(payload, kind, last, root, at)
        stored = self._stored(payload, texts, at)
        foreign = set(commits(stored)) - {t.commit for t in texts}
        foreign -= set(commits(_dumped(before.payload))) if before else set()
        if foreign:
            at.refuse("bad-field", "a commitment without its text", "the text itself", "Write the text.")
        payload = kind.read(stored, kind.VERSION)
        event_id = event_id_of(entry, at) or self.chance.uuid7(self.recorded)
        acts = () if kind.NAME == "void" else kind.acts(payload)
        event = Standing(seq, root, event_id, kind.NAME, payload, acts, first, last, occurred["edtf"], self.recorded)
        content: dict[str, Any] = {
            "kind": kind.NAME,
            "version": kind.VERSION,
            "occurred": occurred,
            "payload": stored,
            "source": self._source(entry.get("source"), texts, at),
            "reason": self._reason(entry.get("reason"), old, texts, at),
            "observed_by": self.namer.people(entry.get("observed_by"), at),
            "supersedes": old.event_id if old else None,
            "row_key": row_key,
            "event_id": event_id,
        }
        self.namer.must_be_free(event, before, at)
        code = content["reason"]["code"] if content["reason"] else ""
        event = event._replace(observed_by=tuple(content["observed_by"]))
        return Draft(at, event, content, old.seq if old else None, texts, code, old)

    def seq_of(self, named: object) -> int | None:
        """Position of an event named `#12`, `12`, 12 or by its UUID; None where there is none."""
        return self.index.seq_of(named)

    def calendar(self, payload: Carried) -> tuple[Hemisphere, str]:
        """Hemisphere and time zone of the house concerned: named, of the enclosure, of the holder; else the book's."""
        things, house = self.index.things, ""
        for _, _, ref in named(payload):
            if house or not ref.id:
                continue
            if ref.id[:2] == "h-":
                house = ref.id
            elif ref.id[:2] == "e-" and ref.id in things:
                house = things[ref.id].house
            elif ref.id[:2] in ("a-", "g-") and ref.id in things:
                house = next((c.holder for c in self.index.tale(ref.id).state.cells if c.holder[:2] == "h-"), "")
        thing = things.get(house)
        if thing is not None:
            return thing.fields["hemisphere"], thing.fields["time_zone"]
        book = self.index.standing[1].payload if 1 in self.index.standing else payload
        return getattr(book, "hemisphere", "north"), getattr(book, "time_zone", "UTC")

    # --- the steps ------------------------------------------------------------------------------

    def _superseded(self, entry: dict[str, Any], kind: kinds.Kind, at: Spot) -> Standing | None:
        named, field_ = entry.get("supersedes"), "supersedes"
        if named is None:
            if kind.NAME == "void":
                at.refuse("bad-field", "nothing is named to strike out", "an event", "Say which, as #n.", field_)
            return None
        seq = self.seq_of(named)
        if seq is None:
            at.refuse(
                "unknown-event", f"no event {named!r}", "#n or the id of an event", "Look it up in the log.", field_
            )
        root = self.index.root_of[seq]
        newest, standing = self.index.newest[root], self.index.standing.get(root)
        if standing is None:
            found, way = f"#{seq} is struck out by #{newest}", "Enter it anew; striking out is final."
            at.refuse("struck-out", found, "an event that stands", way, field_, newest)
        if newest != seq:
            found = f"#{seq} is superseded already by #{newest}"
            at.refuse("not-the-newest", found, "the newest of its line", f"Correct #{newest} instead.", field_, newest)
        if standing.kind in NEVER_SUPERSEDED:
            at.refuse("never-superseded", f"#{seq} is a {standing.kind}", "another kind", "It stays as it is.", field_)
        if kind.NAME not in ("void", standing.kind):
            way = "Strike it out and enter the other kind anew, in one batch."
            at.refuse("other-kind", f"#{seq} is a {standing.kind}", f"a {standing.kind}", way, "kind")
        return standing

    def _occurred(self, entry: dict[str, Any], payload: Carried, old: Standing | None, at: Spot) -> dict[str, Any]:
        text = entry.get("occurred")
        if not isinstance(text, str) or not text.strip():
            at.refuse(
                "bad-date", f"occurred is {text!r}", "a day, such as 2025-03-04", "Say when it happened.", "occurred"
            )
        text = text.strip()
        if old is not None and old.edtf == text:  # the days stay as they were resolved
            open_start = old.first == self.index.floor and text.startswith("..")
            first = None if open_start else date.fromordinal(old.first).isoformat()
            return {"edtf": text, "first": first, "last": date.fromordinal(old.last).isoformat()}
        hemisphere, zone = self.calendar(payload)
        floor = date.fromordinal(self.index.floor)
        try:
            got = resolve(text, hemisphere=hemisphere, floor=floor, recorded_on=civil(self.recorded, zone))
        except DateRefused as bad:
            at.refuse(bad.code, bad.found, bad.expected, bad.way_out, "occurred")
        return {"edtf": text, "first": got.first.isoformat() if got.first else None, "last": got.last.isoformat()}

    def _fill(self, payload: Carried, kind: kinds.Kind, day: int, root: int, at: Spot) -> Carried:
        """What nobody need type. An entry may itself prove that something uncertain had happened by its day."""
        try:
            return kind.fill(payload, Looking(self.index, day, root))
        except CannotFill as gap:
            try:
                return kind.fill(payload, Looking(self.index, day, root, latest=True))
            except CannotFill:
                at.refuse(gap.code, gap.found, gap.expected, gap.way_out, gap.field)

    def _stored(self, payload: Carried, texts: list[TextRow], at: Spot) -> dict[str, Any]:
        """A payload as it stands in the bytes: absent where not given, free text detached, all text in NFC."""
        dumped = _dumped(payload)
        for key, value in dumped.items():
            if isinstance(value, dict) and value and set(value) <= {"m", "f", "u", "h", "n"}:
                dumped[key] = {k: n for k, n in value.items() if n} or {"u": 0}
        kept = {k: self._apart(v, texts) for k, v in dumped.items() if v not in ([], {})}
        try:
            return dict(normalise(kept)) if kept else {}
        except BadValue as bad:
            at.refuse(bad.code, bad.found, bad.expected, "Mend that field.", bad.where)

    def _apart(self, value: Any, texts: list[TextRow]) -> Any:
        """Free text, however deep, as a commitment."""
        if isinstance(value, list):
            return [self._apart(v, texts) for v in value]
        if not isinstance(value, dict):
            return value
        if set(value) == {"clear"}:
            return {"commit": detach(value["clear"], self.chance, texts).commit}
        return {k: self._apart(v, texts) for k, v in value.items()}

    def _source(self, source: Any, texts: list[TextRow], at: Spot) -> dict[str, Any] | None:
        if source is None:
            return None
        known = isinstance(source, dict) and not set(source) - {"kind", "ref", "sha256"}
        if not known or not isinstance(source.get("kind"), str) or not source["kind"]:
            way = "Name the sort of source and where in it."
            at.refuse("bad-field", "source is not of its form", '{"kind": "day_sheet", "ref": "…"}', way, "source")
        out = {"kind": source["kind"]}
        if source.get("ref"):
            out["ref"] = {"commit": detach(str(source["ref"]), self.chance, texts).commit}
        if source.get("sha256"):
            out["sha256"] = str(source["sha256"])
        return out

    def _reason(self, reason: Any, old: Standing | None, texts: list[TextRow], at: Spot) -> dict[str, Any] | None:
        reason = {"code": reason} if isinstance(reason, str) else reason
        if old is None and reason is None:
            return None
        known = isinstance(reason, dict) and not set(reason) - {"code", "text"}
        if not known or reason.get("code") not in CORRECTION_REASONS:
            expected = "one of " + ", ".join(CORRECTION_REASONS)
            at.refuse("bad-field", f"reason is {reason!r}", expected, "Say why it is corrected.", "reason")
        out: dict[str, Any] = {"code": reason["code"]}
        if reason.get("text"):
            out["text"] = {"commit": detach(str(reason["text"]), self.chance, texts).commit}
        return out


def detach(clear: str, chance: Chance, texts: list[TextRow]) -> Text:
    """Commit to a free text; the text itself goes into `texts`, apart from the bytes."""
    clear = unicodedata.normalize("NFC", clear)
    try:
        size = len(clear.encode())
    except UnicodeEncodeError:
        raise BadValue("half a character (a lone surrogate)", "whole characters") from None
    if size > MOST_BYTES:
        raise BadValue(f"a text of {size} bytes", "at most 65,536", "too-large")
    salt = chance.salt()
    commit = commit_text(salt, clear)
    texts.append(TextRow(commit, salt, clear))
    return Text(commit=commit)


def civil(recorded: str, zone: str) -> date:
    """The civil date of an instant in a time zone."""
    return datetime.fromisoformat(recorded).astimezone(ZoneInfo(zone)).date()


def _dumped(payload: Carried) -> dict[str, Any]:
    return payload.model_dump(mode="json", by_alias=True, exclude_none=True)
