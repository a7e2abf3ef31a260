"""Who may open what: hours, days and groups; places in controllers; moments as people say them."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace

import msgspec
import pytest

from latchwork.codes.access.rights import doors_of, may_open, valid_on
from latchwork.codes.access.times import allowed_at, parse_times, show_times
from latchwork.codes.access.touch import Touch, holding, to_be_touched
from latchwork.codes.access.when import day_alone, moments
from latchwork.codes.access.who import who_could
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.job_sheet import controller_sheet, wanting
from latchwork.codes.keypad.proof import prove
from latchwork.codes.keypad.wanted import Note
from latchwork.codes.register import changes as c
from latchwork.codes.register.people import Draft, find_person
from latchwork.codes.register.places import settle, without_place
from latchwork.codes.register.register import Register
from latchwork.codes.secret import Secret
from tests.codes.sites import (
    DAY,
    FRIDAY_19,
    FRIDAY_NOON,
    GRAMMARS,
    SITE,
    as_written,
    could,
    entry,
    keyed_in,
    small_register,
)


@pytest.mark.parametrize(
    ("text", "spans"),
    [
        ("mon 08:00-12:00", ((0, 480, 720),)),
        ("sat-mon 8:00-9:00", ((0, 480, 540), (5, 480, 540), (6, 480, 540))),
        ("fri 22:00-02:00", ((4, 1320, 1440), (5, 0, 120))),
        ("mon 22:00-00:00", ((0, 1320, 1440),)),
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
    "text",
    [
        "",
        "mon",
        "mon 25:00-26:00",
        "mon 08:00-24:30",
        "xyz 08:00-09:00",
        "mon-xyz 08:00-09:00",
        "mon 8-9",
        "holidays 09:00-08:00",
        # Nothing of Monday is left at 24:00; read on into the next day it was all of Tuesday.
        "mon 24:00-24:00",
        "mon 24:00-02:00",
        "mon-fri 07:00-07:00",
    ],
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


def test_a_span_holds_from_its_first_minute() -> None:
    register = Register()
    register.extend([entry(parse_times("t", "fri 08:30-19:00"))])
    begins = dt.datetime(2026, 3, 6, 8, 30, tzinfo=SITE.zone)
    assert allowed_at(register, "t", begins, SITE.zone)
    assert not allowed_at(register, "t", begins - dt.timedelta(minutes=1), SITE.zone)


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


def test_a_leaver_says_every_controller_to_touch() -> None:
    register = small_register()
    keyed_in(register)
    touched = to_be_touched(register, GRAMMARS, "P1")
    assert [(t.controller, t.holds) for t in touched] == [
        ("C1", "PIN and card"),
        ("D2.controller", "PIN and card"),
        ("D3.controller", "PIN"),
        ("D3.controller", "card"),
    ]
    register.extend([entry(c.PersonRemoved("P1"))])
    assert to_be_touched(register, GRAMMARS, "P1") == touched


def test_a_lost_card_says_where_it_still_opens() -> None:
    """Until it is keyed out; and where a sheet may have been keyed in that nobody confirmed."""
    register = small_register()
    keyed_in(register, ["C1"])
    card = register.cards["K1"]
    register.extend([entry(c.CardDropped("K1", lost=True))])
    (place,) = (p for p, u in register.programmed["C1"].users.items() if "2961120" in u.cards)
    assert holding(register, GRAMMARS, card) == (Touch("C1", place, "card"),), "45 << 16 | 12000"
    content = register.programmed["C1"]
    register.extend([entry(c.SheetMade("D2.controller", 1, content))])
    twice = (Touch("C1", place, "card"), Touch("D2.controller", place, "unknown"))
    assert holding(register, GRAMMARS, card) == twice
    keyed_in(register, ["C1"])
    assert holding(register, GRAMMARS, card) == twice[1:]


def test_whoever_was_given_a_card_that_is_keyed_in_says_where() -> None:
    """A leaver's card, in the hands of somebody whom no sheet has keyed in yet."""
    register = small_register()
    keyed_in(register)
    card = register.cards["K1"]
    register.extend([entry(c.PersonRemoved("P1"))])
    draft = Draft(register)
    ruda = draft.add_person("Ruda Stent", ("keepers",))
    draft.give_card(ruda.id, card.layout, card.value, 45, 12000, "45,12000")
    register.extend([entry(*draft.changes)])
    touched = to_be_touched(register, GRAMMARS, ruda.id)
    assert [(t.controller, t.holds) for t in touched] == [
        ("C1", "card"),
        ("D2.controller", "card"),
        ("D3.controller", "card"),
    ]
    found = who_could(register, SITE, GRAMMARS, "D1", FRIDAY_NOON)
    assert [(p.can, p.place) for p in found if p.person == ruda.id] == [(True, touched[0].place)]


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
    assert settle(register, site, {"C1": GRAMMARS["C1"]}, DAY) == []
    notes = controller_sheet(register, site, controllers["C1"], GRAMMARS["C1"], DAY).notes
    assert notes[0] == Note("full", ("Ruda Stent",), "1 to 8")


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


