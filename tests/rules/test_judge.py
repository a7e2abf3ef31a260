"""What is made of findings: guesses, waivers, what is beyond the model, order, words."""

from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from latchwork.answers.check import check
from latchwork.behaviour import Case, Event, Power
from latchwork.findings import Finding, Severity
from latchwork.power.loads import supply_loads
from latchwork.rules import judge
from latchwork.rules.lock_volts import worst_volts
from tests.rules.cases_electrical import HUNGRY, TWELVE
from tests.rules.jobs import (
    MAGNET,
    NO_BATTERY,
    STRIKE,
    SUPPLY,
    Door,
    but,
    findings,
    job,
    outcome,
    told,
)

PLAIN = but(STRIKE, {"lock": "strike 24 V fail-secure"})


def _one(text: str, rule: str) -> Finding:
    found = [f for f in findings(text) if f.rule == rule]
    assert len(found) == 1, told(text, Severity.NOTE)
    return found[0]


def _power(run: str) -> Door:
    return but(PLAIN, {"runs": f"{{power: {run}}}"})


# Guesses.


def test_a_finding_names_the_guesses_it_hangs_on() -> None:
    low = _one(job(_power("about 40 m of 2 x 0.5 mm²")), "volts-low")
    assert low.severity is Severity.WEAK
    assert low.provisional == ("doors.D1.runs.power",)


def test_a_measured_length_hangs_on_nothing() -> None:
    low = _one(job(_power("measured 40 m of 2 x 0.5 mm²")), "volts-low")
    assert low.provisional == ()


LONG = "cables: {long: about 200 m of 6 x 0.22 mm²}"
READ = ", ".join(
    f"[controller.{a}, long {core}, reader.{b}]"
    for a, core, b in (("R+", "white", "+"), ("D0", "brown", "D0"), ("D1", "green", "D1"))
)


@pytest.mark.parametrize("shared", [True, False])
def test_a_reader_too_far_names_the_length_where_it_is_written(shared: bool) -> None:
    """As the file says it: a cable of the site, or one of the door's own."""
    own = {} if shared else {"cables": LONG.partition(": ")[2]}
    kit = {"controller": "controller, reader outside", "reader": "reader"}
    door = but(PLAIN, {**kit, **own, "wiring": f"{{reader: [{READ}]}}"})
    far = _one(job(door, more=LONG if shared else ""), "reader-cable")
    assert far.provisional == ("cables.long" if shared else "doors.D1.cables.long",)


def test_what_only_an_unknown_brings_about_is_a_question() -> None:
    low = _one(job(_power("unknown of 2 x 0.5 mm²")), "volts-low")
    assert low.severity is Severity.NOTE
    assert low.provisional == ("doors.D1.runs.power",)


def test_where_the_cores_were_measured_their_length_is_no_question() -> None:
    """What 2.9 Ω drop does not ask for metres (Ohm's law)."""
    run = "{length: unknown, cable: 2 x 0.5 mm², loop resistance: measured 2.9 ohm}"
    low = _one(job(_power(run)), "volts-low")
    assert (low.severity, low.provisional) == (Severity.WEAK, ())


def test_a_guess_elsewhere_is_no_part_of_it() -> None:
    guessed = but(STRIKE, {"runs": "{power: about 10 m of 2 x 1.0 mm²}"})
    low = _one(job(_power("40 m of 2 x 0.5 mm²"), guessed), "volts-low")
    assert low.provisional == ()


def test_where_no_current_flows_no_length_counts() -> None:
    """A strike on a dead site stays shut whatever its cables (common practice, no source)."""
    shut = but(STRIKE, {"out by": "nothing mechanical", "exit": "button"})
    shut = but(shut, {"runs": "{power: 10 m of 2 x 1.0 mm², exit: about 3 m of 4 x 0.22 mm²}"})
    dies = [f for f in findings(job(shut)) if f.rule == "exit-dies"]
    assert "all lost" in {f.situation.partition("/")[0] for f in dies}
    assert {f.provisional for f in dies if f.situation.startswith("all lost/")} == {()}


def test_a_signal_cable_decides_no_volts() -> None:
    """A button's few milliamperes (common practice, no source)."""
    runs = "{power: 60 m of 2 x 0.5 mm², exit: about 30 m of 2 x 0.22 mm²}"
    starved = but(HUNGRY, {"exit": "button", "runs": runs})
    assert _one(job(starved, supplies=TWELVE), "restarts").provisional == ()


def test_an_overload_hangs_on_a_length_only_near_the_limit() -> None:
    """A third of the limit is too little however long the cable; a hair below the margin wanted, a
    few ohms decide (Ohm's law)."""
    guessed = but(MAGNET, {"runs": "{power: about 40 m of 3 x 0.5 mm²}"})

    def hangs_on(limit: str) -> tuple[str, ...]:
        supplies = f"S1: {{part: supply 24 V, limit: {limit}, battery: 2 x 12 V 7 Ah}}"
        return _one(job(guessed, supplies=supplies), "supply-overload").provisional

    assert hangs_on("0.3 A") == ()
    assert hangs_on("1.38 A") == ("doors.D1.runs.power",)


