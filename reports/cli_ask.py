"""Asking at a terminal for what is missing: short prompts, proposals to accept with Enter, `?` for what is known."""

from __future__ import annotations

import difflib
import re
import signal
import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any, Final, get_args, get_origin

from ledger.kinds import KINDS
from ledger.refs import ref_fields
from reports import cli_say as out
from reports.cli_guard import Stop
from reports.cli_words import COUNT_FIELDS, DAY_FIELDS, Mistyped, how_many, pairs

if TYPE_CHECKING:
    from pydantic.fields import FieldInfo

    from ledger.findings import Finding
    from reports.cli_desk import Desk

ARRIVALS: Final = ("opening", "hatching", "birth", "acquisition")
SUBJECTS: Final = ("animal", "lot", "into")
HELP: Final = "Enter takes what stands in brackets, ? lists what is known, ?reef searches in it, Ctrl-C leaves."
_SEVERAL: Final = re.compile(r"(\d+)\s*x", re.ASCII | re.IGNORECASE)
_LOT: Final = re.compile(r"\d+(\.\d+\.\d+(\s*\+\s*\d+\s*h?)?)?", re.ASCII)
_SHOWN: Final = 40  # names listed for `?`


def _fields(kind: str) -> dict[str, FieldInfo]:
    """Fields of a kind's payload by the name they are written with."""
    return {info.alias or name: info for name, info in KINDS[kind].Payload.model_fields.items()}


def list_fields(kind: str) -> frozenset[str]:
    """Fields of a kind's payload that hold a list."""
    return frozenset(name for name, info in _fields(kind).items() if _has_list(info.annotation))


def choices(kind: str, field: str) -> list[str]:
    """The words a field may have, where the list is closed; else none."""
    info = _fields(kind).get(field)
    return list(_words(info.annotation)) if info else []


def _has_list(annotation: Any) -> bool:
    return get_origin(annotation) is list or any(_has_list(part) for part in get_args(annotation))


def _words(annotation: Any) -> Iterator[str]:
    from typing import Literal

    if get_origin(annotation) is Literal:
        yield from (word for word in get_args(annotation) if isinstance(word, str))
    else:
        for part in get_args(annotation):
            yield from _words(part)