def test_new_hours_in_the_place_of_old_ones_take_one_number_each() -> None:
    """Office hours become early ones for two people and late ones for four."""
    register = small_register()
    keyed_in(register, ["C1"])
    early, late = (c.Group(name, (c.Grant("D1", name),)) for name in ("early", "late"))
    hours = parse_times("early", "mon-fri 06:00-14:00"), parse_times("late", "mon-fri 14:00-22:00")
    staff = [p for p in register.people.values() if p.groups == ("staff",)]
    moved = [
        msgspec.structs.replace(person, groups=("early" if n < 2 else "late",))
        for n, person in enumerate(staff)
    ]
    register.extend([entry(*hours, early, late, *moved)])
    keyed_in(register, ["C1"])
    after = register.programmed["C1"]
    held = {p.id: after.users[at].times for at, p in people_at(register, "C1")}
    assert {after.times[held[p.id]] for p in moved[:2]} == {hours[0].spans}
    assert {after.times[held[p.id]] for p in moved[2:]} == {hours[1].spans}
    # All of them late: the number of the early ones is not wanted for hours that have one.
    register.extend([entry(*(msgspec.structs.replace(p, groups=("late",)) for p in moved[:2]))])
    keyed_in(register, ["C1"])
    kept = {p.id: register.programmed["C1"].users[at].times for at, p in people_at(register, "C1")}
    assert {p.id: kept[p.id] for p in moved[2:]} == {p.id: held[p.id] for p in moved[2:]}


def test_hours_that_nobody_means_any_more_give_up_their_number() -> None:
    """This controller has numbers of one digit: nine sets of hours."""
    register = small_register()
    draft = Draft(register)
    own = [parse_times(f"from {hour}", f"mon {hour}:00-19:00") for hour in range(8, 17)]
    groups = [c.Group(times.name, (c.Grant("D1", times.name),)) for times in own]
    for group in groups:
        draft.give_pin(draft.add_person(group.name, (group.name,)).id, 6)
    register.extend([entry(*own, *groups, *draft.changes)])

    def confirmed() -> tuple[set[tuple[tuple[int, int, int], ...]], list[Note]]:
        register.extend([entry(*settle(register, SITE, {"C1": GRAMMARS["C1"]}, DAY))])
        notes = keyed_in(register, ["C1"])
        return set(register.programmed["C1"].times.values()), [
            note for note in notes if note.code == "hours full"
        ]

    # With the office hours they are ten; whoever comes last to a number goes without.
    held, notes = confirmed()
    assert held == {register.times["office hours"].spans, *(t.spans for t in own[:8])}
    assert notes == [Note("hours full", ("from 16",))]
    monday = dt.datetime.combine(DAY, dt.time(17, 30), SITE.zone)
    why = {p.name: p.why for p in who_could(register, SITE, GRAMMARS, "D1", monday) if not p.can}
    assert why == {"from 16": "hours full"}, "no further sheet keys them in"
    assert could(register, "D1", FRIDAY_NOON)["Tilo"] == (True, True, "")
    # One leaves, and somebody comes with hours of their own: nine again, the newest among them.
    gone = find_person(register, "from 9"), find_person(register, "from 16")
    late = parse_times("late", "fri 12:00-20:00")
    ruda = c.Person("P40", "Ruda Stent", ("late",))
    register.extend(
        [
            entry(*(c.PersonRemoved(p.id) for p in gone), late),
            entry(
                c.Group("late", (c.Grant("D1", "late"),)), ruda, c.PinGiven("P40", Secret("736281"))
            ),
        ]
    )
    held, notes = confirmed()
    assert held >= {late.spans, own[0].spans}
    assert own[1].spans not in held
    assert not notes
    assert could(register, "D1", FRIDAY_19)["Ruda"] == (True, True, "")


