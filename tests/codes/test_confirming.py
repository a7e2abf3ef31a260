"""Confirming sheets of paper, of which several may lie about: what each leads to, and what not."""

from __future__ import annotations

import datetime as dt

import pytest
from msgspec.structs import replace

from latchwork.cli.codes.open_sheets import left_lines
from latchwork.codes.access.times import parse_times
from latchwork.codes.access.touch import Touch, to_be_touched
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.confirming import confirmed, printed, sheet_of, unconfirmed
from latchwork.codes.keypad.job_sheet import ControllerSheet, controller_sheet
from latchwork.codes.keypad.overtaken import LeftBehind, left_behind
from latchwork.codes.register import changes as c
from latchwork.codes.register.places import settle
from latchwork.codes.register.register import Register
from latchwork.codes.secret import Secret
from tests.codes.sites import (
    DAY,
    GRAMMARS,
    SITE,
    as_written,
    could,
    entry,
    keyed_in,
    small_register,
)
from tests.codes.sites import FRIDAY_NOON as NOON

GRAMMAR = GRAMMARS["C1"]


def paper(register: Register, number: int) -> ControllerSheet:
    """Prints the next sheet, as the verb does: places first."""
    register.extend([entry(*settle(register, SITE, {"C1": GRAMMAR}, DAY))])
    made = controller_sheet(register, SITE, SITE.controllers["C1"], GRAMMAR, DAY)
    register.extend([entry(c.SheetMade("C1", number, made.sheet.ends_with))])
    return made


def newcomer(identity: str, name: str, pin: str) -> tuple[c.Change, ...]:
    return c.Person(identity, name, ("staff",)), c.PinGiven(identity, Secret(pin))


def test_a_printed_sheet_stays_what_it_was() -> None:
    register = small_register()
    made = paper(register, 1)
    register.extend([entry(c.PersonRemoved("P1"))])
    again = sheet_of(printed(register, "C1", None), GRAMMAR)
    assert again.presses == made.sheet.presses
    with pytest.raises(CodesError, match="no sheet was made"):
        printed(register, "C9", None)


def two_sheets() -> Register:
    """Ossi comes, sheet 1; Ossi leaves and Runa comes, sheet 2 with her in Ossi's place."""
    register = small_register()
    keyed_in(register)
    register.extend([entry(*newcomer("P20", "Ossi Vane", "730264"))])
    paper(register, 1)
    (place,) = (p for p, t in register.places["C1"].items() if t.person == "P20")
    assert place not in register.programmed["C1"].users
    gone = (c.PersonRemoved("P20"), *newcomer("P21", "Runa Teal", "518407"))
    register.extend([entry(*gone)])
    paper(register, 2)
    assert register.places["C1"][place].person == "P21"
    return register


def test_the_sheet_that_was_keyed_in_is_named_though_a_newer_one_was_printed() -> None:
    register = two_sheets()
    assert unconfirmed(register, "C1") == (1, 2)
    found = confirmed(register, "C1", GRAMMAR, 1)
    assert (found.number, found.stale) == (1, (2,))
    register.extend([entry(*found.changes)])
    held = register.programmed["C1"].users
    assert "730264" in {u.pin for u in held.values()}, "Ossi's, as sheet 1 says"
    assert "518407" not in {u.pin for u in held.values()}
    # Ossi left, and is in the unit under their own name; nobody else is told to stand there.
    told = could(register, "D1", NOON)
    assert told["Ossi"] == (False, True, "still keyed in")
    assert told["Runa"][:2] == (True, False)
    # Sheet 2 would give Runa a place that is not empty: it leads nowhere any more.
    with pytest.raises(CodesError, match=r"sheet 2 .* before another sheet was confirmed"):
        confirmed(register, "C1", GRAMMAR, 2)
    with pytest.raises(CodesError, match="holds what sheet 1 says already"):
        confirmed(register, "C1", GRAMMAR, 1)
    made = paper(register, 3)
    named = {made.names[s.place] for s in made.sheet.steps if s.place}
    assert named == {"Ossi Vane", "Runa Teal"}
    last = confirmed(register, "C1", GRAMMAR)
    assert (last.number, last.stale) == (3, ())
    register.extend([entry(*last.changes)])
    assert "Ossi" not in could(register, "D1", NOON)
    assert could(register, "D1", NOON)["Runa"] == (True, True, "")