def test_an_unknown_does_not_soften_what_no_figure_brings_about() -> None:
    swapped = but(_power("unknown of 2 x 0.5 mm²"),
                  {"found": "[{swapped: [power brown, power blue]}]"})  # fmt: skip
    assert _one(job(swapped), "polarity").severity is Severity.FAILS


def test_a_guessed_height_is_told_as_one() -> None:
    us = ", rule set: US model codes"
    facts = {"release distance": "400 mm", "sign": "PUSH TO EXIT"}
    high = but(MAGNET, {**facts, "release height": "about 1600 mm"})
    assert _one(job(high, site=us), "release-height").provisional == ("doors.D1.release height",)
    # Within what the guess may be, nothing is surely broken.
    near = but(MAGNET, {**facts, "release height": "1200 to 1300 mm"})
    assert told(job(near, site=us)) == []


def test_assumed_figures_of_a_part_are_told_where_a_finding_hangs_on_them() -> None:
    lock = "{part: strike 24 V fail-secure, picks up at: about 22 V}"
    text = job(but(STRIKE, {"lock": lock}))
    note = _one(text, "assumed-figures")
    assert (note.subject, note.severity) == ("D1.lock", Severity.NOTE)
    assert note.provisional == ("doors.D1.lock.picks up at",)
    # The same guess, and nothing hangs on it.
    lock = "{part: strike 24 V fail-secure, picks up at: about 15 V}"
    assert told(job(but(STRIKE, {"lock": lock})), Severity.NOTE) == []


def test_nothing_said_of_lever_or_bar_is_a_question_only_where_one_would_do() -> None:
    asked = _one(job(but(STRIKE, {"out by": "-"})), "no-way-out")
    assert (asked.severity, asked.provisional) == (Severity.NOTE, ("doors.D1.out by",))
    # No lever frees a magnet.
    magnet = but(MAGNET, {"out by": "-", "exit": "-"})
    assert _one(job(magnet), "no-way-out").severity is Severity.DANGER


# Waivers.


def _waived(door: Door, rule: str, **more: str) -> tuple[str, Finding]:
    """The job with a waiver of its only finding of that rule, and the finding as it was."""
    was = _one(job(door), rule)
    said = "".join(f", {k}: {v}" for k, v in more.items())
    waiver = f"finding: {was.id}, reason: Porter on duty., by: the site manager, date: 2026-02-11"
    return job(but(door, {"waivers": f"[{{{waiver}{said}}}]"})), was


OUTDOOR = but(STRIKE, {"controller": "keypad, outdoor"})


def test_a_waived_finding_is_a_note_with_the_waiver_printed() -> None:
    text, was = _waived(OUTDOOR, "relay-outside")
    assert was.severity is Severity.INSECURE
    note = _one(text, "relay-outside")
    assert (note.id, note.severity) == (was.id, Severity.NOTE)
    assert told(text) == []
    line = next(f for f in check(outcome(text), findings(text)).findings if f.id == was.id)
    assert "Waived by the site manager on 2026-02-11: Porter on duty." in line.why


def test_a_danger_cannot_be_waived() -> None:
    text, was = _waived(but(MAGNET, {"release": "-"}), "no-release")
    assert ("no-release", "D1.lock") in told(text, Severity.DANGER)
    assert _one(text, "waiver-refused").figures["name"] == was.id


def test_a_waiver_ends() -> None:
    text, was = _waived(OUTDOOR, "relay-outside", until="2027-02-11")
    assert told(text) == []
    on_the_day = judge(outcome(text), today="2027-02-11")
    assert [f.severity for f in on_the_day if f.id == was.id] == [Severity.NOTE]
    after = judge(outcome(text), today="2027-02-12")
    assert [f.severity for f in after if f.id == was.id] == [Severity.INSECURE]
    assert [f.rule for f in after if f.rule.startswith("waiver")] == ["waiver-over"]


def test_a_waiver_of_nothing_is_told() -> None:
    waiver = "[{finding: F00000, reason: None., by: the site manager, date: 2026-02-11}]"
    assert _one(job(but(STRIKE, {"waivers": waiver})), "waiver-idle").severity is Severity.NOTE


def test_the_site_may_waive_too() -> None:
    was = _one(job(OUTDOOR), "relay-outside")
    waiver = f"{{finding: {was.id}, reason: Fence., by: the site manager, date: 2026-02-11}}"
    text = job(OUTDOOR, site=f", waivers: [{waiver}]")
    assert told(text) == []


# Beyond the model.


@pytest.mark.parametrize(
    ("fact", "silent"),
    [
        ("delayed egress: yes", {"no-way-out"}),
        ("interlock: the inner door", {"no-way-out", "no-entry"}),
        ("anti-passback: yes", {"no-entry"}),
    ],
)
def test_what_is_beyond_the_model_gets_no_answer(fact: str, silent: set[str]) -> None:
    broken = but(STRIKE, {
        "out by": "nothing mechanical",
        "runs": "{power: 10 m of 2 x 1.0 mm², lock: 2 m of 2 x 1.0 mm²}",
        "found": "[{break: lock brown}]",
    })  # fmt: skip
    assert {"no-way-out", "no-entry"} <= {r for r, _ in told(job(broken))}
    name, _, value = fact.partition(": ")
    rules = {r for r, _ in told(job(but(broken, {name: value})))}
    assert "beyond-model" in rules
    assert not rules & silent
    assert {"no-way-out", "no-entry"} - silent <= rules


