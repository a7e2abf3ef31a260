"""Ways of joining cores, counted against Bell's numbers and small cases by hand."""

from __future__ import annotations

from math import comb

import pytest

from latchwork.faults.joins import ALL_PARTITIONS, bell, joins, partitions

BELL = [1, 2, 5, 15, 52, 203, 877, 4140]
"""OEIS A000110, from memory."""


def test_bells_numbers() -> None:
    assert [bell(n) for n in range(1, 9)] == BELL


@pytest.mark.parametrize("count", range(1, 8))
def test_every_partition_once(count: int) -> None:
    found = list(partitions("abcdefgh"[:count]))
    assert len(set(found)) == len(found) == BELL[count - 1]
    for groups in found:
        members = [m for group in groups for m in group]
        assert len(members) == len(set(members))
        assert all(len(group) > 1 for group in groups)


def test_the_partitions_of_three_by_hand() -> None:
    assert set(partitions("abc")) == {
        (("a", "b", "c"),),
        (("a", "b"),),
        (("a", "c"),),
        (("b", "c"),),
        (),
    }


def test_up_to_six_cores_all_are_tried() -> None:
    assert ALL_PARTITIONS == 6
    assert len(list(joins("abcdef"))) == 203


@pytest.mark.parametrize("count", [7, 8])
def test_above_that_single_groups_and_two_pairs(count: int) -> None:
    """2^n - n - 1 groups of two or more, the way with none, and 3 C(n, 4) pairs of pairs."""
    found = list(joins("abcdefgh"[:count]))
    assert len(set(found)) == len(found)
    assert len(found) == 1 + 2**count - count - 1 + 3 * comb(count, 4)
