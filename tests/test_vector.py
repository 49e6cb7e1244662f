"""The test vector of the frozen envelope, to the letter: whoever changes a byte of it has made another format."""

import orjson
import pytest

from ledger.acts import Cell
from ledger.chain import Tree, check_chain, digest, line_text, merkle_root
from ledger.event import KEYS, ZERO, canonical, commit_text, leaf
from ledger.form import form_faults
from ledger.posting import Line, Posting, day_number

FIRST = (
    b'{"accepted":[],"actor":"p-7q2m4k9xtd","basis":"os","batch":{"id":"019b7db8-7800-7a1b-82c3-d4e5f6071829","no":1,'
    b'"of":1},"client":"tidemark 0.1.0","clock":"2026-01-02T08:00:00.000000Z","envelope":1,'
    b'"event_id":"019b7db8-7800-70f1-8e2d-3c4b5a697887",'
    b'"journal":"0000000000000000000000000000000000000000000000000000000000000000","kind":"book","observed_by":[],'
    b'"occurred":{"edtf":"2026-01-02","first":"2026-01-02","last":"2026-01-02"},"payload":{"canonical":"rfc8785",'
    b'"clock_kind":"system","floor":"1990-01-01","hash":"sha256","hemisphere":"north",'
    b'"log_id":"5b0e8d1c9f3a4e72a6c4d9e01b7f2c38","rules":1,"time_zone":"Europe/Lisbon","tree":"rfc9162",'
    b'"unicode":"14.0.0"},"prev":"0000000000000000000000000000000000000000000000000000000000000000","reason":null,'
    b'"recorded":"2026-01-02T08:00:00.000000Z","row_key":null,"seq":1,"source":null,"supersedes":null,"version":1}'
)
SECOND = (
    b'{"accepted":[],"actor":"p-7q2m4k9xtd","basis":"os","batch":{"id":"019cbd46-8b78-791c-80d2-e3f4a5b6c7d8","no":1,'
    b'"of":1},"client":"tidemark 0.1.0","clock":"2026-03-05T09:14:03.120442Z","envelope":1,'
    b'"event_id":"019cbd46-8b78-75d0-8a1b-9c8e7f60d1e2",'
    b'"journal":"66687aadf862bd776c8fc18b8e9f8e20089714856ee233b3902a591d0d5f2925","kind":"death",'
    b'"observed_by":["p-x81d0w3cfn"],"occurred":{"edtf":"2026-03-04/2026-03-05","first":"2026-03-04",'
    b'"last":"2026-03-05"},"payload":{"animal":{"as":"MS-2024-0117","id":"a-4t9xk2m7qd"},"cause":"not_determined",'
    b'"circumstance":"found_dead",'
    b'"note":{"commit":"594c463d4458d1a4b80be1751767664984e477cd8b0472829ed042a1c347cf9a"}},'
    b'"prev":"8fc1d96745c9b9e0166da985acf78c354488d0a1351ecd3577069c4d90caa805","reason":null,'
    b'"recorded":"2026-03-05T09:14:03.120442Z","row_key":null,"seq":2,"source":{"kind":"day_sheet",'
    b'"ref":{"commit":"cb1d9550740239c218b7be76a70d25ce33987829be69637c5abf5ffa9614adbf"}},"supersedes":null,'
    b'"version":1}'
)
LEAF_1 = "8fc1d96745c9b9e0166da985acf78c354488d0a1351ecd3577069c4d90caa805"
LEAF_2 = "4b43f6b055350a910c5e2d77dc45b1e98285366a2a70f1d8eba02f3c2641cc7f"
JOURNAL_1 = "66687aadf862bd776c8fc18b8e9f8e20089714856ee233b3902a591d0d5f2925"
JOURNAL_2 = "38325a447d8fbadb83be36b4aa1d008d16a0ed1afd2c4bd97c5e9f0c53898e8c"
ROOT_2 = "0968903550cfac4e9a3f1d6c1ac55bd39bd647adb9f52018a9f06efce8261669"

DEAD = Cell("t-5k8w1n3vbe", "female", "dead", "", "", "collection")
HELD = Cell("t-5k8w1n3vbe", "female", "e-2h6c9r4ymz", "h-9d3p7s1jqa", "h-9d3p7s1jqa", "collection")
DAYS = (day_number("2026-03-05"), day_number("2026-03-04"))
A = Posting(2, 2, Line(2, "a-4t9xk2m7qd", DEAD, 1, "died", *DAYS))
B = Posting(2, 2, Line(2, "a-4t9xk2m7qd", HELD, -1, "died", *DAYS))


