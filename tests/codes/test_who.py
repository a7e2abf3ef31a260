"""Who could open what and when: by what people hold and by what is in the controllers."""

from __future__ import annotations

import dataclasses
import datetime as dt
import zoneinfo

import msgspec
import pytest

from latchwork.codes.access.past import over_the_day, register_at
from latchwork.codes.access.times import parse_times
from latchwork.codes.access.who import who_could
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.setup import missing
from latchwork.codes.register import changes as c
from latchwork.codes.register.people import Draft
from latchwork.codes.register.places import settle
from latchwork.codes.register.register import Register, replay
from latchwork.codes.secret import Secret
from tests.codes.sites import (
    AT,
    DAY,
    FRIDAY_19,
    FRIDAY_NOON,
    GRAMMARS,
    NAMES,
    SITE,
    as_written,
    could,
    entry,
    keyed_in,
    small_register,
)


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
    # Nobody else's place is named for her.
    places = {p.person: p.place for p in who_could(register, SITE, GRAMMARS, "D2", FRIDAY_19)}
    assert places["P20"] == 0
    at_d2 = {who: p for (at, p), who in register.owners.items() if at == "D2.controller"}
    assert places["P1"] == at_d2["P1"]


@pytest.mark.parametrize("finger", [True, False])
def test_a_finger_opens_without_card_or_pin(finger: bool) -> None:
    register = small_register()
    keyed_in(register)
    content = register.programmed["C1"]
    (place,) = (p for (at, p), who in register.owners.items() if (at, who) == ("C1", "P1"))
    alone = msgspec.structs.replace(content.users[place], pin="", cards=(), finger=finger)
    users = {**content.users, place: alone}
    register.programmed["C1"] = msgspec.structs.replace(content, users=users)
    assert could(register, "D1", FRIDAY_NOON)["Mara"][:2] == (True, finger)


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
        found = over_the_day(log, SITE, lambda _: GRAMMARS, door, DAY.replace(day=day), AT)
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
    # On a holiday their hours are from 10 to 12.
    shorter = parse_times("office hours", "mon-fri 07:00-19:00, holidays 10:00-12:00")
    log.append(entry(shorter, c.Holiday(DAY.replace(day=6))))
    assert ("Tilo", True, False, "controller unknown") in over("D1", 6)


@pytest.mark.parametrize(
    ("zone", "day", "hours"),
    [
        # The tz database: Berlin goes from 02:00 to 03:00 on the last Sunday in March, Cairo from
        # 00:00 to 01:00 on the last Friday in April (since 2023), so that its day begins at 01:00.
        ("Europe/Berlin", dt.date(2026, 3, 29), "sun 02:15-03:10"),
        ("Africa/Cairo", dt.date(2026, 4, 24), "fri 00:00-06:00"),
    ],
)
def test_a_whole_day_whose_clock_leaves_out_when_hours_begin(
    zone: str, day: dt.date, hours: str
) -> None:
    site = dataclasses.replace(SITE, zone=zoneinfo.ZoneInfo(zone))
    log = [*dated_log(), entry(parse_times("office hours", hours))]
    found = over_the_day(log, site, lambda _: GRAMMARS, "D1", day, AT)
    assert "Tilo Quill" in {p.name for p in found if p.may}


def test_an_old_pin_opens_for_whoever_knows_it_until_it_is_keyed_out() -> None:
    register = small_register()
    keyed_in(register)
    register.extend([entry(c.PinGiven("P1", Secret("736281")))])
    assert told_of(register, "D1", "Mara") == {(True, True, ""), (False, True, "old PIN")}
    # The archive asks for a card too, and whoever knows the PIN has none.
    assert told_of(register, "D2", "Mara") == {(True, True, "")}
    keyed_in(register)
    assert told_of(register, "D1", "Mara") == {(True, True, "")}


def test_a_lost_card_and_an_old_pin_open_together() -> None:
    """For whoever has both, where the door asks for both; elsewhere each does alone."""
    register = small_register()
    keyed_in(register)
    register.extend([entry(c.PinGiven("P1", Secret("736281")))])
    register.extend([entry(c.CardDropped("K1", lost=True))])
    assert told_of(register, "D2", "Mara") == {
        (True, False, "no card"),
        (False, True, "lost card and old PIN"),
    }
    apart = {(False, True, "lost card"), (False, True, "old PIN")}
    assert told_of(register, "D1", "Mara") == {(True, True, ""), *apart}


