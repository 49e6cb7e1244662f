"""Transponder numbers against the published layout of ISO 11784 and the field's known misuses."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from ledger.transponder import COUNTRIES, HIGHEST_ID, read


@pytest.mark.parametrize(
    ("text", "issuer", "number"),
    [
        ("276 274877906943", "country", "276274877906943"),  # the highest identification, 2 to the 38th less one
        ("276000000000001", "country", "276000000000001"),
        ("840.003.123.456.789", "country", "840003123456789"),
        ("008-000000000042", "country", "008000000000042"),
        ("900215000000000", "shared", "900215000000000"),
        ("901000000000001", "maker", "901000000000001"),
        ("998000000000001", "maker", "998000000000001"),
    ],
)
def test_a_number_that_a_chip_can_bear(text: str, issuer: str, number: str) -> None:
    assert read(text) == (number, issuer, None, None)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("276274877906944", "above 274877906943"),
        ("000000000000001", "000 is no code"),
        ("001000000000001", "001 is no code"),
        ("899000000000001", "899 is no code"),
        ("27600000000001", "has 14 digits"),
        ("2760000000000001", "has 16 digits"),
        ("276 27487790694A", "signs that are no digits"),
        ("٢٧٦٠٠٠٠٠٠٠٠٠٠٠١", "signs that are no digits"),
        ("²76000000000001", "signs that are no digits"),
        ("", "signs that are no digits"),
        ("999274877906944", "above"),
    ],
)
def test_a_number_that_no_chip_can_bear(text: str, words: str) -> None:
    found = read(text)
    assert found.issuer is None
    assert found.warned is None
    assert found.refused is not None
    assert words in found.refused.found
    assert found.refused.way_out


def test_the_code_for_tests_is_a_doubt_and_no_refusal() -> None:
    found = read("999000000000001")
    assert (found.issuer, found.refused) == ("test", None)
    assert found.warned is not None
    assert "set aside for tests" in found.warned.found


def test_countries_are_those_of_the_standard() -> None:
    assert len(COUNTRIES) == 249
    assert {4, 276, 840, 894}.issubset(COUNTRIES)
    assert min(COUNTRIES) > 0
    assert max(COUNTRIES) < 900


@given(st.integers(0, 999), st.integers(0, 10**12 - 1))
def test_refused_exactly_where_code_or_identification_cannot_be(code: int, identification: int) -> None:
    possible = (code in COUNTRIES or code >= 900) and identification <= HIGHEST_ID
    assert (read(f"{code:03}{identification:012}").refused is None) is possible