def test_bytes_have_856_and_951_and_are_those_of_their_content():
    assert (len(FIRST), len(SECOND)) == (856, 951)
    for data in (FIRST, SECOND):
        event = orjson.loads(data)
        assert tuple(event) == KEYS
        assert canonical(event) == data
        assert list(form_faults(event)) == []


def test_leaves_root_and_head():
    assert [leaf(data).hex() for data in (FIRST, SECOND)] == [LEAF_1, LEAF_2]
    assert merkle_root([leaf(FIRST), leaf(SECOND)]).hex() == ROOT_2
    checked = check_chain([FIRST, SECOND])
    assert (checked.size, checked.head.hex(), checked.root.hex(), checked.faults) == (2, LEAF_2, ROOT_2, ())


def test_journal():
    assert digest(ZERO, []).hex() == JOURNAL_1 == orjson.loads(SECOND)["journal"]
    assert digest(bytes.fromhex(JOURNAL_1), [B, A]).hex() == JOURNAL_2
    assert line_text(A) == (
        b"2\t2\t2\ta-4t9xk2m7qd\t2026-03-05\t2026-03-04\tt-5k8w1n3vbe\tfemale\tdead\t\t\tcollection\tdied\t1\n"
    )
    assert line_text(B) == (
        b"2\t2\t2\ta-4t9xk2m7qd\t2026-03-05\t2026-03-04\tt-5k8w1n3vbe\tfemale\te-2h6c9r4ymz\th-9d3p7s1jqa\t"
        b"h-9d3p7s1jqa\tcollection\tdied\t-1\n"
    )
    assert digest(ZERO, [A, A]) != digest(ZERO, [A])  # equal lines are kept


def test_detached_texts():
    note = commit_text(bytes(range(32)), "Found on the pump intake; carcass to the freezer.")
    reference = commit_text(bytes(range(32, 64)), "day sheet 2026-03-05, page 2")
    event = orjson.loads(SECOND)
    assert (event["payload"]["note"]["commit"], event["source"]["ref"]["commit"]) == (note, reference)


def test_a_field_with_a_tab_has_no_line():
    with pytest.raises(ValueError, match="TAB"):
        line_text(A._replace(line=A.line._replace(subject="a\tb")))


@pytest.mark.parametrize(
    ("events", "part"),
    [
        ([SECOND], "chain"),
        ([FIRST, FIRST], "chain"),
        ([SECOND, FIRST], "chain"),
        ([FIRST, SECOND.replace(b"found_dead", b"found_ill!")[:-1]], "bytes"),
        ([FIRST, SECOND.replace(b'"seq":2', b'"seq": 2')], "bytes"),
        ([FIRST, SECOND.replace(b'"seq":2', b'"seq":3')], "chain"),
        ([FIRST, SECOND.replace(b'"version":1', b'"version":1.5')], "bytes"),
        ([FIRST, SECOND.replace(b'"version":1', b'"version":1,"version":1')], "bytes"),
        ([FIRST, SECOND.replace(b'"row_key":null,', b"")], "bytes"),
        ([FIRST, SECOND.replace(b"found_dead", "found_e\u0301".encode())], "bytes"),
        ([FIRST.replace(b"north", b"south"), SECOND], "chain"),
        ([FIRST, b"\xff"], "bytes"),
        ([FIRST, b"[]"], "bytes"),
    ],
)
def test_the_stand_alone_check_names_what_is_wrong(events, part):
    assert part in {fault.part for fault in check_chain(events).faults}


def test_what_the_stand_alone_check_cannot_see_shows_in_head_and_root():
    whole, cut = check_chain([FIRST, SECOND]), check_chain([FIRST])
    assert cut.faults == ()
    assert (cut.size, cut.head.hex()) == (1, LEAF_1)
    assert cut.root != whole.root


def test_the_tree_is_that_of_rfc_9162_at_every_size():
    def by_definition(leaves):
        if len(leaves) == 1:
            return leaves[0]
        half = 1
        while half * 2 < len(leaves):
            half *= 2
        import hashlib

        left, right = by_definition(leaves[:half]), by_definition(leaves[half:])
        return hashlib.sha256(b"\x01" + left + right).digest()

    leaves, tree = [leaf(bytes([n])) for n in range(40)], Tree()
    assert tree.root().hex() == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    for size, each in enumerate(leaves, 1):
        tree.add(each)
        assert tree.root() == by_definition(leaves[:size])
