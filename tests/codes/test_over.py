"""What lies in the past asks for no sheet, unless it lets somebody in who should not be."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence

import pytest

from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.job_sheet import ControllerSheet, controller_sheet, wanting
from latchwork.codes.keypad.proof import prove
from latchwork.codes.keypad.wanted import is_over, wanted_content
from latchwork.codes.register import changes as c
from latchwork.codes.register.people import Draft
from latchwork.codes.register.places import settle
from latchwork.codes.register.register import Register
from tests.codes.sites import (
    DAY,
    FRIDAY_NOON,
    GRAMMARS,
    SITE,
    as_written,
    could,
    entry,
    small_register,
)

C1 = GRAMMARS["C1"]
WEEK = [DAY + dt.timedelta(n) for n in range(8)]
FRIDAY = FRIDAY_NOON.date()


def sheet(
    register: Register,
    day: dt.date,
    grammar: Grammar = C1,
    from_reset: bool = False,
    clock: str = "",
) -> ControllerSheet:
    register.extend([entry(*settle(register, SITE, {"C1": grammar}, day))])
    at = SITE.controllers["C1"]
    made = controller_sheet(register, SITE, at, grammar, day, from_reset, clock)
    assert prove(grammar, made.sheet).holds
    return made


def keyed(register: Register, *changes: c.Change, clock: str = "2026-03-02T08:00") -> None:
    """Everything keyed in on the first day of the week."""
    register.extend([entry(*changes)])
    made = sheet(register, DAY, clock=clock)
    register.extend([entry(c.Programmed("C1", made.sheet.ends_with))])


def wants(register: Register, day: dt.date) -> bool:
    settled = register.with_changes(settle(register, SITE, {"C1": C1}, day))
    asked = bool(wanting(settled, SITE, {"C1": C1}, day))
    assert asked == bool(sheet(register, day).sheet.steps), "the verbs tell the same"
    return asked


def whats(made: ControllerSheet) -> Sequence[str]:
    return [step.what for step in made.sheet.steps]


def test_a_holiday_that_has_passed_asks_for_nothing() -> None:
    register = small_register()
    keyed(register, c.Holiday(WEEK[2]), c.Holiday(WEEK[5]))
    assert not wants(register, WEEK[2])
    assert not wants(register, WEEK[3]), "one was, one is to come"
    assert not wants(register, WEEK[7]), "both were"
    # A new one is added to what is there, and nothing cleared for the one that was.
    register.extend([entry(c.Holiday(WEEK[6]))])
    made = sheet(register, WEEK[3])
    assert [w for w in whats(made) if "oliday" in w] == [f"Holiday {WEEK[6]:%Y-%m-%d}"]
    # Where one to come is to go, they are cleared, and the past one is not keyed in again.
    register.extend([entry(c.HolidayRemoved(WEEK[5]))])
    made = sheet(register, WEEK[3])
    assert [w for w in whats(made) if "oliday" in w] == ["No holidays", f"Holiday {WEEK[6]}"]
    # Nor is it after a reset that forgets them.
    assert made.sheet.ends_with.holidays == (WEEK[6].isoformat(),)
    made = sheet(register, WEEK[3], from_reset=True)
    assert made.sheet.ends_with.holidays == (WEEK[6].isoformat(),)


def test_a_holiday_without_a_year_comes_again_and_goes() -> None:
    """Kept as MM-DD it would keep people out on the same day of every year."""
    yearless = as_written(
        "letter pairs", "date: {digits: 6, as: DDMMYY}", "date: {digits: 4, as: DDMM}"
    )
    register = small_register()
    register.extend([entry(c.Holiday(FRIDAY))])
    made = sheet(register, DAY, yearless)
    assert made.sheet.ends_with.holidays == ("03-06",)
    register.extend([entry(c.Programmed("C1", made.sheet.ends_with))])
    assert "Enna" not in could(register, "D1", FRIDAY_NOON, {"C1": yearless})
    assert sheet(register, FRIDAY, yearless).sheet.steps == ()
    assert "No holidays" in whats(sheet(register, WEEK[5], yearless))
    # A last day without a year is none: the sheet says so and keys none in.
    until = c.Person("P3", "Enna Quill", ("staff",), None, FRIDAY)
    register.extend([entry(until)])
    made = sheet(register, DAY, yearless)
    assert ("until", ("Enna Quill",)) in {(n.code, n.who) for n in made.notes}
    assert not [u for u in made.sheet.ends_with.users.values() if u.until]


ENNA = c.Person("P3", "Enna Quill", ("staff",), None, WEEK[2])


def test_a_last_day_that_is_over_asks_for_nothing_where_the_controller_keeps_it() -> None:
    register = small_register()
    keyed(register, ENNA)
    assert not wants(register, WEEK[2])
    assert not wants(register, WEEK[3])
    assert "Enna" not in could(register, "D1", FRIDAY_NOON)
    assert ("over", ("Enna Quill",)) in {(n.code, n.who) for n in sheet(register, WEEK[3]).notes}
    # With the next sheet for anything else she goes along, and after a reset she is not keyed in.
    for made in (
        sheet(register, WEEK[3], clock="2026-03-05T08:00"),
        sheet(register, WEEK[3], from_reset=True),
    ):
        assert "Enna Quill" not in {made.names.get(p) for p in made.sheet.ends_with.users}
    register.extend([entry(c.PersonRemoved("P4"))])
    made = sheet(register, WEEK[3])
    named = {made.names[s.place] for s in made.sheet.steps if s.place}
    assert named == {"Enna Quill", "Juro Quill"}


@pytest.mark.parametrize(
    ("clock", "changes"),
    [
        ("", ()),
        ("2026-03-02T08:00", (c.PersonRemoved("P3"),)),
        ("2026-03-02T08:00", (c.CardDropped("K2", lost=True),)),
    ],
)
def test_they_are_keyed_out_where_they_could_come_in_or_were_taken_off(
    clock: str, changes: tuple[c.Change, ...]
) -> None:
    register = small_register()
    keyed(register, ENNA, clock=clock)
    register.extend([entry(*changes)])
    assert wants(register, WEEK[3])


def test_a_last_day_is_not_over_before_its_end() -> None:
    """Somebody's last day is a day of theirs; a controller that is told no year has every 6 March
    again."""
    kept, after = FRIDAY.isoformat(), FRIDAY + dt.timedelta(days=1)
    assert not is_over(kept, FRIDAY)
    assert is_over(kept, after)
    assert not is_over(kept[5:], after)


def test_somebody_may_come_for_one_day() -> None:
    draft = Draft(Register())
    person = draft.add_person("Ruda Stent", (), FRIDAY, FRIDAY)
    before = FRIDAY - dt.timedelta(days=1)
    with pytest.raises(CodesError):
        draft.change_person(person, valid_until=before)
    with pytest.raises(CodesError):
        draft.add_person("Tilo Quill", (), FRIDAY, before)
    assert draft.change_person(person, valid_from=before, valid_until=before).valid_until == before


@pytest.mark.parametrize("controller", ["C1", "D2.controller"])
def test_the_newest_cards_are_kept_where_there_is_no_room_for_all(controller: str) -> None:
    """The card that somebody was given last is the one in their hand; that others are left out is
    noted."""
    grammar, register = GRAMMARS[controller], small_register()
    room = grammar.manners.most_cards
    (place,) = (p for (at, p), who in register.owners.items() if (at, who) == (controller, "P1"))
    for number in range(room + 1):
        mine = [card.value for card in register.cards.values() if card.person == "P1"]
        made = wanted_content(register, SITE, SITE.controllers[controller], grammar, DAY)
        assert made.content.users[place].cards == tuple(map(str, mine[-room:]))
        assert ("cards" in {note.code for note in made.notes}) is (len(mine) > room)
        draft = Draft(register)
        draft.give_card("P1", "26-bit", 45 << 16 | number, 45, number, f"45,{number}")
        register.extend([entry(*draft.changes)])
