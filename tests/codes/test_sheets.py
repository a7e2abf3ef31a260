"""Sheets: the shortest way from what is held to what is meant, and the proof of it."""

from __future__ import annotations

import random
from collections import deque
from dataclasses import replace

import msgspec
import pytest

from latchwork.cli.codes.sheet_page import text_page
from latchwork.codes.content import Content, User
from latchwork.codes.errors import CodesError
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.job_sheet import ControllerSheet, controller_sheet
from latchwork.codes.keypad.memory import factory_content, memory_of
from latchwork.codes.keypad.proof import differences, prove, slips, try_slips
from latchwork.codes.keypad.read import read_grammar
from latchwork.codes.keypad.sheet import Sheet, make_sheet
from latchwork.codes.keypad.shelf import shipped_grammars
from latchwork.codes.keypad.simulator import Controller, Press
from latchwork.codes.keypad.vocabulary import SETTINGS
from latchwork.codes.keypad.wanted import Note, card_number
from latchwork.codes.pins.allocate import PinSpace
from latchwork.codes.register import changes as c
from latchwork.codes.register.places import settle
from latchwork.codes.register.register import Register
from latchwork.codes.secret import Secret
from tests.codes.sites import DAY, GRAMMARS, SITE, as_written, entry, keyed_in, small_register
from tests.codes.test_grammar import tiny

NAMES = sorted(shipped_grammars())


def random_content(grammar: Grammar, rng: random.Random, pins: list[str]) -> Content:
    """Anything this kind of controller can hold, built without its grammar's steps."""
    content = factory_content(grammar)
    one = grammar.manners.place_holds == "one thing"
    users: dict[int, User] = {}
    fresh = iter(rng.sample(pins, len(pins)))
    cards = iter(rng.sample(range(1, 60_000), 40))
    for place in rng.sample(range(grammar.first_place, grammar.first_place + 14), 9):
        pin = next(fresh) if rng.random() < 0.7 else ""
        held = () if (one and pin) or rng.random() < 0.4 else (str(next(cards)),)
        kinds = ["normal", "visitor", "single use"] if grammar.can("set kind") else ["normal"]
        users[place] = User(
            pin,
            held,
            False,
            rng.choice("12") if grammar.can("set relay") else "1",
            rng.randrange(3) if grammar.can("set times") else 0,
            "2026-12-31" if grammar.can("set until") and rng.random() < 0.2 else "",
            rng.choice(kinds),
        )
    settings = dict(content.settings)
    for name in rng.sample(sorted(settings), 4):
        if name != "PIN length":
            spec = grammar.settings[name]
            settings[name] = rng.choice(SETTINGS[name].choices or (str(spec.least), str(spec.most)))
            if SETTINGS[name].choices and name in grammar.fields:
                settings[name] = rng.choice(list(grammar.fields[name].choices.values()))
    times = {}
    holidays: tuple[str, ...] = ()
    if grammar.can("add times"):
        times = {1: tuple((d, 420, 1140) for d in range(rng.randrange(1, 7))), 2: ((6, 0, 60),)}
        holidays = tuple(sorted(rng.sample(["2026-12-24", "2026-12-25", "2026-05-01"], 2)))
    codes = {
        k: "".join(rng.choice("0123456789") for _ in range(len(v) if k != "master card" else 5))
        for k, v in content.codes.items()
    }
    codes = {k: str(int(v)) if k == "master card" else v for k, v in codes.items()}
    return memory_of(Content(users, settings, codes, times, holidays)).content()


PINS = [p.reveal() for p in (lambda s: [s.allocate(6) for _ in range(40)])(PinSpace([]))]


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("seed", range(25))
def test_from_anything_to_anything(name: str, seed: int) -> None:
    grammar = shipped_grammars()[name]
    rng = random.Random(seed)
    now, want = random_content(grammar, rng, PINS), random_content(grammar, rng, PINS)
    for sheet in (make_sheet(grammar, now, want), make_sheet(grammar, now, want, True)):
        controller = Controller(grammar, now)
        controller.play(sheet.presses)
        assert controller.memory.content() == want
        assert controller.at_rest
        assert prove(grammar, sheet).holds
    assert make_sheet(grammar, want, want).steps == ()