def test_beyond_the_model_a_fire_alarm_is_still_judged() -> None:
    delayed = but(MAGNET, {"fire": "-", "delayed egress": "yes"})
    assert {"beyond-model", "fire-alarm-stays-locked"} <= {r for r, _ in told(job(delayed))}


# Ways out.

FEED = (
    "[controller.+, exit grey, exit.COM], [exit.NO, exit pink, lock.+], "
    "[controller.-, lead, lock.-]"
)
"""A magnet fed through the contact of the exit device that closes as one wants to leave."""


@pytest.mark.parametrize(
    ("part", "own", "out"),
    [
        (
            "exit sensor",
            "[controller.+, exit white, exit.+], [controller.-, exit brown, exit.-]",
            False,
        ),
        ("exit button", "[exit.NC, exit white, open]", True),
    ],
)
def test_a_sensor_that_locks_as_one_walks_up_is_no_way_out(part: str, own: str, out: bool) -> None:
    """The door stands open until the sensor sees whoever comes and holds it shut. A button need not
    be pressed (common practice, no source)."""
    runs = "{power: 10 m of 2 x 1.0 mm², exit: 3 m of 8 x 0.22 mm²}"
    wiring = f"{{lock: [{FEED}], exit: [{own}]}}"
    changes = {"exit": part, "runs": runs, "wiring": wiring, "release": "-", "fire": "-"}
    rules = {rule for rule, _ in told(job(but(MAGNET, changes)))}
    assert "not-locked" in rules
    assert ("no-way-out" in rules) is not out


# The rest.


def test_a_dead_supply_runs_its_battery_flat() -> None:
    """7 Ah by what the controller takes at rest, 0.0388 A, is 180 h; no battery, no hours."""
    dead = "found: [{part: S1, state: supply dead}]"
    (told_of,) = (f for f in findings(job(STRIKE, more=dead)) if f.rule == "supply-dead")
    assert told_of.figures["flat_h"] == pytest.approx(7.0 / 0.0388, rel=1e-2)
    bare = job(STRIKE, supplies="S1: {part: supply 24 V, limit: 3 A}", more=dead)
    assert "supply-dead" not in {f.rule for f in findings(bare)}
    # With its battery dead, a supply gives all that the doors take.
    flat = job(STRIKE, more=dead.replace("supply dead", "battery dead"))
    assert "supply-dead" not in {f.rule for f in findings(flat)}
    # A battery that is a part of its own, 7 Ah too, carries the same controller at 12 V.
    twelve = but(STRIKE, {"lock": "strike 12 V fail-secure, diode", "diode": "-"})
    beside = "devices: {B1: battery 12 V 7 Ah}\nwiring: [[S1.+, lead, B1.+], [S1.-, lead, B1.-]]"
    text = job(twelve, supplies="S1: supply 12 V", more=f"{beside}\n{dead}")
    (told_of,) = (f for f in findings(text) if f.rule == "supply-dead")
    assert told_of.subject == "S1"
    assert float(told_of.figures["flat_h"]) * float(told_of.figures["idle_a"]) == pytest.approx(7.0)
    # It has no limit to speak of, and what it charges is nothing.
    (load,) = supply_loads(outcome(job(STRIKE, more=dead)))
    assert (load.dead, load.margin, load.charge_a) == (True, None, 0.0)


@pytest.mark.parametrize(
    ("part", "way"), [("lever with switch", "lever"), ("panic bar with switch", "panic bar")]
)
def test_what_can_be_worked_from_outside_is_called_what_it_is(part: str, way: str) -> None:
    """Common practice, no source: nobody looks for a button where a lever is."""
    exit_ = {"exit": f"{{part: {part}, place: outside}}"}
    assert _one(job(but(MAGNET, exit_)), "exit-from-outside").figures["way"] == way


def test_worst_first() -> None:
    found = findings(job(but(OUTDOOR, {"out by": "nothing mechanical", "users": "2000"})))
    severities = [f.severity for f in found]
    assert severities == sorted(severities)
    assert len(set(severities)) > 2


def test_missing_cores_come_before_what_comes_of_them() -> None:
    """A motor lock takes three cores: plus, minus and what starts it."""
    motor = {"lock": "motor lock 24 V", "controller at": "supply", "out by": "lever"}
    found = findings(job(but(STRIKE, {**motor, "runs": "{lock: 9 m of 2 x 1.0 mm²}"})))
    told = [f.rule for f in found if f.severity is Severity.FAILS]
    assert told.index("wiring-too-few-cores") < told.index("no-entry")