def test_a_card_that_was_passed_on_and_lost_opens_for_its_finder_alone() -> None:
    register = small_register()
    register.extend([entry(c.PinDropped("P1"))])
    keyed_in(register, ["C1"])
    register.extend([entry(c.PersonRemoved("P1"))])
    assert told_of(register, "D1", "Mara") == {(False, True, "still keyed in")}
    ruda = c.Person("P20", "Ruda Stent", ("keepers",))
    card = msgspec.structs.replace(register.left_cards["K1"], id="K90", person="P20")
    register.extend([entry(ruda, card, c.CardDropped("K90", lost=True))])
    assert told_of(register, "D1", "Ruda") >= {(False, True, "lost card")}
    assert told_of(register, "D1", "Mara") == set()


def test_a_card_that_was_passed_on_and_handed_in_opens_for_nobody() -> None:
    register = small_register()
    keyed_in(register, ["C1"])
    register.extend([entry(c.PinDropped("P1"), c.PersonRemoved("P1"))])
    keyed_in(register, ["C1"])
    register.extend([entry(c.Person("P20", "Ruda Stent", ("keepers",)))])
    card = c.Card("K90", "P20", "26-bit", 45 << 16 | 12000, 45, 12000, "45,12000")
    register.extend([entry(card)])
    register.extend([entry(*settle(register, SITE, GRAMMARS, DAY))])
    keyed_in(register, ["C1"])
    assert told_of(register, "D1", "Ruda") == {(True, True, "")}
    # It lies in the office's drawer now: Mara, who had it first, has not got it back.
    register.extend([entry(c.CardDropped("K90"))])
    assert told_of(register, "D1", "Mara") == set()


def test_a_card_that_the_reader_format_shuts_out_opens_nothing() -> None:
    """The same people as the sheet names."""
    register = small_register()
    keyed_in(register)
    assert could(register, "D2", FRIDAY_19)["Mara"] == (True, True, "")
    register.extend(
        [entry(c.ControllerSetUp("D2.controller", "menus", 6, {"reader format": "34"}))]
    )
    notes = keyed_in(register, ["D2.controller"])
    (note,) = [n for n in notes if n.code == "reader format"]
    found = who_could(register, SITE, GRAMMARS, "D2", FRIDAY_19)
    assert {(p.name, p.can, p.why) for p in found} == {
        (name, False, "card not read") for name in note.who
    }


def test_holiday_hours_are_kept_by_no_controller() -> None:
    """Whoever is keyed in and whoever is not: neither gets in by them."""
    register = small_register()
    keyed_in(register, ["C1"])
    hours = parse_times("office hours", "mon-fri 07:00-19:00, holidays 10:00-13:00")
    ruda = c.Person("P20", "Ruda Stent", ("staff",))
    pin = c.PinGiven("P20", Secret("736281"))
    register.extend([entry(hours, ruda, pin)])
    assert could(register, "D1", FRIDAY_NOON)["Ruda"] == (True, False, "not keyed in")
    register.extend([entry(c.Holiday(FRIDAY_NOON.date()))])
    notes = keyed_in(register, ["C1"])
    assert ("office hours",) in {n.who for n in notes if n.code == "holiday hours"}
    found = could(register, "D1", FRIDAY_NOON)
    assert found["Tilo"] == found["Ruda"] == (True, False, "holiday hours not kept")
    assert found["Mara"] == (True, True, "")


def test_on_a_holiday_one_set_of_hours_for_two_doors_is_still_the_reason() -> None:
    register = small_register()
    register.extend([entry(c.Group("staff", (c.Grant("D1", "office hours"), c.Grant("D4"))))])
    register.extend([entry(c.Holiday(FRIDAY_NOON.date()))])
    keyed_in(register, ["C1"])
    assert could(register, "D1", FRIDAY_NOON)["Tilo"] == (False, True, "hours of another door")


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