def shortest(grammar: Grammar, now: Content, want: Content, presses: list[Press]) -> int:
    """The fewest presses of any kind that lead there, by trying all of them breadth first.

    Nobody who stays may be out on the way.
    """
    stay = {p: u for p, u in now.users.items() if want.users.get(p) == u}
    start = Controller(grammar, now)
    queue = deque([(start, 0)])
    seen = {(start.waiting_for, msgspec.json.encode(now))}
    while queue:
        controller, done = queue.popleft()
        if controller.at_rest and controller.memory.content() == want:
            return done
        for press in presses:
            following = controller.copy()
            if following.press(press).signal == "error":
                continue
            if any(following.memory.users.get(p) != u for p, u in stay.items()):
                continue
            key = (
                following.waiting_for,
                msgspec.json.encode(following.memory.content()),
            )
            if key not in seen:
                seen.add(key)
                queue.append((following, done + 1))
    raise AssertionError("no way at all")


SMALL = tiny(
    "{keys: 'B {place} {pin} OK', does: add PIN}",
    "{keys: 'B A {place} {card}', does: add card}",
    "{keys: 'A {place} OK', does: delete place}",
    "{keys: 'A OK', to: inner}",
) + (
    "  inner:\n    shows: blue\n    steps:\n"
    "      - {keys: 'A {relay 1 time}', does: set relay 1 time}\n"
    "      - {keys: 'B {place} {relay}', does: set relay}\n"
    "      - {keys: 'B A', does: delete all users}\n"
    "      - {keys: 'OK', to: programming}\n"
)


@pytest.mark.parametrize(
    ("now", "want"),
    [
        ({}, {11: User(cards=("7",))}),
        ({11: User(cards=("7",))}, {}),
        ({11: User(cards=("7",)), 12: User(cards=("8",))}, {}),
        ({11: User(cards=("7",))}, {11: User(cards=("7",), relay="2")}),
        ({11: User(cards=("7",))}, {12: User(cards=("7",))}),
        ({11: User(cards=("7",)), 12: User(cards=("8",))}, {11: User(cards=("8",))}),
    ],
)
@pytest.mark.parametrize("time", ["5", "11"])
def test_no_shorter_sheet_exists(now: dict[int, User], want: dict[int, User], time: str) -> None:
    """Against every sequence of presses there is, over a small pad."""
    text = SMALL.replace("places: 1 to 50", "places: 11 to 12").replace(
        'installer: "4711"', 'installer: "1111"'
    )
    grammar = read_grammar(text.encode(), "small.yaml")
    base = factory_content(grammar)
    begin = msgspec.structs.replace(base, users=now)
    end = msgspec.structs.replace(base, users=want, settings={"relay 1 time": time})
    sheet = make_sheet(grammar, begin, end)
    assert prove(grammar, sheet).holds
    presses = [Press("key", k) for k in ("1", "2", "A", "B", "OK")]
    presses += [Press("card", n) for n in ("7", "8")]
    assert len(sheet.presses) == shortest(grammar, begin, end, presses)


@pytest.mark.parametrize("controller", sorted(GRAMMARS))
def test_a_lost_card_and_a_leaver_are_a_line_each_way(controller: str) -> None:
    register = small_register()
    grammar, at = GRAMMARS[controller], SITE.controllers[controller]
    sheet = controller_sheet(register, SITE, at, grammar, DAY).sheet
    register.extend([entry(c.Programmed(controller, sheet.ends_with))])
    assert controller_sheet(register, SITE, at, grammar, DAY).sheet.steps == ()
    register.extend(
        [
            entry(
                c.CardDropped("K1", lost=True),
                c.Card("K90", "P1", "26-bit", 45 << 16 | 999, 45, 999, "45,999"),
                c.PersonRemoved("P5"),
            )
        ]
    )
    register.extend([entry(*settle(register, SITE, {controller: grammar}, DAY))])
    made = controller_sheet(register, SITE, at, grammar, DAY)
    body = [s for s in made.sheet.steps if s.place]
    lost, leaver = ([s for s in body if made.names[s.place] == n] for n in _names(register))
    assert len(lost) <= 2, "out with the lost card, in with the new one"
    assert len(leaver) <= 2, "a place, or a place for the PIN and one for the card"
    assert len(made.sheet.steps) <= len(lost) + len(leaver) + 2, "besides opening and leaving"
    assert prove(grammar, made.sheet).holds


def _names(register: Register) -> tuple[str, str]:
    return register.people["P1"].name, register.left["P5"].name


