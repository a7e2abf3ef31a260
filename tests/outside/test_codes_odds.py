"""Guess odds held against published and worked values, and against trying every choice.

Values marked [X] were worked out by hand from P = 1 − C(N−U, g)/C(N, g) with N = 10^digits.
"""

from __future__ import annotations

import math
from itertools import combinations

import pytest

from latchwork.codes.pins.odds import (
    NIGHT_S,
    LockOut,
    chance,
    guesses_within,
    odds,
    proposals,
)
from latchwork.codes.pins.rules import ALLOWED


@pytest.mark.parametrize(
    ("digits", "in_use", "one", "five", "hundred"),
    [  # [X]
        (4, 1, 0.0001, 0.0005, 0.0100),
        (4, 20, 0.002, 0.00996, 0.1823),
        (4, 50, 0.005, 0.02476, 0.3957),
        (4, 500, 0.05, 0.22626, 0.9942),
        (5, 50, 0.0005, 0.00250, 0.0488),
        (6, 50, 0.00005, 0.00025, 0.0050),
        (6, 500, 0.0005, 0.00250, 0.0488),
    ],
)
def test_worked_table(digits: int, in_use: int, one: float, five: float, hundred: float) -> None:
    for guesses, value in ((1, one), (5, five), (100, hundred)):
        assert chance(10**digits, in_use, guesses) == pytest.approx(value, abs=5e-5)


@pytest.mark.parametrize("allowed", range(1, 13))
def test_every_choice_of_guesses(allowed: int) -> None:
    """Every set of guesses against every count of codes in use, counted one by one."""
    for in_use in range(allowed + 1):
        codes = set(range(in_use))
        for guesses in range(allowed + 1):
            sets = list(combinations(range(allowed), guesses))
            hits = sum(bool(codes & set(tried)) for tried in sets)
            assert chance(allowed, in_use, guesses) == pytest.approx(hits / len(sets), abs=1e-12)


@pytest.mark.parametrize(
    ("allowed", "in_use", "guesses"), [(7002, 50, 3600), (815804, 500, 11), (92404148, 1, 3600)]
)
def test_exact_binomials(allowed: int, in_use: int, guesses: int) -> None:
    exact = 1 - math.comb(allowed - in_use, guesses) / math.comb(allowed, guesses)
    assert chance(allowed, in_use, guesses) == pytest.approx(exact, rel=1e-9)


def test_expected_guesses_and_minutes_of_a_systematic_search() -> None:
    """[X] 4 digits, 50 codes: (N+1)/(U+1) = 196.1 guesses; five tries per 60 s: 39 min."""
    mean = (10_000 + 1) / (50 + 1)
    assert mean == pytest.approx(196.1, abs=0.05)
    found = odds(4, 50, LockOut(5, 60))
    assert found.mean_guesses == pytest.approx((ALLOWED[4] + 1) / 51)
    assert found.mean_s / found.mean_guesses * mean / 60 == pytest.approx(39, abs=0.5)


def test_expected_guesses_by_trying_every_place_of_the_codes() -> None:
    for allowed in range(1, 9):
        for in_use in range(1, allowed + 1):
            firsts = [min(c) + 1 for c in combinations(range(allowed), in_use)]
            assert sum(firsts) / len(firsts) == pytest.approx((allowed + 1) / (in_use + 1))


def test_the_whole_space_at_five_tries_a_minute() -> None:
    """[X] 10,000 codes at five per 60 s take 2000 min = 33.3 h."""
    assert guesses_within(2000 * 60, 4, LockOut(5, 60)) == 10_000
    assert guesses_within(NIGHT_S, 4, LockOut(5, 60)) == 3600


def test_chosen_codes_that_coincide() -> None:
    """[X] Fifty random 4-digit codes: 11.5 % that two coincide; 50 % is passed at 119 people.

    The reason why PINs here are drawn against what is used, and not chosen.
    """

    def coincide(people: int) -> float:
        return 1 - math.prod((10_000 - i) / 10_000 for i in range(people))

    assert coincide(50) == pytest.approx(0.115, abs=5e-4)
    assert coincide(118) < 0.5 <= coincide(119)


def test_one_hundred_failed_attempts() -> None:
    """NIST SP 800-63B 5.2.2 (seen in copies): no more than 100 consecutive failed attempts an
    account. At a keypad all codes are guessed at once: fifty 4-digit codes fall to 100 guesses
    with 40 %, so that the limit does not carry over."""
    assert chance(10**4, 1, 100) == pytest.approx(0.01)
    assert chance(10**4, 50, 100) > 0.39


def test_without_lock_out_keys_alone_take_time() -> None:
    assert guesses_within(60, 6, LockOut(0, 0)) == 20
    assert odds(4, 1, LockOut(0, 0)).night == 1.0


def test_a_warning_comes_from_one_in_a_thousand_a_night() -> None:
    assert odds(6, 1, LockOut(1, 60)).warn is False
    assert odds(6, 2, LockOut(1, 60)).warn is True
    assert chance(ALLOWED[6], 1, 720) < 1 / 1000 <= chance(ALLOWED[6], 2, 720)


def test_every_proposal_does_what_it_says() -> None:
    rule = LockOut(5, 60)
    ways = proposals(6, 50, rule)
    assert {w.kind for w in ways} == {"both", "card and PIN"}
    for way in ways[:-1]:
        better = odds(way.digits, 50, LockOut(rule.attempts, way.lock_out_s))
        assert better.night == way.night < 1 / 1000
    assert ways[-1].night == odds(6, 1, rule).night
