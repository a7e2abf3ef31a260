"""The simulated controllers behave as their grammars say, told from outside by keys alone."""

from __future__ import annotations

import pytest

from latchwork.codes.content import Content, User
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.memory import factory_content
from latchwork.codes.keypad.shelf import shipped_grammars
from latchwork.codes.keypad.simulator import Controller, Press

LETTERS = shipped_grammars()["letter pairs"]
MENUS = shipped_grammars()["menus"]
BUTTON = shipped_grammars()["case button"]
OPEN = "D A 7 0 7 0 7 0 7 0 OK"


def new(grammar: Grammar) -> Controller:
    return Controller(grammar, factory_content(grammar))


def key(controller: Controller, text: str) -> str:
    """Keys, "card:123" and "wait:30"; the last answer's signal."""
    signal = ""
    for word in text.split():
        kind, _, value = word.rpartition(":")
        signal = controller.press(Press(kind or "key", value)).signal
    return signal


def users(controller: Controller) -> dict[int, User]:
    return dict(controller.memory.content().users)


def test_letters_add_change_and_delete() -> None:
    c = new(LETTERS)
    assert key(c, OPEN) == "ok"
    assert key(c, "A A 0 1 7 7 3 0 2 6 4 OK") == "ok"
    assert key(c, "A B 0 1 7 card:4711") == "ok"
    assert key(c, "C D 0 1 7 1 OK") == "ok"
    assert key(c, "C C 0 1 7 3 1 1 2 2 6 OK") == "ok"
    assert key(c, "C A 0 1 7 3 OK") == "ok"
    expected = User("730264", ("4711",), False, "both", 0, "2026-12-31", "visitor")
    assert users(c) == {17: expected}
    assert key(c, "B A 0 1 7 OK") == "ok"
    assert users(c) == {}
    assert key(c, "D D") == "ok"
    assert c.at_rest


@pytest.mark.parametrize(
    "keys",
    [
        "A A 9 9 9 7 3 0 2 6 4 OK",  # no such place
        "A A 0 1 7 7 3 0 2 OK",  # PIN length
        "A A 0 0 1 8 6 0 4 9 5 OK",  # place used
        "A A 0 1 8 9 8 3 1 7 2 OK",  # PIN used
        "B A 0 1 7 OK",  # nobody there
        "C C 0 0 1 3 1 0 2 2 6 OK",  # no such day
        "OK 0 1 0 0 OK",  # out of range
        "D A 1 2 3 4 5 6 7 8 OK 1 2 3 4 5 6 7 9 OK",  # not the same twice
        "A D 0 0 1 0 0 2 0 0 0 0 0 0 1 0 OK",  # range over a used place
        "OK 7 7",  # no such step
        "1",  # no such step
    ],
)
def test_letters_refuse_and_change_nothing(keys: str) -> None:
    c = new(LETTERS)
    key(c, OPEN)
    assert key(c, "A A 0 0 1 9 8 3 1 7 2 OK") == "ok"
    before = c.memory.content()
    assert key(c, keys) == "error"
    assert c.memory.content() == before
    assert c.state == "installer"


def test_a_range_gives_running_cards_to_running_places() -> None:
    c = new(LETTERS)
    key(c, OPEN)
    assert key(c, "A D 0 1 0 0 0 3 0 0 0 0 4 7 1 1 OK") == "ok"
    assert {p: u.cards for p, u in users(c).items()} == {
        10: ("4711",),
        11: ("4712",),
        12: ("4713",),
    }


def test_cancel_drops_what_was_begun() -> None:
    c = new(LETTERS)
    key(c, OPEN)
    assert key(c, "A A 0 1 NO B A") == "key"
    assert key(c, "0 0 1 OK") == "error"
    assert c.state == "installer"


def test_the_time_out_ends_programming() -> None:
    c = new(LETTERS)
    key(c, OPEN)
    assert key(c, "A A 0 1 wait:24") == "key"
    assert c.state == "installer"
    key(c, "wait:25")
    assert c.at_rest


def test_wrong_codes_lock_out_for_a_while() -> None:
    c = new(LETTERS)
    for _ in range(4):
        assert key(c, "D A 1 1 1 1 1 1 1 1 OK") == "error"
    assert key(c, OPEN) == "ok"
    key(c, "D D")
    for _ in range(5):
        key(c, "D A 1 1 1 1 1 1 1 1 OK")
    assert key(c, OPEN) == "error"
    assert not c.at_rest
    key(c, "wait:59")
    assert key(c, OPEN) == "error"
    key(c, "wait:60")
    assert key(c, OPEN) == "ok"


