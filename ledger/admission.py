"""Judging a batch: fold what it touches, take the difference, name the cause of each line, and ask every check.

Works on an index to which the batch is applied and which the caller rolls back if it does not land.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import islice
from typing import NamedTuple

from ledger.acts import Cell
from ledger.checks import Batch, run
from ledger.draft import Draft, Drafter
from ledger.findings import Finding
from ledger.index import Index, Standing
from ledger.order import Flag
from ledger.posting import Line, Posting, Weighted, unbalanced
from ledger.refs import references
from ledger.snapshots import Telling, changes
from ledger.spot import Refused
from ledger.words import PASSED

# what was expected, and the way out, of each finding of the fold
SAYS: dict[str, tuple[str, str]] = {
    "not-there": (
        "an animal that is there on that day",
        "Mend the date or the number; if it came or went otherwise, enter that first.",
    ),
    "second-arrival": (
        "one first arrival",
        "If it came back, enter how (transfer, recovery); more young or purchases go `into` a lot.",
    ),
    "no-number": ("at least one animal", "Say how many."),
    "not-one": ("one animal under an animal's number", "Give each its own number, or enter a lot."),
    "too-few": (
        "as many as are to go, on every day from then on",
        "Mend the number, the sexes or the day; a count comes first where the book is wrong.",
    ),
    "other-taxon": (
        "the taxon the lot has on that day",
        "Mend the taxon, or correct the redetermination in the same batch.",
    ),
    "which-owner": ("one owner", "Say `owned_by`, and `from` where they stand in several places."),
    "terms-against-title": ("terms that fit the title", "Mend the terms, or enter the title change first."),
    "already-there": ("an animal that is away", "Mend the date, or enter first how it left."),
    "sex-known": (
        "an animal whose sex was not known",
        "If it changed, enter a sex change; if the earlier finding was wrong, correct that.",
    ),
    "other-sex": ("the sex it has on that day", "Correct the earlier sexing, or mend this entry."),
    "order-assumed": ("dates that settle which came first", "Narrow one of the two dates."),
    "which-stay": ("days within one stay", "Narrow the date to one stay."),
    "straddles-a-count": (
        "days all up to the count, or all after it",
        "Narrow the date: up to the day of the count, or from the day after.",
    ),
    "no-possible-day": ("at least one possible day", "Narrow or mend one of the dates."),
    "sides-do-not-meet": (
        "two sides that agree on taxon, owner and number",
        "Correct the entry that passes them in the same batch.",
    ),
    "not-since-origin": (
        "one animal, and one finding since its birth",
        "Say the day since which it holds, or correct the other finding.",
    ),
    "sex-unchanged": ("another sex", "Leave the entry out."),
}


class Judged(NamedTuple):
    """What a batch would do. `lines` and `rows` are differences; `why` gives each line its causing position."""

    drafts: list[Draft]
    findings: list[Finding]
    postings: list[Posting]
    rows: list[Weighted]
    subjects: list[tuple[str, int]]


@dataclass(slots=True)
class Touched:
    """One subject in a batch: how it was told before, and after each event that touched it."""

    before: Telling
    steps: list[tuple[int, Telling]] = field(default_factory=list)


def judge(index: Index, drafter: Drafter, entries: list[tuple[object, str | None]]) -> Judged:
    """Draft, apply and judge a batch of (entry, row key). The index is left with the batch applied."""
    start = index.position
    drafts: list[Draft] = []
    findings: list[Finding] = []
    touched: dict[str, Touched] = {}
    subjects: list[tuple[str, int]] = []
    for number, (entry, row_key) in enumerate(entries):
        seq = index.position + 1
        try:
            draft = drafter.draft(entry, number, seq, row_key)
        except Refused as refused:
            findings += refused.findings
            continue
        problem = _keeps_its_subjects(index, draft)
        if problem:
            findings.append(problem)
            continue
        let_stand(index, touched, draft.standing, draft.supersedes, row_key)
        subjects += [(s, seq) for s in mentioned(draft.standing)]
        drafts.append(draft)
    end = index.position
    if findings:
        return Judged(drafts, findings, [], [], [])
    postings, rows = differences(touched, start, end)
    findings += _flags(index, drafts, touched)
    if not findings:
        findings += _sides(index, drafts, touched)
    if not findings:
        batch = Batch(index, drafts, postings, start)
        findings += run(batch)
        _law(postings)
    return Judged(drafts, findings, postings, rows, subjects)


def let_stand(
    index: Index, touched: dict[str, Touched], event: Standing, superseded: int | None, row_key: str | None
) -> None:
    """Apply one event of a batch to the index, and keep how each subject it speaks of was told before and since."""
    old = index.standing.get(event.root) if superseded else None
    speaks_of = list(dict.fromkeys([*(old.subjects() if old else []), *event.subjects()]))
    for subject in speaks_of:
        if subject not in touched:
            touched[subject] = Touched(index.tale(subject))
    index.apply(event, superseded, row_key)
    for subject in speaks_of:
        touched[subject].steps.append((event.seq, index.tale(subject)))


def mentioned(event: Standing) -> list[str]:
    """Subjects an event speaks of, acts or not: parents, marks and notes too."""
    ids = [ref.id for _, _, ref in references(event.payload) if ref.id and ref.id[:2] in ("a-", "g-")]
    return list(dict.fromkeys([*event.subjects(), *ids]))


def _keeps_its_subjects(index: Index, draft: Draft) -> Finding | None:
    old = index.standing.get(draft.standing.root) if draft.supersedes else None
    if old is None or draft.standing.kind == "void" or set(old.subjects()) == set(draft.standing.subjects()):
        return None
    names = ", ".join(index.name(s) for s in old.subjects())
    return Finding(
        "other-subject",
        draft.where,
        "it names other animals than the entry it corrects",
        names,
        "Strike that entry out and enter it anew, in one batch.",
        "",
        draft.number,
        old.seq,
    )


def differences(touched: dict[str, Touched], start: int, end: int) -> tuple[list[Posting], list[Weighted]]:
    """Lines and open rows to post; the cause of each line by telling the batch event by event (engine rule 18)."""
    postings: list[Posting] = []
    rows: list[Weighted] = []
    for subject_touched in touched.values():
        told = [subject_touched.before, *(now for _, now in subject_touched.steps)]
        net, found = changes(told)
        why: dict[Line, int] = {}
        if len(subject_touched.steps) > 1:
            for at, (seq, _) in enumerate(subject_touched.steps):
                lines, _ = changes(told[at : at + 2])
                why |= {line._replace(delta=0): seq for line in lines}
        only = subject_touched.steps[-1][0]
        for line in net:
            fallback = line.effect if line.effect > start else only
            postings.append(Posting(end, why.get(line._replace(delta=0), fallback), line))
        rows += [Weighted(end, row, weight) for row, weight in found]
    return postings, rows


def _flags(index: Index, drafts: list[Draft], touched: dict[str, Touched]) -> list[Finding]:
    by_root = {d.standing.root: d for d in drafts}
    out: list[Finding] = []
    for subject in touched:
        told: set[tuple[str, int, int]] = set()
        for flag in index.tale(subject).flags:
            if (flag.code, flag.root, flag.other) in told:
                continue
            told.add((flag.code, flag.root, flag.other))
            out.append(_finding(index, subject, flag, by_root, drafts))
    return out


def _finding(index: Index, subject: str, flag: Flag, by_root: dict[int, Draft], drafts: list[Draft]) -> Finding:
    expected, way = SAYS[flag.code]
    mine = by_root.get(flag.root) or by_root.get(flag.other)
    other = flag.other if mine is by_root.get(flag.root) else flag.root
    found = f"{index.name(subject)}: {flag.found}"
    standing = index.standing.get(other) if other and other not in by_root else None
    if flag.code in ("order-assumed", "straddles-a-count", "which-stay", "not-there") and other in index.standing:
        found += f" ({say(index, other)})"
    if mine is None:  # a standing event made impossible by the batch
        mine = next((d for d in drafts if subject in d.standing.subjects()), drafts[-1])
        found = f"it makes {say(index, flag.root)} impossible: {found}"
        standing = index.standing.get(flag.root)
    return Finding(flag.code, mine.where, found, expected, way, "", mine.number, standing.seq if standing else 0)


def say(index: Index, root: int) -> str:
    """A standing event in words: `#12, the count of MS-G-3 on 2025-03-15`."""
    event = index.standing.get(root)
    if event is None:
        return f"#{root}"
    names = ", ".join(index.name(s) for s in event.subjects())
    return f"#{event.seq}, the {event.kind.replace('_', ' ')} of {names}, {event.edtf}"


def _sides(index: Index, drafts: list[Draft], touched: dict[str, Touched]) -> list[Finding]:
    """What passed between two subjects must leave the account empty, per event and day (engine rule 11)."""
    effects = set()
    for subject, t in touched.items():
        same = min((now.kept[0] for _, now in t.steps), default=0)  # so many lines it begins with are as they were
        for lines in (index.tale(subject).lines, t.before.lines):
            effects |= {line.effect for line in islice(lines, same, None) if line.cell.place == PASSED}
    out: list[Finding] = []
    for effect in sorted(effects):
        event = index.standing.get(effect)
        if event is None:
            continue
        over: dict[tuple[int, Cell], int] = {}
        for subject in event.subjects():
            for line in index.tale(subject).lines:
                if line.effect == effect and line.cell.place == PASSED:
                    key = (line.counts_on, line.cell)
                    over[key] = over.get(key, 0) + line.delta
        if any(over.values()):
            mine = next((d for d in drafts if d.standing.root == effect), drafts[-1])
            expected, way = SAYS["sides-do-not-meet"]
            out.append(
                Finding(
                    "sides-do-not-meet",
                    mine.where,
                    f"{say(index, effect)}: the two sides differ",
                    expected,
                    way,
                    "",
                    mine.number,
                    event.seq,
                )
            )
    return out


def _law(postings: list[Posting]) -> None:
    """Every taxon sums to zero over all accounts on every day: a broken sum is a fault of the program."""
    left = unbalanced(p.line for p in postings)
    if left:
        raise AssertionError(f"postings do not balance: {left}")