def test_a_new_pin_asks_for_no_card() -> None:
    """The shared controller refuses a second PIN in a place, and deletes one by itself."""
    _, made = keyed_and_changed("C1", c.PinGiven("P1", Secret("736281")))
    assert [s.what for s in made.sheet.steps if s.place] == ["Delete by PIN", "Place 1: give a PIN"]
    assert prove(made.grammar, made.sheet).holds
    assert made.sheet.ends_with.users[1].cards == made.sheet.begins_with.users[1].cards != ()
    # With nothing kept the place goes, and what it said besides is keyed in anew.
    _, made = keyed_and_changed("C1", c.PinGiven("P2", Secret("736281")))
    assert "Place 2: delete" in {s.what for s in made.sheet.steps}
    # A card that goes with the PIN leaves nothing either.
    _, made = keyed_and_changed("C1", c.PinGiven("P1", Secret("736281")), c.CardDropped("K1"))
    assert "Place 1: delete" in {s.what for s in made.sheet.steps}
    assert prove(made.grammar, made.sheet).holds
    # A PIN that is taken away alone leaves the card.
    _, made = keyed_and_changed("C1", c.PinDropped("P1"))
    assert [s.what for s in made.sheet.steps if s.place] == ["Delete by PIN"]


@pytest.mark.parametrize(
    ("now", "want", "said"),
    [
        ({}, {"users": {1: User(pin="730264", relay="both")}}, "set relay: its value does not fit"),
        ({}, {"users": {100: User(pin="730264")}}, "add PIN: its value does not fit"),
        ({}, {"holidays": ("2026-12-25",)}, "add holiday: no step means it"),
        (
            {"codes": {}},
            {"settings": {"relay 1 time": "9"}},
            "a code on the way there is not known",
        ),
    ],
)
def test_what_cannot_be_keyed_says_why(
    now: dict[str, object], want: dict[str, object], said: str
) -> None:
    grammar = read_grammar(SMALL.encode(), "small.yaml")
    begin = msgspec.structs.replace(factory_content(grammar), **now)
    with pytest.raises(CodesError) as caught:
        make_sheet(grammar, begin, msgspec.structs.replace(begin, **want))
    assert said in str(caught.value)


def test_programming_cards_must_be_known() -> None:
    register = small_register()
    del register.codes["D3.controller", "master card"]
    at = SITE.controllers["D3.controller"]
    with pytest.raises(CodesError, match="opened by a card of its own"):
        controller_sheet(register, SITE, at, GRAMMARS[at.id], DAY)


def keyed_and_changed(controller: str, *changes: c.Change) -> tuple[Register, ControllerSheet]:
    """A controller that holds all it should; then the changes, and the sheet they ask for."""
    register = small_register()
    grammar, at = GRAMMARS[controller], SITE.controllers[controller]
    first = controller_sheet(register, SITE, at, grammar, DAY).sheet
    register.extend([entry(c.Programmed(controller, first.ends_with), *changes)])
    register.extend([entry(*settle(register, SITE, {controller: grammar}, DAY))])
    return register, controller_sheet(register, SITE, at, grammar, DAY)


@pytest.mark.parametrize("controller", sorted(GRAMMARS))
def test_a_pin_that_several_have_holds_no_leaver_up(controller: str) -> None:
    shared = small_register().pins["P1"]
    register, made = keyed_and_changed(
        controller,
        c.PinGiven("P1", shared),
        c.Person("P20", "Ruda Stent", ("keepers",)),
        c.PinGiven("P20", shared),
        c.PinGiven("P5", shared),
        c.PersonRemoved("P1"),
    )
    assert prove(made.grammar, made.sheet).holds
    users = made.sheet.ends_with.users
    assert [made.names[p] for p, u in users.items() if u.pin == shared.reveal()] == ["Sefa Quill"]
    assert not [p for p in users if register.owners[controller, p] == "P1"]
    assert Note("same pin", ("Ruda Stent",), "Sefa Quill") in made.notes


@pytest.mark.parametrize("controller", sorted(GRAMMARS))
def test_cards_that_a_controller_cannot_tell_apart_are_keyed_in_once(controller: str) -> None:
    """They differ above the bits that it keeps; whoever is keyed in already stays so."""
    card = small_register().cards["K1"]
    alike = msgspec.structs.replace(card, id="K90", person="P5", value=card.value | 1 << 36)
    _, made = keyed_and_changed(controller, alike)
    assert prove(made.grammar, made.sheet).holds
    holders = [p for p, u in made.sheet.ends_with.users.items() if str(card.value) in u.cards]
    assert [made.names[p] for p in holders] == ["Mara Quill"]
    assert Note("same card", ("Sefa Quill",), "Mara Quill") in made.notes