def test_doors_are_counted_as_people_count_them() -> None:
    doors = [but(PLAIN, {"out by": "nothing mechanical", "exit": "-"})] * 11
    found = [f.subject for f in findings(job(*doors)) if f.rule == "no-way-out"]
    assert found == [f"D{n}" for n in range(1, 12)]


def test_ids_differ_and_stay() -> None:
    text = job(but(MAGNET, {"release": "-"}), but(MAGNET, {"release": "-"}))
    ids = [f.id for f in findings(text)]
    assert len(ids) == len(set(ids))
    alone = job(but(MAGNET, {"release": "-"}))
    assert findings(alone)[0].id in ids


def test_situations_that_were_not_solved_are_told() -> None:
    site = outcome(job(STRIKE))
    nominal = site.outcomes["D1"][Case.NOMINAL]
    solved = np.array(nominal.solved)
    solved[7, 1] = False
    cases = {**site.outcomes["D1"], Case.NOMINAL: replace(nominal, solved=solved)}
    found = judge(replace(site, outcomes={"D1": cases}))
    assert [(f.rule, f.severity, f.situation) for f in found if f.severity <= Severity.WEAK] == [
        ("unsolved", Severity.WEAK, nominal.situations[7].key)
    ]


def test_a_latch_that_only_may_hold_in_a_fire_is_told() -> None:
    # 27.3 V over 150 and 171 ohm leave 14.5 V: it may pick up from 13.2 V, surely at 20.4 V.
    rated = but(STRIKE, {
        "lock": "strike 24 V fail-secure, fire-listed",
        "fire rating": "30 min",
        "fire": "fire relay, not held",
        "joints": "{J1: {resistance: 150 ohm}}",
        "wiring": "{fire: [[controller.+, lead, fire.COM], [fire.NO, lead, J1], "
        "[J1, lead, lock.+]]}",
    })  # fmt: skip
    rules = {r for r, _ in told(job(rated), Severity.DANGER)}
    assert rules == {"fire-alarm-latch-free"}


def test_every_text_can_be_said() -> None:
    text = job(
        but(MAGNET, {"release": "-", "fire": "-", "exit": "{part: button, place: outside}"}),
        but(STRIKE, {"controller": "keypad, outdoor", "users": "2000", "interlock": "D1"}),
        supplies=f"S1: {NO_BATTERY}",
    )
    lines = check(outcome(text), findings(text)).findings
    assert len(lines) > 5
    assert all("{" not in line.title + line.why + line.do for line in lines)


def test_a_door_beyond_the_model_gets_no_answer_in_its_line() -> None:
    text = job(
        but(STRIKE, {"delayed egress": "yes"}), but(STRIKE, {"anti-passback": "yes"}), STRIKE
    )
    lines = {d.id: d for d in check(outcome(text), findings(text)).doors}
    assert {(q.leave, q.leave_by) for q in lines["D1"].questions} == {(False, "beyond the model")}
    assert {q.enter_with_by for q in lines["D2"].questions} == {"beyond the model"}
    assert "beyond the model" not in {q.leave_by for q in lines["D2"].questions}
    assert {q.leave_by for q in lines["D3"].questions} == {"lever", "not locked"}


NOTHING_MECHANICAL = but(STRIKE, {"out by": "nothing mechanical", "exit": "button"})


def test_too_few_volts_hide_no_door_that_nothing_opens() -> None:
    """A thicker cable cures the one; without any power what current draws back stays locked."""
    thin = {"lock": "strike 24 V fail-secure", "runs": "{power: 95 m of 2 x 0.5 mm²}"}
    far = but(NOTHING_MECHANICAL, thin)
    left = {
        f.situation.partition("/")[0]: f.figures["left"]
        for f in findings(job(far))
        if f.rule == "exit-dies"
    }
    assert left == {"all lost": "nothing", "battery at its end": "marginal"}
    near = [f for f in findings(job(NOTHING_MECHANICAL)) if f.rule == "exit-dies"]
    assert [f.situation for f in near] == ["all lost/normal/exit request"]


def test_nobody_is_told_to_break_the_power_of_a_lock_that_current_frees() -> None:
    """Common practice, no source: a lock that current draws back stays locked without it."""
    motor = {"lock": "motor lock 24 V fail-secure", "diode": "-", "release": "release, double pole"}
    release = but(NOTHING_MECHANICAL, motor)
    for text in (job(NOTHING_MECHANICAL), job(release)):
        grave = [f for f in check(outcome(text), findings(text)).findings if f.severity == "danger"]
        assert len(grave) > 1
        for finding in grave:
            assert "a lever or bar that draws" in finding.do
            assert "both poles" not in finding.do
    held = job(but(MAGNET, {"release": "-"}))
    assert "both poles" in check(outcome(held), findings(held)).findings[0].do


