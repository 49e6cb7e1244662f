"""Small books made by hand for the tests of bytes, chain and stores: synthetic events with all 21 keys, true sums."""

from ledger.acts import Cell
from ledger.chain import digest
from ledger.chance import SeededChance
from ledger.event import TextRow, commit_text
from ledger.posting import Line, OpenRow, Posting, Weighted, day_number
from ledger.store.port import Batch, Head, seal
from ledger.verify import Expected

CHANCE = SeededChance("tests of the store", "2026-03-05T09:00:00Z")
DAY = day_number("2026-03-05")
OUT = Cell("t-5k8w1n3vbe", "female", "dead", "", "", "collection")
IN = Cell("t-5k8w1n3vbe", "female", "e-2h6c9r4ymz", "h-9d3p7s1jqa", "h-9d3p7s1jqa", "collection")
BOOK = {"log_id": "5b0e8d1c9f3a4e72a6c4d9e01b7f2c38", "rules": 1, "clock_kind": "simulated", "floor": "1990-01-01"}


def event(seq, prev, journal, mark, recorded, payload=None, **other):
    """An envelope around a payload; the first is `book`."""
    return {
        "accepted": [],
        "actor": "p-7q2m4k9xtd",
        "basis": "os",
        "batch": mark,
        "client": "tidemark 0.1.0",
        "clock": recorded,
        "envelope": 1,
        "event_id": CHANCE.uuid7(recorded),
        "journal": journal.hex(),
        "kind": "book" if seq == 1 else "death",
        "observed_by": [],
        "occurred": {"edtf": "2026-03-05", "first": "2026-03-05", "last": "2026-03-05"},
        "payload": payload or (BOOK if seq == 1 else {"animal": {"as": f"MS-{seq}", "id": f"a-{seq:010}"}}),
        "prev": prev.hex(),
        "reason": None,
        "recorded": recorded,
        "row_key": None,
        "seq": seq,
        "source": None,
        "supersedes": None,
        "version": 1,
    } | other


def effects(seq, end):
    """What event `seq` posts: two lines and an open row, known from `end`."""
    subject = f"a-{seq:010}"
    lines = (
        Posting(end, seq, Line(seq, subject, OUT, 1, "died", DAY, DAY - 1)),
        Posting(end, seq, Line(seq, subject, IN, -1, "died", DAY, DAY - 1)),
    )
    return lines, (
        Weighted(end, OpenRow(subject, seq, 0, DAY - 1, DAY, 0, IN, 1), 1),
        Weighted(end, OpenRow(subject, seq, 0, DAY - 1, DAY, 1, None, 0), 1),
    )


def batch(head=Head(), size=2, text="", **other):  # noqa: B008  # a Head cannot be changed
    """The next batch after `head`: `size` events, each with its lines and open rows, and perhaps a text."""
    at = CHANCE.moment(head.recorded).recorded
    mark = {"id": CHANCE.uuid7(at), "no": 1, "of": size}
    prev, end, recorded = head.leaf, head.position + size, head.recorded
    events, postings, rows, texts, subjects = [], [], [], [], []
    for no in range(1, size + 1):
        seq, recorded = head.position + no, CHANCE.moment(recorded).recorded
        content = event(seq, prev, head.journal, mark | {"no": no}, recorded, **other)
        if text and no == 1:
            salt = CHANCE.salt()
            texts.append(TextRow(commit_text(salt, text), salt, text))
            content["payload"] = content["payload"] | {"note": {"commit": texts[0].commit}}
        if seq > 1:
            lines, open_rows = effects(seq, end)
            postings += lines
            rows += open_rows
            subjects.append((f"a-{seq:010}", seq))
        events.append(seal(content))
        prev = events[-1].leaf
    journal = digest(head.journal, postings)
    return Batch(mark["id"], tuple(events), journal, tuple(postings), tuple(rows), tuple(texts), tuple(subjects))


def fill(store, batches=3, size=2, text="Found on the pump intake."):
    """Some batches, each with a text; gives the head."""
    for _ in range(batches):
        with store.begin() as writing:
            head = writing.append(batch(writing.head(), size, text), writing.head())
    return head


def refold(events):
    """What the rules make of such a book, from its events alone."""
    lines, rows, subjects = (), (), ()
    for content in events:
        seq, mark = content["seq"], content["batch"]
        end = seq - mark["no"] + mark["of"]
        if seq > 1:
            more = effects(seq, end)
            lines, rows, subjects = lines + more[0], rows + more[1], (*subjects, (f"a-{seq:010}", seq))
        if seq == end:
            yield Expected(end, lines, rows, subjects)
            lines, rows, subjects = (), (), ()
