"""`log` and `show`: the entries as they were recorded, and one of them whole."""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from contextlib import closing
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, NamedTuple
from zoneinfo import ZoneInfo

from ledger.kinds import KINDS, nearest
from reports import cli_say as out
from reports.cli_book import INVENTED, existing, today
from reports.cli_entry import Log
from reports.cli_guard import REFUSED, Stop
from reports.cli_words import day as typed_day

if TYPE_CHECKING:
    from ledger.store.port import Reader, StoredEvent

SHOWN: Final = 20  # entries, where nothing is asked for
MOST: Final = 200  # where something is
_LEAST: Final = 30  # columns for what an entry says
_COLUMNS: Final = [
    out.Column("no", "entry", right=True),
    out.Column("when", "recorded", drop=3),
    out.Column("by", "by", drop=2),
    out.Column("occurred", "occurred"),
    out.Column("what", "kind"),
    out.Column("subject", "of"),
    out.Column("words", "says"),
    out.Column("state", "now"),
]


class Sought(NamedTuple):
    """What is looked for in the log, as typed; None: everything."""

    last: int | None = None
    animal: str | None = None
    first_day: str | None = None
    last_day: str | None = None
    on: str | None = None
    kind: str | None = None
    by: str | None = None

    @property
    def everything(self) -> bool:
        """Nothing is looked for but the newest."""
        return not any((self.animal, self.first_day, self.last_day, self.on, self.kind, self.by))


def log(book: Path | None, sought: Sought, form: str) -> None:
    """`tidemark log`."""
    from ledger.store.places import open_store

    if form not in out.FORMATS:
        raise Stop(f"--format is {', '.join(out.FORMATS)}; not “{form}”.")
    path = existing(book)
    with closing(open_store(str(path))) as store:
        position, leaf = store.head().position, store.head().leaf.hex()
        entries = Log(store)
        most = sought.last or (SHOWN if sought.everything else MOST)
        found = list(_found(store, entries, sought, most, position))
        rows = [entries.row(stored) for stored in found[-most:]]
        house, simulated = entries.house() or str(path), _clock(store) == "simulated"
    total = position if sought.everything else len(found)
    entries_ = f"{total:,} entr{'y' if total == 1 else 'ies'}"
    what = entries_ if total == len(rows) else f"the last {len(rows):,} of {entries_}"
    head = " · ".join([house, f"log, {what}", f"@{position}", *([INVENTED] if simulated else [])])
    lines = _fitted([_line(row) for row in rows])
    gone = sum(row["superseded_by"] is not None for row in rows)
    sums = f"{gone} of these no longer stand{'s' if gone == 1 else ''} as entered." if gone else "All of these stand."
    after = f"tidemark show {rows[-1]['seq']}" if rows else ""
    fields = list(rows[0]) if rows else []
    about = {"position": position, "head": leaf}
    out.show(out.Page(head, about, fields, rows, lines, list(_COLUMNS), sums if rows else "", after), form)


def _line(row: dict[str, Any]) -> dict[str, Any]:
    return {
        **row,
        "no": f"#{row['seq']}",
        "when": f"{row['recorded'][:10]} {row['recorded'][11:16]}Z",
        "what": row["kind"].replace("_", " "),
    }


def _fitted(lines: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """What entries say, cut so far that when and by whom they were recorded still has room beside it."""
    from rich.cells import cell_len, set_cell_size

    keys = [column.key for column in _COLUMNS if column.key != "words"]
    used = [max((cell_len(out.safe(line[key])) for line in lines), default=0) for key in keys]
    room = max(_LEAST, out.width() - sum(wide + len(out.GAP) for wide in used if wide))
    for line in lines:
        text = out.safe(line["words"])
        if cell_len(text) > room:
            line["words"] = set_cell_size(text, room - 1).rstrip() + "…"
    return lines


def _found(store: Reader, entries: Log, sought: Sought, most: int, position: int) -> Iterator[StoredEvent]:
    if sought.everything:
        yield from store.events(after=max(0, position - most))
        return
    genesis = json.loads(store.event(1).data)["payload"]
    zone = ZoneInfo(genesis["time_zone"])
    first, last, on = (_day(text, zone) for text in (sought.first_day, sought.last_day, sought.on))
    actor = entries.person(sought.by) if sought.by else ""
    if sought.by and not actor:
        raise Stop(f"There is no person “{sought.by}” in the book.", REFUSED)
    members = _about(store, sought.animal) if sought.animal else None
    for stored in store.events(kinds=[_kind(sought.kind)] if sought.kind else None):
        columns = stored.columns
        recorded = datetime.fromisoformat(columns.recorded).astimezone(zone).date()
        if (first and recorded < first) or (last and recorded > last):
            continue
        if members is not None and columns.seq not in members:
            continue
        if on and not (columns.first or "") <= on.isoformat() <= columns.last:
            continue
        if actor and json.loads(stored.data)["actor"] != actor:
            continue
        yield stored


def _day(text: str | None, zone: ZoneInfo) -> date | None:
    if text is None:
        return None
    try:
        return date.fromisoformat(typed_day(text, today(zone.key)))
    except ValueError:
        raise Stop(f"“{text}” is not a day; write 2025-12-31, today, yesterday or the name of a weekday.") from None


def _kind(text: str) -> str:
    name = text.replace("-", "_")
    if name not in KINDS:
        near = nearest(name)
        raise Stop(f"There is no kind “{text}”{f'; {near} is near' if near else ''}. `tidemark kinds` lists them.")
    return name


def _about(store: Reader, number: str) -> set[int]:
    """Positions of all entries about the animals and lots that ever bore a number, and of what superseded them."""
    bare, quoted = number.rpartition(":")[2], json.dumps(number, ensure_ascii=False).strip('"').encode()
    ids: dict[str, None] = {}
    for stored in store.events():
        if quoted in stored.data or bare.encode() in stored.data:
            ids |= dict.fromkeys(_bearing(json.loads(stored.data)["payload"], {number, bare}))
    if not ids:
        raise Stop(f"No animal or lot ever bore the number “{number}”.", REFUSED)
    members = {seq for id_ in ids for seq in store.subject_seqs(id_)}
    marks = [id_.encode() for id_ in ids]
    in_line: set[str] = set()
    for stored in store.events():
        columns = stored.columns
        if columns.seq in members or columns.supersedes in in_line or any(mark in stored.data for mark in marks):
            members.add(columns.seq)
            in_line.add(columns.event_id)
    return members


def _bearing(payload: dict[str, Any], numbers: set[str]) -> Iterator[str]:
    """Ids of animals and lots that an entry calls by one of these numbers, or gives it to."""
    own = ""
    for name, value in payload.items():
        if isinstance(value, dict) and str(value.get("id", ""))[:2] in ("a-", "g-"):
            own = own or (value["id"] if name in ("animal", "lot") else "")
            if value.get("as") in numbers or str(value.get("as", "")).rpartition(":")[2] in numbers:
                yield value["id"]
    if payload.get("new_number") in numbers and own:
        yield own


def _clock(store: Reader) -> str:
    return str(json.loads(store.event(1).data)["payload"]["clock_kind"]) if store.head().position else ""


def write_json(value: dict[str, Any]) -> None:
    """One JSON object on standard output."""
    sys.stdout.write(json.dumps(value, ensure_ascii=True, indent=1) + "\n")
