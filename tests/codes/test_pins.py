"""PINs: what is too easy, what is too near, and how many a length carries."""

from __future__ import annotations

import contextlib
import random

import pytest

from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.setup import asks_first, lock_out
from latchwork.codes.pins import rules
from latchwork.codes.pins.allocate import PinSpace
from latchwork.codes.secret import Secret
from tests.codes import counting
from tests.codes.sites import GRAMMARS


@pytest.mark.parametrize(
    ("pin", "why"),
    [
        ("1111", "repeat"),
        ("1212", "repeat"),
        ("5558", "repeat"),
        ("123123", "repeat"),
        ("4567", "run"),
        ("9012", "run"),
        ("3210", "run"),
        ("2468", "run"),
        ("871234", "run"),
        ("1470", "run"),
        ("2580", "keypad shape"),
        ("1397", "keypad shape"),
        ("2684", "keypad shape"),
        ("159632", "keypad shape"),
        ("2512", "keypad shape"),
        ("3107", "date"),
        ("1987", "date"),
        ("290296", "date"),
        ("021308", "date"),
        ("081402", "date"),
        ("980317", "date"),
        ("19870824", "date"),
        ("24081987", "date"),
        ("70384", "date"),
        ("4071983", "date"),
    ],
)
def test_easy_pins_are_named(pin: str, why: str) -> None:
    assert rules.weakness(pin) == why


@pytest.mark.parametrize("pin", ["4092", "3170", "730264", "860495", "91537264", "98317", "313389"])
def test_others_pass(pin: str) -> None:
    assert rules.weakness(pin) is None


@pytest.mark.parametrize("pin", ["123", "123456789", "12a4", "١٢٣٤", ""])
def test_what_is_no_pin_is_refused(pin: str) -> None:
    with pytest.raises(ValueError, match="4 to 8 digits"):
        rules.weakness(pin)


@pytest.mark.parametrize("digits", [4, 5])
def test_the_code_space_by_trying_every_code(digits: int) -> None:
    allowed = sum(rules.weakness(f"{n:0{digits}d}") is None for n in range(10**digits))
    assert rules.ALLOWED[digits] == allowed


@pytest.mark.parametrize("digits", [4, 5, 6, 7, pytest.param(8, marks=pytest.mark.slow_oracle)])
def test_the_code_space_by_an_independent_count(digits: int) -> None:
    assert rules.ALLOWED[digits] == counting.count_allowed(digits)


@pytest.mark.parametrize("digits", [6, 7, 8])
def test_both_readings_of_the_rules_agree_on_a_sample(digits: int) -> None:
    rng = random.Random(digits)
    other = counting.dates(digits) | counting.one_step(digits) | counting.blocks(digits)
    sample = [f"{rng.randrange(10**digits):0{digits}d}" for _ in range(4000)]
    sample += rng.sample(sorted(other), 1000)
    for pin in sample:
        assert (rules.weakness(pin) is None) == (counting.local(pin) and pin not in other), pin


def test_near_is_one_wrong_key_or_one_swap() -> None:
    near = set(rules.near("4092"))
    brute = {
        f"{n:04d}"
        for n in range(10_000)
        if sum(a != b for a, b in zip(f"{n:04d}", "4092", strict=True)) == 1
        or (
            sorted(f"{n:04d}") == sorted("4092")
            and sum(a != b for a, b in zip(f"{n:04d}", "4092", strict=True)) == 2
        )
    }
    assert near == brute
    assert len(near) + 1 <= rules.blocked_by_one(4)


def test_given_pins_keep_away_from_one_another() -> None:
    space = PinSpace([])
    pins = [space.allocate(5).reveal() for _ in range(400)]
    assert len(set(pins)) == 400
    for pin in pins:
        assert rules.weakness(pin) is None
        assert not set(rules.near(pin)) & set(pins)


def test_a_former_pin_does_not_come_back_but_a_near_one_may() -> None:
    space = PinSpace([], former=[Secret("4092")])
    assert space.fault("4092") == "given before"
    assert space.fault("4093") is None


@pytest.mark.parametrize("pin", ["123456", "290296", "123123", "159632", "730264"])
def test_a_pin_is_given_once_however_weak(pin: str) -> None:
    """Run, date, repeat and shape are told only of a PIN that nobody has or had."""
    assert PinSpace([Secret(pin)]).fault(pin) == "used"
    assert PinSpace([], former=[Secret(pin)]).fault(pin) == "given before"


def test_no_pin_begins_another() -> None:
    space = PinSpace([Secret("730264")])
    assert space.fault("7302") == "begins"
    space = PinSpace([Secret("4092")])
    assert space.fault("409271") == "begins"
    assert space.fault("730264") is None


@pytest.mark.parametrize("digits", [4, pytest.param(5, marks=pytest.mark.slow_oracle)])
def test_room_is_kept_whatever_is_drawn(digits: int) -> None:
    """A length carries at least what is promised: drawn to the end, it never carries fewer."""
    space = PinSpace([])
    promised = space.room(digits).at_least
    given = 0
    with contextlib.suppress(CodesError):
        while given < promised * 2 or digits == 4:
            space.allocate(digits)
            given += 1
    assert given >= promised
    assert promised == -(-rules.ALLOWED[digits] // rules.blocked_by_one(digits))


@pytest.mark.slow_oracle
def test_a_length_that_is_used_up_says_so() -> None:
    space = PinSpace([])
    with contextlib.suppress(CodesError):
        while True:
            space.allocate(4)
    with pytest.raises(CodesError, match="4 digits are used up"):
        space.allocate(4)
    assert space.room(4).at_least == 0


def test_room_shrinks_with_what_is_used() -> None:
    space = PinSpace([])
    before = space.room(6).at_least
    for _ in range(50):
        space.allocate(6)
    after = space.room(6).at_least
    assert before - 51 <= after < before


def test_lengths_out_of_range_are_refused() -> None:
    with pytest.raises(CodesError, match="4 to 8 digits"):
        PinSpace([]).allocate(3)


@pytest.mark.parametrize(("does", "attempts"), [("lock-out", 5), ("both", 5), ("alarm", 0)])
def test_an_alarm_after_wrong_codes_locks_nobody_out(does: str, attempts: int) -> None:
    """It sounds, and the next code is taken at once: a stranger is held up by the keys alone."""
    settings = {"wrong attempts": "5", "wrong attempts do": does, "lock-out time": "60"}
    assert lock_out(settings).attempts == attempts


@pytest.mark.parametrize(
    ("mode", "first"),
    [("PIN", "PIN"), ("card or PIN", "PIN"), ("card and PIN", "card"), ("card", "none")],
)
def test_only_a_pin_that_opens_alone_is_guessed_alone(mode: str, first: str) -> None:
    """Where a card is asked as well, a stranger without one guesses in vain."""
    assert asks_first(GRAMMARS["C1"], {"access mode": mode}) == first