@pytest.mark.parametrize("controller", sorted(GRAMMARS))
def test_whoever_is_keyed_in_keeps_a_card_that_another_is_given(controller: str) -> None:
    """Though the other stands in a place before theirs."""
    card = small_register().cards["K3"]
    assert card.person == "P5"
    alike = msgspec.structs.replace(card, id="K90", person="P1", value=card.value | 1 << 36)
    _, made = keyed_and_changed(controller, c.CardDropped("K1"), alike)
    holders = [p for p, u in made.sheet.ends_with.users.items() if str(card.value) in u.cards]
    assert [made.names[p] for p in holders] == ["Sefa Quill"]
    assert Note("same card", ("Mara Quill",), "Sefa Quill") in made.notes


def test_two_cards_of_one_person_that_are_alike_are_keyed_in_once() -> None:
    card = small_register().cards["K1"]
    alike = msgspec.structs.replace(card, id="K90", value=card.value | 1 << 36)
    _, made = keyed_and_changed("D2.controller", alike)
    assert made.sheet.steps == ()
    assert Note("same card", ("Mara Quill",), "Mara Quill") in made.notes


def test_the_programming_card_opens_no_door() -> None:
    card = msgspec.structs.replace(small_register().cards["K1"], id="K90", value=8123456)
    _, made = keyed_and_changed("D3.controller", card)
    assert prove(made.grammar, made.sheet).holds
    assert not [u for u in made.sheet.ends_with.users.values() if "8123456" in u.cards]
    assert Note("programming card", ("Mara Quill",)) in made.notes


def test_cards_that_the_reader_format_shuts_out_are_left_out_and_noted() -> None:
    """26 bits on the wire, a controller that left the factory set to 34, and the other way."""
    register = small_register()
    card = register.cards["K1"]
    wide = msgspec.structs.replace(card, id="K90", layout="34-bit", value=1 << 20)
    bare = msgspec.structs.replace(wide, id="K91", layout="32-bit identifier", value=1 << 21)
    _, made = keyed_and_changed("D2.controller", c.CardDropped("K1"), wide, bare)
    found = [n for n in made.notes if n.code == "reader format"]
    assert found == [Note("reader format", ("Mara Quill",), "34")]
    assert prove(made.grammar, made.sheet).holds
    held = {card for user in made.sheet.ends_with.users.values() for card in user.cards}
    assert {str(1 << 20), str(1 << 21)} & held == {str(1 << 21)}
    # A format that shuts out what is in the controller takes nobody out, and asks for no card.
    setup = c.ControllerSetUp("D2.controller", "menus", 6, {"reader format": "34"})
    register, made = keyed_and_changed("D2.controller", setup)
    assert Note("reader format", ("Mara Quill", "Sefa Quill"), "26") in made.notes
    assert [s.what for s in made.sheet.steps if s.place] == []
    # After a factory reset all is keyed in anew, but for cards that would not be read.
    at, grammar = SITE.controllers["D2.controller"], made.grammar
    reset = controller_sheet(register, SITE, at, grammar, DAY, from_reset=True)
    assert prove(grammar, reset.sheet).holds
    assert not [u for u in reset.sheet.ends_with.users.values() if u.cards]


def test_the_reader_format_is_set_before_cards_are_held_up() -> None:
    """Common practice, no source: a reader that waits for 34 bits gives no number for 26."""
    register, grammar = small_register(), GRAMMARS["D2.controller"]
    sheet = controller_sheet(register, SITE, SITE.controllers["D2.controller"], grammar, DAY).sheet
    assert {p.bits for p in sheet.presses if p.kind == "card"} == {26}
    assert prove(grammar, sheet).holds
    for bits, signal in ((26, "error"), (34, "ok"), (0, "ok")):
        controller = Controller(
            grammar,
            msgspec.structs.replace(
                sheet.ends_with, settings={**sheet.ends_with.settings, "reader format": "34"}
            ),
        )
        assert controller.press(Press("card", "2961120", bits=bits)).signal == signal