def test_in_a_fire_nobody_is_told_to_cut_what_frees_the_lock() -> None:
    """Common practice, no source: as above, of fire contacts and bars. On a fire-rated door the
    strike is not to be energised either (NFPA 80, from memory)."""
    latch = {"fire rating": "30 min", "fire alarm": "{enter: unlocked, latch: stays}"}
    by_input = "{fire: [[controller.EXIT, lead, fire.COM], [controller.GND, lead, fire.NO]]}"
    told = {
        "fire-alarm-stays-locked": but(STRIKE, {"fire alarm": "unlocks"}),
        "latch": but(STRIKE, latch),
        "fire-alarm-keeps-in": but(
            NOTHING_MECHANICAL,
            {"fire": "fire relay", "fire alarm": "{enter: locked, leave: unlocked}"},
        ),
        "bar-frees-none": but(STRIKE, {"lock": "bolt 24 V fail-secure", "out by": "panic bar"}),
        "bar-frees-one": but(STRIKE, {"second lock": "bolt 24 V fail-secure"}),
        "relocks-in-fire": but(
            STRIKE,
            {"fire alarm": "unlocks", "fire": "fire relay, not held", "wiring": by_input},
        ),
        "escape-inward": but(STRIKE, {"escape direction": "inward"}),
    }
    text = job(*told.values())
    lines = check(outcome(text), findings(text)).findings
    for door, rule in enumerate(told, start=1):
        code = "fire-alarm-stays-locked" if rule == "latch" else rule
        [do] = [f.do for f in lines if f.door == f"D{door}" and f.rule == code]
        assert "that opens on alarm" not in do
        assert "the lock's power" not in do
        assert "this lock's power" not in do
        assert "the lock's own power" not in do
        assert ("closes on alarm" in do) is (rule == "fire-alarm-stays-locked")
        # A motor lock is fed all the time, and its IN must see no plus (as the arrangements have).
        assert ("its IN joined to its minus" in do) is (rule == "fire-alarm-stays-locked")
        assert ("so that the latch holds" in do) is (rule == "latch")


@pytest.mark.parametrize(
    "drawn",
    [
        {"held unlocked": "yes"},
        {"fire": "fire relay", "fire alarm": "{enter: unlocked, latch: stays}"},
    ],
)
def test_nobody_is_told_to_take_the_power_of_a_motor_lock_in_a_fire(drawn: dict[str, str]) -> None:
    """Common practice, no source: without power its bolt stays where it is, be it drawn; a contact
    between its minus and its IN throws it. A strike's keeper springs back."""
    for lock, said in (("motor lock 24 V", "its IN"), ("strike 24 V fail-secure", "the strike's")):
        text = job(but(STRIKE, {"lock": lock, "diode": "-", "fire rating": "30 min", **drawn}))
        told = check(outcome(text), findings(text)).findings
        [do] = [f.do for f in told if f.rule == "fire-door-energised"]
        assert said in do
        assert ("leave its bolt drawn" in do) is (said == "its IN")


def test_a_motor_lock_that_the_clock_holds_and_an_alarm_leaves_without_power_stays_drawn() -> None:
    """Common practice, no source: as above. Thrown before the alarm it stays thrown."""
    cut = (
        "{fire: [[controller.+, lead, fire.COM]], lock: [[fire.NO, lead, lock.+], "
        "[controller.-, lead, lock.-], [controller.-, lead, controller.COM], "
        "[controller.NO, lead, lock.IN]]}"
    )
    lines = {"lock": "motor lock 24 V", "diode": "-", "fire": "fire relay", "fire rating": "30 min"}
    door = but(STRIKE, {**lines, "wiring": cut})
    found = findings(job(door, but(door, {"held unlocked": "yes"})))
    drawn = [f for f in found if f.rule == "fire-door-energised"]
    assert [(f.subject, f.figures["also"]) for f in drawn] == [("D2.lock", "left")]


def test_a_door_that_is_never_locked_is_not_told_to_unlock_in_an_alarm() -> None:
    """Its strike on the wrong contact of a relay that is energised at rest, and no fire contact: it
    was told to be taken out of the feed."""
    idle = {"controller": '"controller, relay energised when idle"'}
    wrong = "[{moved: lock brown, from: controller.NC, to: controller.NO}]"
    runs = "{power: 10 m of 2 x 1.0 mm², lock: 2 m of 2 x 1.0 mm²}"
    found = findings(job(but(STRIKE, {**idle, "runs": runs, "found": wrong})))
    assert [f.rule for f in found if f.severity < Severity.NOTE] == ["not-locked"]
    # A core beside another, wet: 27.3 V × 192 / (192 + 110) = 17.4 V, less than the 20.4 V that it
    # surely picks up on and more than the 13.2 V that it surely does not. So too in an alarm.
    wet = "[{leak: [lock brown, power brown], resistance: 110 ohm}]"
    found = findings(
        job(but(STRIKE, {"lock": "strike 24 V fail-secure", "runs": runs, "found": wet}))
    )
    assert "fire-alarm-unlocks" not in {f.rule for f in found}
    assert [f.figures["how"] for f in found if f.rule == "not-locked"] == ["marginal"]


