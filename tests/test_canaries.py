"""Planted faults: the comparison of book and oracle must find each, and must not find what is not there."""

from __future__ import annotations

import pytest
from oracle import planted


def test_nothing_planted_is_not_found() -> None:
    assert planted.found() == []


@pytest.mark.parametrize("name", planted.READING)
def test_a_misreading_is_found(name: str) -> None:
    assert planted.found(faults=planted.READING[name]), f"{name}: no history shows it"


@pytest.mark.parametrize("name", planted.JOURNAL)
def test_a_fault_in_the_journal_is_found(name: str) -> None:
    assert planted.found(rows=planted.JOURNAL[name]), f"{name}: no history shows it"


def test_ranges_that_are_not_there_are_found() -> None:
    assert planted.found(no_open=True)