def test_a_clock_that_was_never_set_is_noted_where_hours_go_by_it() -> None:
    """The shared controller keeps office hours; the archive's people have none."""
    register = small_register()
    made = {
        clock: controller_sheet(
            register, SITE, SITE.controllers["C1"], GRAMMARS["C1"], DAY, clock=clock
        )
        for clock in ("", "2026-03-02T09:00")
    }
    assert Note("clock", ()) in made[""].notes
    assert Note("clock", ()) not in made["2026-03-02T09:00"].notes
    assert Note("clock", ()) not in keyed_and_changed("D2.controller")[1].notes
    keyed = made["2026-03-02T09:00"].sheet.ends_with
    register.extend([entry(c.Programmed("C1", keyed))])
    at, grammar = SITE.controllers["C1"], GRAMMARS["C1"]
    assert Note("clock", ()) not in controller_sheet(register, SITE, at, grammar, DAY).notes
    forgets = as_written("letter pairs", "reset keeps: [clock]", "reset keeps: []")
    for its, noted in ((grammar, False), (forgets, True)):
        with_reset = controller_sheet(register, SITE, at, its, DAY, from_reset=True)
        assert (Note("clock", ()) in with_reset.notes) is noted


def test_a_door_that_stays_open_after_each_grant_is_noted() -> None:
    """Relay 2 of the shared controller frees the yard."""
    toggled = {"relay 2 mode": "toggle"}
    _, made = keyed_and_changed("C1", c.ControllerSetUp("C1", "letter pairs", 6, toggled))
    assert [n for n in made.notes if n.code == "toggle"] == [Note("toggle", ("Yard",))]
    _, made = keyed_and_changed("C1")
    assert "toggle" not in {n.code for n in made.notes}


def test_what_a_controller_cannot_be_told_is_noted() -> None:
    register = small_register()
    guest = c.Person("P30", "Guest", ("staff",), None, DAY, False, "duress")
    register.extend([entry(guest, c.Person("P31", "Soon", ("staff",), DAY.replace(month=5)))])
    made = controller_sheet(
        register, SITE, SITE.controllers["D3.controller"], GRAMMARS["D3.controller"], DAY
    )
    register.extend([entry(c.PinGiven("P30", next(iter(register.pins.values()))))])
    notes = {(n.code, *n.who[:1]) for n in made.notes}
    assert ("hours", "Tilo Quill") in notes
    assert ("starts", "Soon") in notes
    assert ("odds",) in notes


def sample_sheet(name: str) -> tuple[Grammar, Sheet]:
    grammar = shipped_grammars()[name]
    rng = random.Random(4)
    now, want = random_content(grammar, rng, PINS), random_content(grammar, rng, PINS)
    return grammar, make_sheet(grammar, now, want)


@pytest.mark.parametrize("name", NAMES)
def test_a_sheet_with_a_fault_is_not_proved(name: str) -> None:
    """Each step left out in turn, and each press of it: the proof breaks."""
    grammar, sheet = sample_sheet(name)
    for index, step in enumerate(sheet.steps):
        without = replace(sheet, steps=sheet.steps[:index] + sheet.steps[index + 1 :])
        assert not prove(grammar, without).holds, step.what
        for at in range(0, len(step.presses), 3):
            cut = replace(
                step,
                presses=step.presses[:at] + step.presses[at + 1 :],
                answers=step.answers[:at] + step.answers[at + 1 :],
            )
            steps = (*sheet.steps[:index], cut, *sheet.steps[index + 1 :])
            assert not prove(grammar, replace(sheet, steps=steps)).holds


@pytest.mark.parametrize("name", NAMES)
def test_every_slip_is_judged_as_a_whole_run_judges_it(name: str) -> None:
    """Each slip again on a fresh controller, the sheet keyed from its first key to its last."""
    grammar, sheet = sample_sheet(name)
    counted = {k.kind: k for k in try_slips(grammar, sheet, each=10**6)}
    tally: dict[str, list[int]] = {k: [0, 0, 0] for k in counted}
    meant = memory_of(sheet.ends_with).content()
    right = Controller(grammar, sheet.begins_with)
    for index, step in enumerate(sheet.steps):
        rest = sheet.steps[index + 1 :]
        for _, _, presses, expected in slips(grammar, step):
            controller = right.copy()
            noticed = False
            for press, wanted in zip(presses, expected, strict=True):
                answer = controller.press(press)
                noticed |= answer.signal == "error" if wanted is None else answer != wanted
            noticed |= bool(presses) and answer != step.answers[-1]
            for later in rest if not noticed else ():
                noticed |= tuple(controller.play(later.presses)) != later.answers
            same = controller.memory.content() == meant and controller.at_rest
            tally[step.kind][0 if noticed else 1 if same else 2] += 1
        right.play(step.presses)
    for kind, (caught, harmless, harmful) in tally.items():
        found = counted[kind]
        assert (found.caught, found.harmless, found.harmful) == (caught, harmless, harmful), kind