@pytest.mark.parametrize(
    ("supply", "metres", "told"), [(NO_BATTERY, 10, []), (SUPPLY, 10, []), (SUPPLY, 95, ["D1"])]
)
def test_a_strike_that_a_fire_contact_feeds_asks_no_more_than_a_battery_that_is_there(
    supply: str, metres: int, told: list[str]
) -> None:
    """With no battery the mains off is all power lost, of which the door's own words decide. With
    one at its end, 95 m of 0.5 mm² are 2 × 95 × 0.036 = 6.8 Ω (IEC 60228: 36 Ω/km at 20 °C) and the
    coil 24 / 0.125 = 192 Ω: of 21 V at most 20.28 reach it, and it needs 85 %, 20.4 V."""
    lines = {"lock": "strike 24 V fail-secure", "fire": "fire relay", "fire alarm": "unlocks"}
    door = but(STRIKE, {**lines, "runs": f"{{power: {metres} m of 2 x 0.5 mm²}}"})
    text = job(door, supplies=f"S1: {supply}")
    found = [f for f in findings(text) if f.rule == "fire-ahead-of-battery"]
    assert [f.subject for f in found] == told
    assert [f.figures["freed"] for f in found] == ["by current"] * len(told)
    rated = but(door, {"fire rating": "30 min", "fire alarm": "{enter: unlocked, latch: stays}"})
    text = job(rated, supplies=f"S1: {supply}")
    found = [f for f in findings(text) if f.rule == "fire-ahead-of-battery"]
    assert [f.figures["also"] for f in found] == ["by current"] * len(told)
    assert [f.figures["freed"] for f in found] == ["latch"] * len(told)


def test_a_battery_only_gains_time_on_an_isolator_outside() -> None:
    """Common practice, no source: what current holds lets go once the battery is flat."""
    found = _one(job(MAGNET, STRIKE, site=", isolator at: outside"), "isolator-outside")
    assert found.severity is Severity.NOTE
    assert found.figures == {"doors": "none", "later": "D1"}


def test_a_site_device_may_stand_inside() -> None:
    shared = but(MAGNET, {"release": "R1"})
    devices = 'devices: {R1: {part: "release, double pole", place: inside}}'
    assert "indoor-in-weather" not in {f.rule for f in findings(job(shared, more=devices))}


def test_alternating_current_at_one_door_leaves_the_others_as_they_are() -> None:
    """Common practice, no source: the relay joins no circuit to another, so that a controller on
    direct current may switch a lock on alternating current."""
    rows = (
        "[T1.A1, ac brown, controller.COM], [controller.NO, lead, lock.A1], "
        "[lock.A2, ac blue, T1.A2]"
    )
    beside = but(STRIKE, {"lock": "strike 12 V AC fail-secure", "diode": "-",
                          "cables": "{ac: 12 m of 2 x 1.0 mm²}",
                          "wiring": f"{{lock: [{rows}]}}"})  # fmt: skip
    swapped = but(STRIKE, {"found": "[{swapped: [power brown, power blue]}]"})
    text = job(
        beside,
        STRIKE,
        swapped,
        supplies=f'S1: {SUPPLY}\nT1: {{part: "transformer 12 V AC, large"}}',
    )
    found = {(f.rule, f.subject) for f in findings(text)}
    assert ("suppression-forbidden", "D2.diode") not in found
    assert ("polarity", "D3.controller") in found
    assert not any(rule == "wrong-current" for rule, _ in found)
    alone = {d.device: d.volts for d in outcome(job(STRIKE)).outcomes["D1"][Case.NOMINAL].locks}
    mixed = outcome(text).outcomes["D2"][Case.NOMINAL].locks[0]
    assert mixed.volts.max() == pytest.approx(alone["D1.lock"].max(), rel=0.02)


def test_a_reversed_diode_stands_before_what_comes_of_it() -> None:
    text = job(but(STRIKE, {"found": "[{part: diode, state: diode reversed}]"}))
    rules = [f.rule for f in findings(text)]
    assert rules[0] == "suppression-reversed"
    assert "chatter" in rules


def test_where_a_contact_stands_hangs_on_no_resistance_of_thin_cores() -> None:
    runs = "{power: 8 m of 3 x 1.0 mm², exit: 3 m of 4 x 0.22 mm²}"
    refuses = {"controller": "controller, tamper refuses everyone", "reader": "-", "runs": runs}
    assert _one(job(but(MAGNET, refuses)), "exit-dies").provisional == ()
    thin = but(MAGNET, {"lock": "magnet 12 V", "runs": "{power: 20 m of 4 x 0.22 mm²}"})
    found = findings(job(thin, supplies="S1: {part: supply 12 V, limit: 3 A, battery: 12 V 7 Ah}"))
    low = [f for f in found if f.rule in ("volts-low", "pull-low", "restarts")]
    assert low
    assert all("catalogue.4 x 0.22 mm²" in f.provisional for f in low)


def test_a_battery_alone_is_a_supply_of_its_own_volts() -> None:
    """Common practice, no source: a 12 V battery feeds 12 V devices, and is too little for 24 V;
    two blocks in series make 24 V."""

    def fed(lock: str, more: str = "") -> set[str]:
        text = f"""
latchwork: 1
supplies: {{B1: {{part: battery 12 V 7 Ah{more}}}}}
doors:
  D1:
    supply: B1
    out by: lever
    lock: {lock}
    diode: diode
    controller: controller
    controller at: door
    runs: {{power: 3 m of 2 x 1.0 mm²}}
"""
        return {f.subject for f in findings(text) if f.rule == "wrong-voltage"}

    assert fed("strike 12 V fail-secure") == set()
    assert fed("strike 24 V fail-secure") == {"D1.lock"}
    assert fed("strike 24 V fail-secure", ", battery blocks: 2") == set()