def people_at(register: Register, controller: str) -> list[tuple[int, c.Person]]:
    """Who has which place of a controller."""
    taken = register.places[controller]
    return [(place, register.people[held.person]) for place, held in taken.items()]


def test_changes_laid_on_top_leave_the_register_as_it_was() -> None:
    register = small_register()
    places = {controller: dict(held) for controller, held in register.places.items()}
    pin = register.pins["P1"]
    laid = register.with_changes([c.PinDropped("P1"), c.PersonRemoved("P2")])
    again = laid.with_changes([c.PinGiven("P3", pin), c.PinDropped("P3")])
    assert register.places == places
    assert (register.pins["P1"], register.former_pins) == (pin, {})
    assert laid.former_pins[pin] == {"P1"}
    assert again.former_pins[pin] == {"P1", "P3"}
    assert not any(t.person == "P2" for held in laid.places.values() for t in held.values())


def test_a_sheet_is_wanted_where_none_can_be_made() -> None:
    """Of a controller that is full, and of one whose grammar was changed over what it holds."""
    register = small_register()
    keyed_in(register, ["C1"])
    assert wanting(register, SITE, {"C1": GRAMMARS["C1"]}, DAY) == ()
    again = as_written("letter pairs", "name: letter pairs", "name: pairs again")
    assert wanting(register, SITE, {"C1": again}, DAY) == ("C1",)
    fewer = {**SITE.controllers, "C1": replace(SITE.controllers["C1"], places=8)}
    draft = Draft(register)
    draft.give_pin(draft.add_person("Ruda Stent", ("staff",)).id, 6)
    register.extend([entry(*draft.changes)])
    assert wanting(register, replace(SITE, controllers=fewer), {"C1": GRAMMARS["C1"]}, DAY) == (
        "C1",
    )


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


def test_a_full_controller_leaves_out_who_comes_last() -> None:
    register = small_register()
    draft = Draft(register)
    for i in range(100):
        person = draft.add_person(f"Guest {i}", ("staff",))
        draft.give_pin(person.id, 6)
    register.extend([entry(*draft.changes)])
    register.extend([entry(*settle(register, SITE, GRAMMARS, DAY))])
    # Places 10 to 99 hold one thing each: ten PINs and cards are of those who were there first.
    left = without_place(register, SITE, "D3.controller", GRAMMARS["D3.controller"], DAY)
    before = len(small_register().places["D3.controller"])
    assert [p.name for p in left] == [f"Guest {i}" for i in range(90 - before, 100)]
    assert without_place(register, SITE, "C1", GRAMMARS["C1"], DAY) == ()
    # A full controller can be rid of a leaver all the same, and the next in turn has the place.
    keyed_in(register, ["D3.controller"])
    told = {p.name: p.why for p in who_could(register, SITE, GRAMMARS, "D3", FRIDAY_NOON)}
    assert (told["Guest 0"], told["Guest 99"]) == ("", "full")
    register.extend([entry(c.PersonRemoved("P2"))])
    register.extend([entry(*settle(register, SITE, GRAMMARS, DAY))])
    keyed_in(register, ["D3.controller"])
    told = {p.name: p.why for p in who_could(register, SITE, GRAMMARS, "D3", FRIDAY_NOON)}
    assert "Tilo Quill" not in told
    assert told[f"Guest {90 - before}"] == ""


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