def test_what_slips_are_caught_and_what_are_not() -> None:
    grammar, sheet = sample_sheet("letter pairs")
    kinds = {k.what: k for k in try_slips(grammar, sheet)}
    pin = kinds["Place {place}: give a PIN"]
    assert {(h.slip, h.part) for h in pin.harms} <= {("wrong", "pin"), ("wrong", "place")}
    assert any(h.part == "pin" and h.effects == ("own code",) for h in pin.harms)
    twice = kinds["New installer code, twice"]
    assert twice.harmful == 0, "a code that is keyed twice forgives no single slip unheard"
    assert kinds["Open programming as installer"].harmful == 0


def test_no_code_stands_in_the_words_of_a_sheet() -> None:
    for name in NAMES:
        _, sheet = sample_sheet(name)
        codes = {u.pin for u in sheet.ends_with.users.values() if u.pin}
        codes |= {v for k, v in sheet.ends_with.codes.items() if k != "master card"}
        text = " ".join(s.what for s in sheet.steps) + repr(sheet.presses) + repr(sheet)
        assert not [code for code in codes if code in text]


@pytest.mark.parametrize(
    "more",
    [
        {"users": {3: User(pin="7295")}},
        {"settings": {"relay time": "9"}},
        {"codes": {"manager": "860495"}},
        {"times": {2: ((0, 480, 720),)}},
        {"holidays": ("2026-03-06",)},
        {"clock": "2026-03-06T08:00"},
    ],
)
def test_what_is_left_over_or_wanting_is_a_difference(more: dict[str, object]) -> None:
    """Hours or a code that stay behind let somebody in as surely as a wrong one."""
    bare = Content()
    held = msgspec.structs.replace(bare, **more)
    assert differences(held, bare) == differences(bare, held) != []
    assert differences(held, held) == []


def test_a_controller_counts_the_low_bits_of_a_card() -> None:
    """Of 26 bits without parity 24 are counted, of a longer card's number the last 24."""
    grammar = GRAMMARS["C1"]
    assert grammar.manners.card_bits == 24
    assert card_number(5 << 24 | 4711, grammar) == "4711"


@pytest.mark.parametrize(
    ("controller", "said"), [("C1", "first step is refused"), ("D2.controller", "still gets in")]
)
def test_what_another_unit_would_do_is_told(controller: str, said: str) -> None:
    """C1 has codes of its own by now, which a new unit of the same part does not know; at the
    other one the factory's stand, which every new unit takes."""
    register = small_register()
    keyed_in(register)
    register.extend([entry(c.PinGiven("P1", Secret("730264")))])
    made = controller_sheet(register, SITE, SITE.controllers[controller], GRAMMARS[controller], DAY)
    assert said in " ".join(text_page(made, 2, (), False).split())
    empty = replace(made, sheet=replace(made.sheet, steps=()))
    assert said not in " ".join(text_page(empty, 2, (), False).split())


@pytest.mark.parametrize(("controller", "told"), [("C1", True), ("D2.controller", False)])
def test_a_unit_that_was_reset_by_hand_is_begun_from_the_factory(
    controller: str, told: bool
) -> None:
    """C1 forgets its code with that and refuses the one known here; the other one keeps it."""
    register = small_register()
    keyed_in(register)
    its = GRAMMARS[controller]
    assert ("codes" in its.reset_keeps) is not told
    at = SITE.controllers[controller]
    made = controller_sheet(register, SITE, at, its, DAY, from_reset=True)
    assert ("reset by hand" in " ".join(text_page(made, 2, (), False).split())) is told


def test_what_is_deleted_is_named_after_whose_it_was() -> None:
    """Mara leaves, and Ossi gets her place: the first step there takes out her codes, not his."""
    register = small_register()
    keyed_in(register, ["C1"])
    (place,) = (p for p, t in register.places["C1"].items() if t.person == "P1")
    ossi = (c.Person("P20", "Ossi Vane", ("staff",)), c.PinGiven("P20", Secret("730264")))
    register.extend([entry(c.PersonRemoved("P1"), *ossi, c.PlaceTaken("C1", place, "P20"))])
    made = controller_sheet(register, SITE, SITE.controllers["C1"], GRAMMARS["C1"], DAY)
    told = [(step.what, made.name_at(step)) for step in made.sheet.steps if step.place == place]
    assert told[0] == (f"Place {place}: delete", "Mara Quill")
    assert {name for _, name in told[1:]} == {"Ossi Vane"}