@pytest.mark.parametrize(
    ("last", "joined"),
    [
        ("[S1.3, lead, S1.4]", "S1.1 + S1.2, S1.3 + S1.4"),
        ("[S1.2, lead, S1.3]", "S1.1 + S1.2 + S1.3"),
    ],
)
def test_all_outputs_of_a_supply_that_are_joined_are_told(last: str, joined: str) -> None:
    """Common practice, no source: whoever parts the first pair has not parted the second."""
    fuses = ", ".join(f"{n}: {{fuse: 1 A}}" for n in range(1, 5))
    supply = f"S1: {{part: supply 24 V, limit: 3 A, outputs: {{{fuses}}}}}"
    text = job(PLAIN, supplies=supply, more=f"wiring: [[S1.1, lead, S1.2], {last}]")
    assert _one(text, "outputs-joined").figures["joined"] == joined


def test_a_fuse_is_told_of_at_its_worst_whichever_door_comes_first() -> None:
    """One fuse of 0.2 A feeds a strike of 0.125 A and a bolt of 0.3 A at 24 V, with controllers of
    1.7 W each, 62 mA at the 27.3 V of the float: 0.12 A at rest; some 0.12 + 0.14 = 0.26 A with
    the strike granted, which is too much for it, and 0.12 + 0.34 = 0.46 A with the bolt, where at
    twice its rating (common practice, no source) it blows."""
    strike = "  D1: {lock: strike 24 V fail-secure}\n"
    bolt = "  D2: {lock: bolt 24 V fail-secure}\n"
    head = (
        "latchwork: 1\nsupplies: {S1: {part: supply 24 V, outputs: {1: {fuse: 0.2 A}}}}\n"
        "usual: {supply: S1 out 1, out by: lever, controller: controller, controller at: supply,"
        " runs: {lock: 10 m of 2 x 1.5 mm²}}\ndoors:\n"
    )
    told = [
        {(f.rule, f.situation) for f in findings(head + doors) if f.subject == "S1.fuse 1"}
        for doors in (strike + bolt, bolt + strike)
    ]
    assert told == [{("fuse-blows", "mains/normal/card or code")}] * 2
    less = head.replace("0.2 A", "0.4 A")
    currents = [
        [f.figures["current_a"] for f in findings(less + doors) if f.rule == "fuse-overload"]
        for doors in (strike + bolt, bolt + strike)
    ]
    assert currents[0] == pytest.approx(currents[1])
    assert currents[0] == pytest.approx([0.46], abs=0.03)


# One supply of several lost, at a door with several exit devices.

BUTTONS = but(MAGNET, {"second exit": "button", "fire": "F1"})
ON_TWO = but(
    MAGNET,
    {
        "supply": "S2",
        "controller": "controller 12 V",
        "reader": "-",
        "second exit": "button",
        "release": "-",
        "fire": "F1",
        "runs": "{power: 8 m of 2 x 1.0 mm², lock: 8 m of 2 x 1.0 mm²}",
        "wiring": "{fire: [], lock: [[F1.NO, lock brown, controller.COM],"
        " [controller.NC, lead, lock.+], [lock.-, lock blue, S1.-]]}",
    },
)
"""Its magnet hangs on S1 behind the fire contact of its neighbour, its controller on S2."""
TWO_SUPPLIES = "S1: {part: supply 24 V, limit: 3 A}\nS2: {part: supply 12 V, limit: 2 A}"


def test_any_of_two_buttons_asks_while_one_supply_is_lost() -> None:
    # By hand: with S2 gone, D2's controller is dead and its magnet holds on. D1 takes nothing of
    # S2, so either of its buttons works on.
    text = job(BUTTONS, ON_TWO, supplies=TWO_SUPPLIES, more="devices: {F1: fire relay}")
    dying = [(f.subject, f.situation) for f in findings(text) if f.rule == "exit-dies"]
    assert dying == [("D2", "one supply lost/normal/exit request (S2)")]
    left = {s.which: s.leave.by for s in outcome(text).states["D1"] if s.power is Power.ONE_LOST}
    assert left == {"S1": "not locked", "S2": "exit"}


def test_supplies_with_their_pluses_joined_are_one_mistake_in_whatever_order_they_stand() -> None:
    """Three supplies on one bar are one thing to part, not three; S2 before S10."""
    made = [f"{name}: {SUPPLY}" for name in ("S1", "S2", "S10")]
    rows = [f"[{name}.{end}, lead, S1.{end}]" for name in ("S2", "S10") for end in "+-"]
    told = set()
    for supplies in permutations(made):
        text = job(STRIKE, supplies="\n".join(supplies), more=f"wiring: [{', '.join(rows)}]")
        joined = _one(text, "pluses-joined")
        told.add((joined.subject, joined.figures["other"]))
    assert told == {("S1", "S2, S10")}