def test_the_newer_sheet_confirmed_leaves_the_older_one_behind() -> None:
    register = two_sheets()
    register.extend([entry(*confirmed(register, "C1", GRAMMAR).changes)])
    assert unconfirmed(register, "C1") == ()
    with pytest.raises(CodesError, match="sheet 1 of C1 begins with what it held before"):
        confirmed(register, "C1", GRAMMAR, 1)


def test_a_sheet_stopped_at_is_gone_on_with_though_the_rest_was_printed() -> None:
    register = small_register()
    first = paper(register, 1)
    stop = next(i for i, s in enumerate(first.sheet.steps, 1) if s.place)
    register.extend([entry(*confirmed(register, "C1", GRAMMAR, steps=stop).changes)])
    paper(register, 2)
    found = confirmed(register, "C1", GRAMMAR, 1)
    assert found.steps == len(first.sheet.steps)
    register.extend([entry(*found.changes)])
    assert register.programmed["C1"] == first.sheet.ends_with
    with pytest.raises(CodesError, match="sheet 2 says already"):
        confirmed(register, "C1", GRAMMAR)


def test_a_leaver_who_stands_on_a_sheet_that_nobody_confirmed_is_to_be_keyed_out() -> None:
    register = small_register()
    keyed_in(register)
    register.extend([entry(*newcomer("P20", "Ossi Vane", "730264"))])
    assert to_be_touched(register, GRAMMARS, "P20") == ()
    paper(register, 1)
    (place,) = (p for p, t in register.places["C1"].items() if t.person == "P20")
    register.extend([entry(c.PersonRemoved("P20"))])
    assert to_be_touched(register, GRAMMARS, "P20") == (Touch("C1", place, "unknown"),)


def test_what_an_overtaken_sheet_may_have_left_behind_is_known() -> None:
    """Ossi and Wren come, sheet 1; both leave and Runa comes, sheet 2 with her in Ossi's place:
    if sheet 1 was keyed in, Wren's place is still as it says."""
    register = small_register()
    keyed_in(register)
    both = newcomer("P20", "Ossi Vane", "730264"), newcomer("P22", "Wren Sorrel", "951736")
    register.extend([entry(*both[0], *both[1])])
    paper(register, 1)
    places = {t.person: p for p, t in register.places["C1"].items()}
    gone = (c.PersonRemoved("P20"), c.PersonRemoved("P22"), *newcomer("P21", "Runa", "518407"))
    register.extend([entry(*gone)])
    paper(register, 2)
    assert left_behind(register, "C1", GRAMMAR) == (), (
        "either may have been keyed in: both are told of"
    )
    register.extend([entry(*confirmed(register, "C1", GRAMMAR).changes)])
    assert unconfirmed(register, "C1") == ()
    assert left_behind(register, "C1", GRAMMAR) == (LeftBehind(1, {places["P22"]: "P22"}),)
    # Whoever is keyed into that place later, or a reset, ends it; and so does another unit.
    register.extend([entry(*newcomer("P23", "Ines Tarn", "840613"))])
    paper(register, 3)
    assert places["P22"] in register.sheets["C1"][-1].made.content.users
    register.extend([entry(*confirmed(register, "C1", GRAMMAR).changes)])
    assert left_behind(register, "C1", GRAMMAR) == ()


