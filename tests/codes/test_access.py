"""Who may open what, and who could all the same."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterable
from dataclasses import replace

import msgspec
import pytest

from latchwork.codes.access.past import over_the_day, register_at
from latchwork.codes.access.rights import doors_of, may_open, valid_on
from latchwork.codes.access.times import allowed_at, parse_times, show_times
from latchwork.codes.access.when import day_alone, moments
from latchwork.codes.access.who import who_could
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.job_sheet import controller_sheet
from latchwork.codes.keypad.proof import prove
from latchwork.codes.keypad.wanted import Note
from latchwork.codes.register import changes as c
from latchwork.codes.register.people import Draft, find_person, to_be_touched
from latchwork.codes.register.places import settle
from latchwork.codes.register.register import Register, replay
from latchwork.codes.secret import Secret
from tests.codes.sites import AT, DAY, GRAMMARS, NAMES, SITE, entry, small_register

FRIDAY_19 = dt.datetime(2026, 3, 6, 18, 0, tzinfo=dt.UTC)
FRIDAY_NOON = dt.datetime(2026, 3, 6, 11, 0, tzinfo=dt.UTC)


def keyed_in(register: Register, controllers: Iterable[str] = GRAMMARS) -> tuple[Note, ...]:
    """Confirms a sheet at every controller. Returns what the sheets note."""
    notes: tuple[Note, ...] = ()
    for controller in controllers:
        at, grammar = SITE.controllers[controller], GRAMMARS[controller]
        made = controller_sheet(register, SITE, at, grammar, DAY)
        register.extend([entry(c.Programmed(controller, made.sheet.ends_with))])
        notes += made.notes
    return notes


def could(register: Register, door: str, at: dt.datetime) -> dict[str, tuple[bool, bool, str]]:
    return {
        p.name.split()[0]: (p.may, p.can, p.why)
        for p in who_could(register, SITE, GRAMMARS, door, at)
    }


@pytest.mark.parametrize(
    ("text", "spans"),
    [
        ("mon 08:00-12:00", ((0, 480, 720),)),
        ("sat-mon 8:00-9:00", ((0, 480, 540), (5, 480, 540), (6, 480, 540))),
        ("fri 22:00-02:00", ((4, 1320, 1440), (5, 0, 120))),
        ("sun 22:00-06:00", ((0, 0, 360), (6, 1320, 1440))),
        ("mon 08:00-10:00, mon 10:00-12:00", ((0, 480, 720),)),
        ("tue 00:00-24:00", ((1, 0, 1440),)),
    ],
)
def test_weekly_times(text: str, spans: tuple[tuple[int, int, int], ...]) -> None:
    times = parse_times("t", text)
    assert times.spans == spans
    assert parse_times("t", show_times(times)) == times


@pytest.mark.parametrize(
    "text", ["", "mon", "mon 25:00-26:00", "xyz 08:00-09:00", "mon 8-9", "holidays 09:00-08:00"]
)
def test_what_are_no_times(text: str) -> None:
    with pytest.raises(CodesError):
        parse_times("t", text)


def test_on_a_holiday_only_holiday_hours_hold() -> None:
    register = Register()
    register.extend(
        [entry(parse_times("t", "mon-sun 08:00-18:00, holidays 10:00-12:00"), c.Holiday(DAY))]
    )
    at = dt.datetime(2026, 3, 2, 8, 0, tzinfo=SITE.zone)
    assert not allowed_at(register, "t", at, SITE.zone)
    assert allowed_at(register, "t", at.replace(hour=10), SITE.zone)
    assert not allowed_at(register, "t", at.replace(hour=12), SITE.zone)
    assert allowed_at(register, "t", at + dt.timedelta(days=1), SITE.zone)


def test_a_span_holds_up_to_its_end() -> None:
    register = Register()
    register.extend([entry(parse_times("t", "fri 08:00-19:00"))])
    assert allowed_at(register, "t", FRIDAY_19 - dt.timedelta(minutes=1), SITE.zone)
    assert not allowed_at(register, "t", FRIDAY_19, SITE.zone)


def test_dates_count_in_the_sites_zone() -> None:
    person = c.Person("P1", "Mara", (), DAY, DAY)
    assert [valid_on(person, DAY + dt.timedelta(days=d)) for d in (-1, 0, 1)] == [
        False,
        True,
        False,
    ]
    register = small_register()
    keeper = msgspec.structs.replace(register.people["P1"], valid_until=DAY)
    late = dt.datetime(2026, 3, 2, 23, 30, tzinfo=dt.UTC)  # 00:30 of the 3rd in Berlin
    assert not may_open(register, SITE, keeper, "D2", late)
    assert may_open(register, SITE, keeper, "D2", late - dt.timedelta(hours=1))


def test_always_drowns_hours() -> None:
    register = small_register()
    both = msgspec.structs.replace(register.people["P2"], groups=("staff", "keepers"))
    assert doors_of(register, SITE, both)["D1"] == {"always"}


def test_who_could_open_the_archive_on_friday_at_19() -> None:
    register = small_register()
    keyed_in(register)
    assert could(register, "D2", FRIDAY_19) == {
        "Mara": (True, True, ""),
        "Sefa": (True, True, ""),
    }


def test_hours_hold_where_the_controller_keeps_them() -> None:
    register = small_register()
    keyed_in(register)
    assert set(could(register, "D1", FRIDAY_19)) == {"Mara", "Sefa"}
    assert len(could(register, "D1", FRIDAY_NOON)) == 8
    loft = could(register, "D3", FRIDAY_19)
    assert loft["Tilo"] == (False, True, "hours not kept")
    assert loft["Mara"] == (True, True, "")


def test_a_leaver_could_until_they_are_keyed_out() -> None:
    register = small_register()
    keyed_in(register)
    register.extend([entry(c.PersonRemoved("P1"))])
    assert could(register, "D2", FRIDAY_19)["Mara"] == (False, True, "still keyed in")
    register.extend([entry(*settle(register, SITE, GRAMMARS, DAY))])
    keyed_in(register)
    assert set(could(register, "D2", FRIDAY_19)) == {"Sefa"}


def test_somebody_not_keyed_in_yet_may_but_cannot() -> None:
    register = small_register()
    keyed_in(register)
    register.extend([entry(c.Person("P20", "Ruda Stent", ("keepers",)))])
    assert could(register, "D2", FRIDAY_19)["Ruda"] == (True, False, "no card or PIN")


def test_a_lost_card_opens_until_it_is_keyed_out() -> None:
    """Not for the person, who is left without: for whoever has the card."""
    register = small_register()
    register.extend([entry(c.PinDropped("P1"))])
    register.extend([entry(*settle(register, SITE, GRAMMARS, DAY))])
    keyed_in(register)
    register.extend([entry(c.CardDropped("K1", lost=True))])
    for door in ("D1", "D3"):
        mara = told_of(register, door, "Mara")
        assert mara == {(True, False, "no card or PIN"), (False, True, "lost card")}
    # The archive asks for card and PIN, and whoever has the card knows no PIN.
    assert told_of(register, "D2", "Mara") == {(True, False, "no card or PIN")}
    register.extend([entry(*settle(register, SITE, GRAMMARS, DAY))])
    keyed_in(register)
    assert told_of(register, "D1", "Mara") == {(True, False, "no card or PIN")}


def test_a_card_that_was_handed_in_opens_for_nobody() -> None:
    register = small_register()
    register.extend([entry(c.PinDropped("P1"))])
    register.extend([entry(*settle(register, SITE, GRAMMARS, DAY))])
    keyed_in(register)
    register.extend([entry(c.CardDropped("K1"))])
    assert told_of(register, "D1", "Mara") == {(True, False, "no card or PIN")}


def test_a_lost_card_beside_a_pin() -> None:
    register = small_register()
    keyed_in(register)
    register.extend([entry(c.CardDropped("K1", lost=True))])
    assert told_of(register, "D1", "Mara") == {(True, True, ""), (False, True, "lost card")}
    assert told_of(register, "D2", "Mara") == {(True, False, "no card")}


MODES = {"card": "C B", "PIN": "P B", "card or PIN": "C P B", "card and PIN": "B"}


@pytest.mark.parametrize("mode", MODES)
def test_who_gets_in_hangs_on_what_the_door_asks_for(mode: str) -> None:
    """Somebody with a card, one with a PIN, one with both; the sheet says the same beforehand."""
    register = with_card_pin_and_both(
        c.ControllerSetUp("C1", NAMES["C1"], 6, {"access mode": mode})
    )
    notes = keyed_in(register, ["C1"])
    found = could(register, "D1", FRIDAY_NOON)
    assert {name for name, (may, _, _) in found.items() if may} == {"C", "P", "B"}
    assert {name for name, (_, can, _) in found.items() if can} == set(MODES[mode].split())
    outside = {(name, why) for name, (_, can, why) in found.items() if not can}
    lacking = {n.code: n.who for n in notes if n.code in ("no card", "no PIN")}
    assert {(name, code) for code, who in lacking.items() for name in who} == outside


def test_a_pin_that_does_not_fit_opens_nothing() -> None:
    register = with_card_pin_and_both(c.ControllerSetUp("C1", NAMES["C1"], 4))
    keyed_in(register, ["C1"])
    found = could(register, "D1", FRIDAY_NOON)
    assert found == {
        "B": (True, True, ""),
        "C": (True, True, ""),
        "P": (True, False, "no card or PIN"),
    }


def test_codes_that_are_alike_open_for_both() -> None:
    """Above the bits that a controller keeps, and with a PIN that was given twice."""
    register = small_register()
    card = msgspec.structs.replace(
        register.cards["K1"], id="K90", person="P2", value=1 << 36 | register.cards["K1"].value
    )
    register.extend([entry(card, c.PinGiven("P4", register.pins["P1"]))])
    keyed_in(register)
    found = could(register, "D4", FRIDAY_NOON)  # the yard, which is the keepers' alone
    assert found["Tilo"] == found["Juro"] == (False, True, "as another")


def with_card_pin_and_both(setup: c.ControllerSetUp) -> Register:
    """C with a card, P with a PIN of six digits, B with both, and a controller for D1."""
    register = Register()
    register.extend([entry(c.Group("staff", (c.Grant("D1"),)), setup)])
    draft = Draft(register)
    for number, name in enumerate("CPB"):
        person = draft.add_person(name, ("staff",))
        if name != "C":
            draft.give_pin(person.id, 6)
        if name != "P":
            draft.give_card(person.id, "26-bit", 45 << 16 | number, 45, number, f"45,{number}")
    register.extend([entry(*draft.changes)])
    register.extend([entry(*settle(register, SITE, {"C1": GRAMMARS["C1"]}, DAY))])
    return register


def told_of(register: Register, door: str, name: str) -> set[tuple[bool, bool, str]]:
    """What is told of one person; of a lost card besides."""
    everybody = who_could(register, SITE, GRAMMARS, door, FRIDAY_NOON)
    return {(p.may, p.can, p.why) for p in everybody if p.name.startswith(name)}


def test_nothing_is_claimed_of_an_unknown_controller() -> None:
    assert could(small_register(), "D2", FRIDAY_19)["Mara"] == (True, False, "controller unknown")


def test_a_shared_controller_tells_its_doors_apart_by_relay() -> None:
    register = small_register()
    keyed_in(register)
    assert set(could(register, "D4", FRIDAY_NOON)) == {"Mara", "Sefa"}
    users = register.programmed["C1"].users
    relays = {register.owners["C1", place]: user.relay for place, user in users.items()}
    assert relays["P1"] == "both"
    assert relays["P2"] == "1"


def test_a_leaver_says_every_controller_to_touch() -> None:
    register = small_register()
    keyed_in(register)
    touched = to_be_touched(register, "P1")
    assert [(t.controller, t.holds) for t in touched] == [
        ("C1", "PIN and card"),
        ("D2.controller", "PIN and card"),
        ("D3.controller", "PIN"),
        ("D3.controller", "card"),
    ]
    register.extend([entry(c.PersonRemoved("P1"))])
    assert to_be_touched(register, "P1") == touched


def test_a_freed_place_goes_last_to_somebody_else() -> None:
    register = small_register()
    keyed_in(register)
    place = next(p for p, t in register.places["C1"].items() if t.person == "P1")
    register.extend([entry(c.PersonRemoved("P1"))])
    draft = Draft(register)
    person = draft.add_person("Ruda Stent", ("staff",))
    draft.give_pin(person.id, 6)
    register.extend([entry(*draft.changes)])
    changes = settle(register, SITE, {"C1": GRAMMARS["C1"]}, DAY)
    taken = [x.place for x in changes if isinstance(x, c.PlaceTaken)]
    assert taken
    assert place not in taken


def test_the_job_file_says_how_many_places_there_are() -> None:
    register = small_register()
    controllers = {**SITE.controllers, "C1": replace(SITE.controllers["C1"], places=8)}
    site = replace(SITE, controllers=controllers)
    draft = Draft(register)
    person = draft.add_person("Ruda Stent", ("staff",))
    draft.give_pin(person.id, 6)
    register.extend([entry(*draft.changes)])
    with pytest.raises(CodesError, match="C1 is full: it has places 1 to 8, and 9 are needed"):
        settle(register, site, {"C1": GRAMMARS["C1"]}, DAY)


def test_hours_keep_their_number_when_others_come() -> None:
    register = small_register()
    keyed_in(register)
    before = dict(register.programmed["C1"].times)
    night = c.Group("night", (c.Grant("D1", "a night shift"),))
    register.extend([entry(parse_times("a night shift", "mon 22:00-24:00"), night)])
    draft = Draft(register)
    draft.give_pin(draft.add_person("Ruda Stent", ("night",)).id, 6)
    register.extend([entry(*draft.changes)])
    register.extend([entry(*settle(register, SITE, {"C1": GRAMMARS["C1"]}, DAY))])
    keyed_in(register)
    after = register.programmed["C1"].times
    assert {n: after[n] for n in before} == before
    assert len(after) == 2


def test_changed_hours_keep_their_number() -> None:
    """Cleared and written again: six people need no line of their own."""
    register = small_register()
    keyed_in(register)
    register.extend([entry(parse_times("office hours", "mon-fri 08:00-18:00"))])
    made = controller_sheet(register, SITE, SITE.controllers["C1"], GRAMMARS["C1"], DAY)
    assert [s.what for s in made.sheet.steps[1:-1]] == [
        "Weekly times 1: none",
        "Weekly times 1: mon to fri, 08:00 to 18:00",
    ]
    assert prove(made.grammar, made.sheet).holds
    # Hours that change hands keep their numbers, and the people change.
    night = c.Group("night", (c.Grant("D1", "nights"),))
    register = small_register()
    half = [msgspec.structs.replace(register.people[p], groups=("night",)) for p in ("P2", "P3")]
    register.extend([entry(parse_times("nights", "mon 22:00-24:00"), night, *half)])
    keyed_in(register)
    held = register.programmed["C1"]
    swapped = parse_times("nights", "mon-fri 07:00-19:00")
    register.extend([entry(swapped, parse_times("office hours", "mon 22:00-24:00"))])
    keyed_in(register)
    after = register.programmed["C1"]
    assert after.times == held.times
    changed = [p for p, u in after.users.items() if u.times != held.users[p].times]
    assert len(changed) == 6


def test_somebody_suspended_keeps_their_place() -> None:
    register = small_register()
    keyed_in(register)
    mara = register.people["P1"]
    place = next(p for p, t in register.places["C1"].items() if t.person == "P1")
    register.extend([entry(msgspec.structs.replace(mara, suspended=True))])
    assert settle(register, SITE, GRAMMARS, DAY) == []
    assert could(register, "D2", FRIDAY_19)["Mara"] == (False, True, "still keyed in")
    keyed_in(register)
    assert place not in register.programmed["C1"].users
    register.extend([entry(mara)])
    assert settle(register, SITE, GRAMMARS, DAY) == []
    keyed_in(register)
    assert place in register.programmed["C1"].users


def test_a_full_controller_says_so() -> None:
    register = small_register()
    draft = Draft(register)
    for i in range(100):
        person = draft.add_person(f"Guest {i}", ("staff",))
        draft.give_pin(person.id, 6)
    register.extend([entry(*draft.changes)])
    with pytest.raises(CodesError, match=r"D3\.controller is full"):
        settle(register, SITE, GRAMMARS, DAY)


@pytest.mark.parametrize(
    ("text", "local"),
    [
        ("friday 19:00", "2026-03-06T19:00"),
        ("mon 07:30", "2026-03-02T07:30"),
        ("today 07:30", "2026-03-02T07:30"),
        ("tomorrow 7:30", "2026-03-03T07:30"),
        ("2026-07-01 12:00", "2026-07-01T12:00"),
        ("yesterday 22:30", "2026-03-01T22:30"),
        ("last friday 19:00", "2026-02-27T19:00"),
        ("last monday 19:00", "2026-02-23T19:00"),
    ],
)
def test_moments_as_people_say_them(text: str, local: str) -> None:
    now = dt.datetime(2026, 3, 2, 8, 0, tzinfo=dt.UTC)
    (found,) = moments(text, now, SITE.zone)
    assert found.astimezone(SITE.zone).isoformat()[:16] == local


@pytest.mark.parametrize(
    "text",
    ["", "friday", "someday 19:00", "friday 24:00", "2026-02-30 10:00", "last week 10:00"],
)
def test_what_is_no_moment(text: str) -> None:
    with pytest.raises(CodesError, match="no moment"):
        moments(text, dt.datetime(2026, 3, 2, tzinfo=dt.UTC), SITE.zone)


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("yesterday", "2026-03-01"),
        ("last friday", "2026-02-27"),
        ("2025-12-24", "2025-12-24"),
        ("friday", "2026-03-06"),
        ("friday 19:00", "None"),
        ("now", "None"),
    ],
)
def test_days_alone(text: str, day: str) -> None:
    now = dt.datetime(2026, 3, 2, 8, 0, tzinfo=dt.UTC)
    assert str(day_alone(text, now, SITE.zone)) == day


def dated_log() -> list[c.Entry]:
    """Mara is keyed in on the 2nd and leaves on the 4th at 12:00; Ruda comes in her stead."""
    register = small_register()
    log = [entry(*register_as_changes(register))]
    keyed_in(register, ["D2.controller"])
    log.append(entry(c.Programmed("D2.controller", register.programmed["D2.controller"])))
    leaves = dt.datetime(2026, 3, 4, 11, 0, tzinfo=dt.UTC)
    ruda = c.Person("P20", "Ruda Stent", ("keepers",))
    log.append(c.Entry(leaves, "H1", "test", (c.PersonRemoved("P1"), ruda)))
    return log


def register_as_changes(register: Register) -> list[c.Change]:
    parts = (register.groups, register.times, register.controllers, register.people, register.cards)
    pins = [c.PinGiven(p, pin) for p, pin in register.pins.items()]
    places = [taken for held in register.places.values() for taken in held.values()]
    return [*(change for part in parts for change in part.values()), *pins, *places]


def test_a_past_night_is_answered_by_the_register_of_that_night() -> None:
    log = dated_log()
    night = dt.datetime(2026, 3, 3, 22, 0, tzinfo=dt.UTC)
    then = register_at(log, night, SITE.zone)
    assert could(then, "D2", night) == {"Mara": (True, True, ""), "Sefa": (True, True, "")}
    today = could(replay(log), "D2", night)
    assert today["Mara"] == (False, True, "still keyed in")
    assert today["Ruda"] == (True, False, "no card or PIN")
    with pytest.raises(CodesError, match="begins on 2026-03-02 at 09:00: who could open"):
        register_at(log, AT - dt.timedelta(minutes=1), SITE.zone)


def test_a_whole_day_tells_of_everybody_at_some_time_of_it() -> None:
    def over(door: str, day: int) -> set[tuple[str, bool, bool, str]]:
        found = over_the_day(log, SITE, lambda _: GRAMMARS, door, DAY.replace(day=day))
        return {(p.name.split()[0], p.may, p.can, p.why) for p in found}

    log = dated_log()
    both = {("Mara", True, True, ""), ("Sefa", True, True, "")}
    assert over("D2", 3) == both
    assert over("D2", 4) == {
        *both,
        ("Mara", False, True, "still keyed in"),
        ("Ruda", True, False, "no card or PIN"),
    }
    # The street door has office hours from Monday to Friday; nothing is confirmed of it.
    assert ("Tilo", True, False, "controller unknown") in over("D1", 6)
    assert "Tilo" not in {name for name, *_ in over("D1", 7)}
    with pytest.raises(CodesError, match="before that is not known"):
        over("D2", 1)


def test_an_old_pin_opens_for_whoever_knows_it_until_it_is_keyed_out() -> None:
    register = small_register()
    keyed_in(register)
    register.extend([entry(c.PinGiven("P1", Secret("736281")))])
    assert told_of(register, "D1", "Mara") == {(True, True, ""), (False, True, "old PIN")}
    # The archive asks for a card too, and whoever knows the PIN has none.
    assert told_of(register, "D2", "Mara") == {(True, True, "")}
    keyed_in(register)
    assert told_of(register, "D1", "Mara") == {(True, True, "")}


def test_one_set_of_hours_for_two_doors_is_told() -> None:
    """Office hours at the street door, always at the yard, and one controller for both."""
    register = small_register()
    grants = (c.Grant("D1", "office hours"), c.Grant("D4"))
    register.extend([entry(c.Group("staff", grants))])
    notes = keyed_in(register, ["C1"])
    (note,) = [n for n in notes if n.code == "door hours"]
    assert (note.who[0], len(note.who), note.detail) == ("Tilo Quill", 6, "Street door")
    assert could(register, "D1", FRIDAY_19)["Tilo"] == (False, True, "hours of another door")
    assert could(register, "D4", FRIDAY_19)["Tilo"] == (True, True, "")


def test_the_same_hours_at_two_doors_are_not_told() -> None:
    register = small_register()
    grants = (c.Grant("D1", "office hours"), c.Grant("D4", "the same"))
    times = parse_times("the same", "mon-fri 07:00-19:00")
    register.extend([entry(times, c.Group("staff", grants))])
    assert "door hours" not in {n.code for n in keyed_in(register, ["C1"])}


def test_why_somebody_could_is_what_the_controller_does() -> None:
    """The shared controller keeps hours and days; it goes by what was keyed in last."""
    register = small_register()
    keyed_in(register, ["C1"])
    early = c.Person("P2", "Tilo Quill", ("staff",), valid_from=DAY.replace(month=5))
    gone = c.Person("P4", "Juro Quill", ("staff",), valid_until=DAY)
    shorter = parse_times("office hours", "mon-fri 07:00-11:00")
    register.extend([entry(early, gone, shorter)])
    found = could(register, "D1", FRIDAY_NOON)
    assert found["Tilo"] == (False, True, "first day to come")
    assert found["Juro"] == (False, True, "change not keyed in")
    assert found["Enna"] == (False, True, "change not keyed in")
    register.extend([entry(c.Holiday(FRIDAY_NOON.date()))])
    assert could(register, "D1", FRIDAY_NOON)["Enna"] == (False, True, "change not keyed in")


def test_people_are_found_by_part_of_their_name() -> None:
    register = small_register()
    assert find_person(register, "P3").name == "Enna Quill"
    assert find_person(register, "enna").id == "P3"
    with pytest.raises(CodesError, match="could be"):
        find_person(register, "quill")
    with pytest.raises(CodesError, match="nobody is called"):
        find_person(register, "Enno Kwill")


def test_a_lost_number_is_never_given_again() -> None:
    register = small_register()
    card = register.cards["K1"]
    with pytest.raises(CodesError, match="in use already"):
        Draft(register).give_card("P2", "26-bit", card.value, 45, 12000, "45,12000")
    register.extend([entry(c.CardDropped("K1", lost=True))])
    with pytest.raises(CodesError, match="lost once"):
        Draft(register).give_card("P2", "26-bit", card.value, 45, 12000, "45,12000")


def test_the_card_that_opens_programming_is_nobodys() -> None:
    with pytest.raises(CodesError, match=r"123,62528 opens programming at D3\.controller"):
        Draft(small_register()).give_card("P2", "26-bit", 8123456, 123, 62528, "123,62528")