def test_ones_own_pin() -> None:
    c = new(LETTERS)
    key(c, OPEN + " A A 0 1 7 7 3 0 2 6 4 OK D D")
    swap = "D C 7 3 0 2 6 4 OK 8 6 0 4 9 5 OK 8 6 0 4 9 5 OK"
    assert key(c, swap) == "error"
    key(c, OPEN + " OK 1 4 1 OK D D")
    assert key(c, swap) == "ok"
    assert key(c, "7 3 0 2 6 4 OK") == "error"
    assert key(c, "8 6 0 4 9 5 OK") == "open"


def test_a_factory_reset_keeps_what_the_grammar_says() -> None:
    c = new(LETTERS)
    key(c, OPEN + " D C 3 0 2 0 3 2 6 0 9 3 0 OK A A 0 1 7 7 3 0 2 6 4 OK OK 9 9 9 9 OK OK")
    found = c.memory.content()
    assert found == Content(
        settings=factory_content(LETTERS).settings,
        codes=factory_content(LETTERS).codes,
        clock="2026-03-02T09:30",
    )
    assert c.at_rest


def test_weekly_times_and_holidays() -> None:
    c = new(LETTERS)
    key(c, OPEN + " D B 2 1 5 0 7 0 0 1 9 0 0 OK D C 1 2 5 1 2 2 6 OK")
    found = c.memory.content()
    assert found.times == {2: tuple((d, 420, 1140) for d in range(5))}
    assert found.holidays == ("2026-12-25",)
    assert key(c, "D B 2 5 1 0 7 0 0 1 9 0 0 OK") == "error"
    key(c, "D C 0 2 OK D C 2 OK")
    assert (c.memory.content().times, c.memory.content().holidays) == ({}, ())


def test_the_display_shows_places_and_hides_codes() -> None:
    c = new(MENUS)
    key(c, "✓ 3 6 9 0 ✓ ✓ ▼ ✓")
    assert c.press(Press("key", "1")).shows == "PLACE? 1"
    assert c.press(Press("key", "7")).shows == "PLACE? 17"
    assert c.press(Press("key", "✓")).shows == "CODE?"
    assert c.press(Press("key", "7")).shows == "CODE? *"


def test_menus_go_round_and_back() -> None:
    c = new(MENUS)
    key(c, "✓ 3 6 9 0 ✓")
    seen = []
    for _ in range(5):
        seen.append(c.state)
        key(c, "▼")
    assert seen == ["top/PEOPLE", "top/DOOR", "top/ALARM", "top/TIMES", "top/UNIT"]
    assert c.state == "top/PEOPLE"
    key(c, "▲ ◄")
    assert c.at_rest


def test_a_used_place_is_replaced_where_the_grammar_says_so() -> None:
    c = new(MENUS)
    key(c, "✓ 3 6 9 0 ✓ ✓ ▼ ✓ 1 7 ✓ 7 3 0 2 6 4 ✓")
    assert key(c, "1 7 ✓ 8 6 0 4 9 5 ✓") == "ok"
    assert users(c) == {17: User("860495")}


def test_the_button_and_the_card() -> None:
    c = new(BUTTON)
    assert key(c, "card:555") == "error"
    assert key(c, "case-button card:555") == "ok"
    assert key(c, "card:555 1 0 card:777") == "ok"
    assert key(c, "1 1 ☾ 7 3 0 2 6 4") == "ok"
    assert users(c) == {10: User(cards=("777",)), 11: User("730264")}
    assert key(c, "1 0 ☾ 8 6 0 4 9 5") == "ok", "one place holds one thing: the card is replaced"
    assert users(c)[10] == User("860495")
    assert key(c, "1 2 ☾ 7 3 0 2 6 4") == "ok", "a PIN moves from place to place"
    assert 11 not in users(c)
    assert key(c, "☾ ☾ 7 3 0 2 6 4") == "open"
    assert key(c, "case-button case-button case-button") == "ok"
    assert users(c) == {}


def test_half_a_combined_step_is_undone() -> None:
    """A step that gives PIN and card together leaves nothing where the card is refused."""
    from latchwork.codes.keypad.memory import memory_of
    from latchwork.codes.keypad.operations import Refused, perform

    memory = memory_of(Content(users={1: User(cards=("9",))}))
    values = {"place": "2", "pin": "730264", "card": "9"}
    with pytest.raises(Refused):
        perform(LETTERS, memory, ("add PIN", "add card"), values)
    assert memory.content().users == {1: User(cards=("9",))}
    assert memory.pins == {}