@pytest.mark.parametrize(
    ("number", "said"),
    [
        (0, "no sheet 0 was printed for C1; expected 3 to 4"),
        (5, "no sheet 5 was printed for C1; expected 3 to 4"),
        (2, "sheet 2 of C1 was for the unit that hung there before; expected 3 to 4"),
    ],
)
def test_numbers_that_are_none(number: int, said: str) -> None:
    register = two_sheets()
    register.extend([entry(c.ControllerReplaced("C1"))])
    paper(register, 3)
    register.extend([entry(c.PersonRemoved("P21"))])
    paper(register, 4)
    with pytest.raises(CodesError, match=said):
        confirmed(register, "C1", GRAMMAR, number)


def changed(register: Register, *changes: c.Change) -> None:
    register.extend([entry(*changes)])


def test_days_and_hours_of_an_overtaken_sheet_are_known() -> None:
    """A holiday comes and the staff's Fridays go, sheet 1; both are taken back and Runa comes,
    sheet 2. If sheet 1 was keyed in, that day and Fridays still let nobody in. A later sheet that
    takes hours or days out clears them and gives them anew."""
    register = small_register()
    keyed_in(register)
    (number,) = register.programmed["C1"].times
    day = DAY + dt.timedelta(days=40)
    changed(register, c.Holiday(day), parse_times("office hours", "mon-thu 07:00-19:00"))
    paper(register, 1)
    changed(register, c.HolidayRemoved(day), parse_times("office hours", "mon-fri 07:00-19:00"))
    changed(register, *newcomer("P21", "Runa Teal", "518407"))
    paper(register, 2)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    (left,) = left_behind(register, "C1", GRAMMAR)
    assert left == LeftBehind(1, {}, holidays=(day.isoformat(),), fewer_times=(number,))
    behind, out = left_lines(register, "C1", GRAMMAR)
    assert f"the holiday {day}" in behind
    assert f"weekly times {number}" in out
    changed(register, c.Holiday(day), parse_times("office hours", "tue-fri 07:00-19:00"))
    paper(register, 3)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == ()


def test_what_an_overtaken_sheet_may_have_changed_in_place_is_known() -> None:
    """Juro, who has a PIN, gets a card, sheet 1; it is lost, and Tilo gets another PIN, sheet 2. If
    sheet 1 was keyed in, the lost card still opens: sheet 2 says nothing of Juro's place."""
    register = small_register()
    keyed_in(register)
    places = {t.person: p for p, t in register.places["C1"].items()}
    changed(register, c.Card("K90", "P4", "26-bit", 45 << 16 | 13000, 45, 13000, "45,13000"))
    paper(register, 1)
    changed(register, c.CardDropped("K90", lost=True), c.PinGiven("P2", Secret("730264")))
    paper(register, 2)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == (LeftBehind(1, {places["P4"]: "P4"}),)
    assert Touch("C1", places["P4"], "unknown") not in to_be_touched(register, GRAMMARS, "P2")
    # The next one gives him another card: that is refused, or whichever stands there goes.
    changed(register, c.Card("K91", "P4", "26-bit", 45 << 16 | 13001, 45, 13001, "45,13001"))
    paper(register, 3)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == ()
    # Where a place has room for two, both stand there.
    roomy = as_written("letter pairs", "most cards: 1", "most cards: 2")
    assert left_behind(register, "C1", roomy) == (LeftBehind(1, {places["P4"]: "P4"}),)