class Asking:
    """What may be asked of the person: nothing where standard input is not a terminal."""

    def __init__(self, desk: Desk, kind: str, terminal: bool) -> None:
        self.desk, self.kind, self.terminal = desk, kind, terminal
        self.fields = _fields(kind) if kind else {}
        self.asked = False
        self.consent = ""  # what is asked before many entries change; without a terminal --yes must have said it

    # --- before -----------------------------------------------------------------------------------

    def complete(self, fields: dict[str, Any], count: int) -> tuple[dict[str, Any], int]:
        """The fields with what is missing asked for, in the order of a day sheet, and how many animals they make."""
        if not self.terminal:
            return fields, count
        fields = dict(fields)
        if "occurred" not in fields:
            fields["occurred"] = self.ask("occurred", "today")
        if self.kind in ARRIVALS:
            count = self._who_arrives(fields, count)
        elif not any(name in fields for name in SUBJECTS):
            self._whom(fields)
        for name in self._needed(fields):
            fields[name] = self.ask(name)
        if self.asked:
            self._more(fields, "Anything else (such as note=…, ? lists fields; Enter for no)")
        return fields, count

    def _more(self, fields: dict[str, Any], label: str) -> bool:
        """Fields given as `field=value`, one a line; whether there were any."""
        given = False
        while said := self._line(label, "", empty=True):
            if said.startswith("?"):
                self._list(["occurred", "observed_by", "source", *self.fields])
                continue
            try:
                fields |= pairs([said], list_fields(self.kind))
                given = True
            except Mistyped as error:
                out.say(f"  {error}", err=True)
        return given

    def _needed(self, fields: dict[str, Any]) -> list[str]:
        needed = [name for name, info in self.fields.items() if info.is_required()]
        if self.kind in ARRIVALS and "into" not in fields:
            needed.insert(0, "taxon")
        return [name for name in needed if name not in fields]

    def _who_arrives(self, fields: dict[str, Any], count: int) -> int:
        if any(name in fields for name in SUBJECTS):
            if "how_many" not in fields and ("lot" in fields or "into" in fields):
                fields["how_many"] = self.ask("how_many")
            return count
        if "how_many" not in fields and count == 1:
            count, lot = self._how_many()
            if lot:
                fields["how_many"] = lot
        if "enclosure" not in fields:
            fields["enclosure"] = self.ask("enclosure")
        proposed = self.desk.next_number(fields["enclosure"], self.desk.iso(str(fields["occurred"])))
        label = "lot" if "how_many" in fields else "animal"
        fields[label] = self._line(f"{'First number' if count > 1 else 'Accession number'}", proposed)
        return count

    def _how_many(self) -> tuple[int, str]:
        """Several animals, each with a number, or one; or else the m.f.u of a lot."""
        while True:
            said = self._line("How many (1; 12x for 12 animals each with a number; 30 or 2.3.7 for a lot)", "1")
            if several := _SEVERAL.fullmatch(said):
                return max(1, int(several[1][:6])), ""
            if _LOT.fullmatch(said):
                return 1, "" if said == "1" else said

    def _whom(self, fields: dict[str, Any]) -> None:
        """The animal or lot an entry is about, told apart by the number; and how many of a lot."""
        if "animal" not in self.fields and "lot" not in self.fields:
            return
        while True:
            number = self._line("Animal or lot" if {"animal", "lot"} <= set(self.fields) else "Number")
            found = self.desk.book.index.find(("animal", "lot"), number)
            sort = self.desk.book.index.things[found[0]].sort if found else ""
            if sort in self.fields:
                break
            self._near(number, ("animal", "lot"))
        fields[sort] = number
        if sort == "lot" and "how_many" in self.fields and "how_many" not in fields:
            where = "; ".join(self.desk.stands(found[0]))
            if where:
                out.say(f"  {number}: {where}", err=True)
            fields |= self._part("How many (5, or males.females.unknown as 2.3.1; Enter where all are meant)")

    def _part(self, label: str) -> dict[str, str]:
        while said := self._line(label, "", empty=True):
            if taken := self._number(said):
                return {"how_many": taken}
        return {}

    # --- after a refusal ----------------------------------------------------------------------------

    def mend(self, fields: dict[str, Any], findings: Sequence[Finding]) -> dict[str, Any] | None:
        """The fields with those the findings name given anew; None where the person leaves it.

        Nobody who gave all fields at once is asked: they type the line again.
        """
        if not self.asked:
            return None
        fields = dict(fields)
        named = [f.field.split(".")[0].split("[")[0] for f in findings]
        if all(name == "occurred" or name in self.fields for name in named):
            for name in dict.fromkeys(named):
                fields[name] = self.ask(name)
            return fields
        return fields if self._more(fields, "Mend it (such as how_many=2, ? lists fields; Enter leaves it)") else None

    # --- one question -------------------------------------------------------------------------------

    def ask(self, field: str, proposed: str = "") -> str:
        """One field. A word of a closed list may be cut short; a name that is not known is asked for again."""
        words = choices(self.kind, field)
        label = field.replace("_", " ").capitalize()
        if words:
            out.say(f"  {', '.join(words)}", err=True)
        while True:
            said = self._line(label, proposed)
            if said.startswith("?"):
                known = words or [f"{code}  {names}".rstrip() for code, names in self._known(field)]
                self._list([line for line in known if said[1:].strip().lower() in line.lower()])
                continue
            taken = self._taken(field, said, words)
            if taken:
                return taken

    def _taken(self, field: str, said: str, words: Sequence[str]) -> str:
        """The answer as it will be typed in; empty, and said why, where it cannot be that."""
        if field in DAY_FIELDS:
            return self._day(said)
        if field in COUNT_FIELDS:
            return self._number(said)
        near = [word for word in words if word.startswith(said.lower().replace(" ", "_"))]
        if said in words or len(near) == 1:
            return said if said in words else near[0]
        if words and not self._sorts(field):
            out.say(f"  one of {', '.join(words)}", err=True)
            return ""
        if not self._unknown(field, said):
            return said
        named = [code for code, names in self._known(field) if said.lower() in f"{code} {names}".lower()]
        if len(named) == 1:
            out.say(f"  {named[0]}", err=True)
            return named[0]
        self._near(said, self._sorts(field), named)
        return ""

    def _day(self, said: str) -> str:
        from ledger.dates import DateRefused, parse

        try:
            iso = self.desk.iso(said)
            parse(iso)
        except Mistyped as error:
            out.say(f"  {error}", err=True)
            return ""
        except DateRefused as error:
            out.say(f"  {error.found}. {error.way_out}", err=True)
            return ""
        return iso

    def _number(self, said: str) -> str:
        try:
            return how_many(said)
        except Mistyped as error:
            out.say(f"  {error}", err=True)
            return ""

    def _line(self, label: str, proposed: str = "", *, empty: bool = False) -> str:
        if not self.asked:
            out.say(HELP, err=True)
        self.asked = True
        while True:
            sys.stderr.write(out.safe(f"{label}{f' [{proposed}]' if proposed else ''}: "))
            sys.stderr.flush()
            if hasattr(signal, "siginterrupt"):  # polars lets a read go on after Ctrl-C; here it is to end at once
                signal.siginterrupt(signal.SIGINT, True)  # noqa: FBT003  # it takes no keyword
            said = input().strip() or proposed
            if said or empty:
                return said

    def _sorts(self, field: str) -> tuple[str, ...]:
        """What a field names, where it names something that must be known already."""
        for ref in ref_fields(KINDS[self.kind].Payload):
            if ref.name == field and ref.new == "never":
                return ref.sorts
        return ()

    def _unknown(self, field: str, said: str) -> bool:
        sorts = self._sorts(field)
        return bool(sorts) and said not in choices(self.kind, field) and not self.desk.book.index.find(sorts, said)

    def _known(self, field: str) -> list[tuple[str, str]]:
        """Code and other names of what a field may name; animals and lots go by their numbers alone."""
        things = [t for sort in self._sorts(field) for t in self.desk.book.index.of_sort(sort)]
        spoken = ("name", "common_name")
        return [(t.code, " ".join(str(t.fields[key]) for key in spoken if t.fields.get(key))) for t in things]

    def _list(self, words: Sequence[str]) -> None:
        for word in words[:_SHOWN]:
            out.say(f"  {word}", err=True)
        if len(words) > _SHOWN:
            out.say(f"  … and {len(words) - _SHOWN} more", err=True)
        if not words:
            out.say("  free text", err=True)

    def _near(self, said: str, sorts: Sequence[str], named: Sequence[str] = ()) -> None:
        codes = [t.code for sort in sorts for t in self.desk.book.index.of_sort(sort)]
        near = named[:4] or difflib.get_close_matches(said, codes, 4, 0.6)
        hint = f"; near it: {', '.join(near)}" if near else ""
        out.say(f"  “{said}” is not in the book{hint} (? lists what is)", err=True)

    # --- warnings and consent -----------------------------------------------------------------------

    def accept(self, warnings: Sequence[Finding]) -> dict[str, str]:
        """A reason for each code of warning, where the person is being asked anyway; Enter leaves it standing."""
        if not self.asked:
            return {}
        reasons = {}
        for code in dict.fromkeys(f.code for f in warnings):
            said = self._line(f"Why is that right all the same ({code}; Enter: it is not)", "", empty=True)
            if not said:
                return {}
            reasons[code] = said
        return reasons

    def agree(self) -> bool:
        """Consent to write, asked only where something was asked before, or must be."""
        if self.consent and not self.terminal:
            raise Stop("Nothing is recorded. If that is what is meant, say --yes.")
        if self.consent:
            self.asked = True
            return self._line(f"{self.consent} (yes, no)").lower() in ("y", "yes")
        return not self.asked or self._line("Record it (yes, no)", "yes").lower() in ("y", "yes")