@pytest.mark.parametrize("lock", ["motor lock 24 V", "motor lock 24 V fail-secure"])
@pytest.mark.parametrize(("metres", "rule"), [(60, "exit-dies"), (150, "no-way-out")])
def test_a_motor_moves_no_bolt_with_the_volts_that_are_there_while_it_stands(
    lock: str, metres: int, rule: str
) -> None:
    """By hand: 0.5 A over 150 m out and back of 0.22 mm² (copper of 1/58 ohm mm²/m, IEC 60028, from
    memory: 78 ohm/km) lose 12 V of 27.3, and the motor stops below 18.8 V; over 60 m they lose 5 V,
    and the door opens on mains. That the lock has 27 V as it is asked moves nothing."""
    ohm_m = 1 / 58 / 0.22
    assert 27.3 - 0.5 * 2 * 150 * ohm_m < 18.8 < 27.3 - 0.5 * 2 * 60 * ohm_m
    runs = f"{{lock: {metres} m of 4 x 0.22 mm², exit: 3 m of 4 x 0.22 mm²}}"
    asked = but(STRIKE, {"lock": lock, "diode": "-", "exit": "button", "controller at": "supply"})
    text = job(but(asked, {"out by": "nothing mechanical", "runs": runs}))
    ways_out = {"exit-dies", "no-way-out"}
    assert {r for r, _ in told(text, Severity.DANGER)} & ways_out == {rule}


@pytest.mark.parametrize("nudge_v", [-1e-12, 0.0, 1e-12])
def test_of_equal_volts_the_first_situation_is_told(nudge_v: float) -> None:
    """A card and the button put the same volts on a strike; which of them is named, and with it the
    finding's name, hangs on no rounding."""
    least = outcome(job(but(STRIKE, {"exit": "button"}))).outcomes["D1"][Case.LEAST_VOLTS]
    (lock,) = least.locks
    pushed = [s.event is Event.EXIT for s in least.situations]
    volts = lock.volts + np.where(pushed, nudge_v, 0.0)[:, None]
    found = worst_volts(replace(lock, volts=volts), least)
    assert found is not None
    assert least.situations[found[1]].event is Event.CREDENTIAL


@pytest.mark.parametrize(("on", "told"), [("other leaf", False), ("same leaf", True)])
def test_a_bolt_on_the_leaf_that_nobody_uses_keeps_nobody_in(on: str, told: bool) -> None:
    """The lever draws the latch of the active leaf alone, and that leaf opens (glossary: lever)."""
    bolted = {"second lock": "bolt 24 V fail-secure", "active leaf": "left"}
    lever = {"lock": "strike 24 V fail-secure, diode", "diode": "-", "second lock on": on}
    rules = {f.rule for f in findings(job(but(STRIKE, {**bolted, **lever})))}
    assert ("bar-frees-one" in rules) is told
    assert "no-way-out" not in rules


@pytest.mark.parametrize("other", ["{part: battery 12 V 7 Ah, battery blocks: 2}", "supply 24 V"])
def test_a_source_across_another_the_wrong_way_round_is_told_itself(other: str) -> None:
    """The controller is wired as its supply is: what is swapped is what was put across it."""
    text = job(
        STRIKE,
        supplies=f"S1: {{part: supply 24 V, limit: 3 A}}\nX1: {other}",
        more="wiring: [[X1.+, lead, S1.-], [X1.-, lead, S1.+]]",
    )
    assert [f.subject for f in findings(text) if f.rule == "polarity"] == ["X1"]


def test_what_mends_one_side_of_a_stair_door_does_not_shut_out_the_other() -> None:
    """Stair doors needing re-entry take a fail-safe lock or trim, not a strike of either kind (NFPA
    80, trade articles)."""
    stair = but(STRIKE, {"fire rating": "60 min", "closer": "yes", "escape direction": "both"})
    for lock, rule in (
        ("strike 24 V fail-safe, diode", "fire-door-fail-safe"),
        ("strike 24 V fail-secure, fire-listed", "escape-inward"),
    ):
        text = job(but(stair, {"lock": f'"{lock}"', "power lost": "-", "fire alarm": "-"}))
        lines = check(outcome(text), findings(text)).findings
        (told_of,) = (line for line in lines if line.rule == rule)
        assert "lock or trim" in told_of.do
        assert "strike and" not in told_of.do


def test_a_controller_without_a_battery_is_one_mistake_on_a_fresh_one_and_at_its_end() -> None:
    """The magnet's supply has one (common practice, no source: one mistake, one line)."""
    rows = (
        "{lock: [[S2.+, lead, controller.COM], [controller.NC, lead, lock.+], "
        "[lock.-, lead, S2.-]]}"
    )
    apart = but(MAGNET, {"fire": "-", "fire alarm": "-", "release": "-", "wiring": rows})
    found = findings(job(apart, supplies=f"S1: {NO_BATTERY}\nS2: {SUPPLY}"))
    keys = [f.situation for f in found if f.rule == "no-entry"]
    assert keys == ["battery/normal/card or code"]