def test_a_controller_lets_somebody_in_through_their_last_day() -> None:
    register, friday = small_register(), FRIDAY_NOON.date()
    register.extend([entry(c.Person("P4", "Juro Quill", ("staff",), valid_until=friday))])
    keyed_in(register, ["C1"])
    assert could(register, "D1", FRIDAY_NOON)["Juro"] == (True, True, "")
    assert "Juro" not in could(register, "D1", FRIDAY_NOON + dt.timedelta(days=3))  # Monday


def test_why_somebody_could_is_what_the_controller_cannot_be_told() -> None:
    """Of one that knows places only: neither doors, nor hours, nor days."""
    register = small_register()
    grammars = {"C1": as_written("case button")}
    card = c.ControllerCode("C1", "master card", Secret("6538065"))
    register.extend([entry(c.ControllerSetUp("C1", "case button"), card)])
    register.extend([entry(*settle(register, SITE, grammars, DAY))])
    notes = keyed_in(register, grammars=grammars)
    assert "Tilo Quill" in next(n.who for n in notes if n.code == "relay")
    gone = c.Person("P4", "Juro Quill", ("staff",), valid_until=DAY)
    register.extend([entry(gone)])
    street, yard = (could(register, door, FRIDAY_19, grammars) for door in ("D1", "D4"))
    assert street["Tilo"] == (False, True, "hours not kept")
    assert street["Juro"] == (False, True, "last day not kept")
    assert yard["Tilo"] == (False, True, "doors not told apart")
    assert street["Mara"] == yard["Mara"] == (True, True, "")


def test_a_holiday_that_the_controller_does_not_know() -> None:
    add = '      - {keys: "D C 1 {date} OK", does: add holiday, what: "Holiday {date}"}\n'
    for grammar, why in (
        (as_written("letter pairs"), "change not keyed in"),
        (as_written("letter pairs", add), "holidays not kept"),
    ):
        register = small_register()
        keyed_in(register, grammars={"C1": grammar})
        register.extend([entry(c.Holiday(FRIDAY_NOON.date()))])
        found = could(register, "D1", FRIDAY_NOON, {"C1": grammar})
        assert found["Enna"] == (False, True, why)


def test_a_card_and_a_pin_in_two_places_count_together() -> None:
    """Where a place holds one thing and the door asks for both."""
    both = as_written("case button", "3: card or PIN}", "3: card or PIN, 4: card and PIN}")
    grammars = {"D3.controller": both}
    register = small_register()
    setup = c.ControllerSetUp("D3.controller", both.name, 6, {"access mode": "card and PIN"})
    register.extend([entry(setup)])
    notes = keyed_in(register, grammars=grammars)
    assert {n.who for n in notes if n.code == "no card"} == {
        ("Tilo Quill", "Juro Quill", "Oskin Quill", "Brand Quill")
    }
    found = could(register, "D3", FRIDAY_NOON, grammars)
    assert found["Mara"] == (True, True, "")
    assert found["Tilo"] == (True, False, "no card")


@pytest.mark.parametrize(("before", "lacks"), [("PIN", ""), ("place", ""), ("card", "card")])
def test_a_pin_alone_opens_where_no_card_comes_before_it(before: str, lacks: str) -> None:
    grammar = as_written("letter pairs", "tells apart: PIN", f"tells apart: {before}")
    assert missing(grammar, {}, card=False, pin=True) == lacks


def test_a_store_that_says_no_unit_goes_on_as_before() -> None:
    """Its sheets were made before that was kept; a unit that it does say is held to."""
    register = small_register()
    keyed_in(register, ["C1"])
    at = dataclasses.replace(SITE.controllers["C1"], unit="controller, card")
    site = dataclasses.replace(SITE, controllers={**SITE.controllers, "C1": at})

    def whys() -> set[str]:
        return {p.why for p in who_could(register, site, GRAMMARS, "D1", FRIDAY_NOON)}

    before = whys()
    assert "another unit" not in before
    register = register.with_changes([c.UnitFitted("C1", "controller")])
    assert whys() == {"another unit"}
    register = register.with_changes([c.UnitFitted("C1", "controller, card")])
    assert whys() == before