def test_whom_an_overtaken_sheet_may_have_taken_out_is_known() -> None:
    """Sefa leaves and Juro's card goes, sheet 1; that was a mistake, both are as before, and Runa
    comes, sheet 2. If sheet 1 was keyed in, Sefa's PIN and Juro's card open no more: no step of
    sheet 2 gives them back."""
    register = small_register()
    changed(register, c.Card("K90", "P4", "26-bit", 45 << 16 | 13000, 45, 13000, "45,13000"))
    keyed_in(register)
    places = {t.person: p for p, t in register.places["C1"].items()}
    sefa, pin = register.people["P5"], register.pins["P5"]
    changed(register, c.PersonRemoved("P5"), c.CardDropped("K90"))
    paper(register, 1)
    changed(register, sefa, c.PinGiven("P5", pin), c.PlaceTaken("C1", places["P5"], "P5", "all"))
    changed(register, c.Card("K91", "P4", "26-bit", 45 << 16 | 13000, 45, 13000, "45,13000"))
    changed(register, *newcomer("P21", "Runa Teal", "518407"))
    paper(register, 2)
    assert left_behind(register, "C1", GRAMMAR) == (), (
        "either may have been keyed in: both are told of"
    )
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    gone = {places["P5"]: "P5", places["P4"]: "P4"}
    assert left_behind(register, "C1", GRAMMAR) == (LeftBehind(1, {}, gone=gone),)
    (line,) = left_lines(register, "C1", GRAMMAR)
    assert "is in it no more" in line
    assert register.people["P5"].name in line
    # Another PIN for the one, and the other leaves: what comes of both is as that sheet says.
    changed(register, c.PinGiven("P5", Secret("730264")), c.PersonRemoved("P4"))
    paper(register, 3)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == ()


def test_hours_and_settings_of_an_overtaken_sheet_may_be_left_too() -> None:
    register = small_register()
    keyed_in(register)
    office, setup = register.times["office hours"], register.controllers["C1"]
    longer = replace(office, spans=(*office.spans, (5, 540, 720)))
    toggle = replace(setup, settings={**setup.settings, "relay 1 mode": "toggle"})
    changed(register, longer, toggle)
    paper(register, 1)
    changed(register, office, setup, c.PinGiven("P2", Secret("730264")))
    paper(register, 2)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == (LeftBehind(1, {}, (1,), ("relay 1 mode",)),)
    # Hours that lose a day are cleared first, and what is set is set.
    changed(register, replace(office, spans=office.spans[1:]), toggle)
    paper(register, 3)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == ()


def test_a_first_sheet_that_leaves_the_factory_codes_may_have_been_keyed_in_too() -> None:
    """The first sheet, overtaken by one from which Sefa has gone: with codes of its own the
    controller refuses the second one's first step, with those of the factory it takes it."""
    register = small_register()
    paper(register, 1)
    changed(register, c.PersonRemoved("P5"))
    paper(register, 2)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == ()
    register = small_register()
    register.codes.clear()
    paper(register, 1)
    place = next(p for p, t in register.places["C1"].items() if t.person == "P5")
    changed(register, c.PersonRemoved("P5"))
    paper(register, 2)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == (LeftBehind(1, {place: "P5"}),)


def test_a_sheet_from_the_factory_on_that_nobody_confirmed_is_told_of() -> None:
    """It leads to what the controller holds already; stopped at, it leaves next to nothing."""
    register = small_register()
    keyed_in(register)
    held = register.programmed["C1"]
    changed(register, c.SheetMade("C1", 1, held, from_reset=True))
    assert unconfirmed(register, "C1") == (1,)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert unconfirmed(register, "C1") == ()
    assert register.programmed["C1"] == held


def test_what_a_sheet_says_behind_the_step_it_was_stopped_at_has_changed_nothing() -> None:
    """Ossi comes, sheet 1; Runa comes too, sheet 2, stopped at before the first of them; Ossi
    leaves, sheet 3. If sheet 1 was keyed in, Ossi is in it still."""
    register = small_register()
    keyed_in(register)
    changed(register, *newcomer("P20", "Ossi Vane", "730264"))
    paper(register, 1)
    place = next(p for p, t in register.places["C1"].items() if t.person == "P20")
    changed(register, *newcomer("P21", "Runa Teal", "518407"))
    paper(register, 2)
    changed(register, *confirmed(register, "C1", GRAMMAR, steps=1).changes)
    changed(register, c.PersonRemoved("P20"))
    paper(register, 3)
    changed(register, *confirmed(register, "C1", GRAMMAR).changes)
    assert left_behind(register, "C1", GRAMMAR) == (LeftBehind(1, {place: "P20"}),)
