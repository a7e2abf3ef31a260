"""A job with its parts: every figure resolved, where it came from, and what cannot be used."""

from __future__ import annotations

import pytest

from latchwork.elements import Certainty, Fuse
from latchwork.job import JobErrors, read_job_text
from latchwork.parts import catalogue
from latchwork.plan import Plan, plan
from latchwork.plan.fit import misfit

HEAD = """latchwork: 1
supplies:
  S1:
    part: supply 24 V
    limit: 5 A
    battery: 2 x 12 V 17 Ah
    outputs: {1: {fuse: 1.0 A}, 2: {fuse: none}}
"""


def planned(text: str, head: str = HEAD) -> Plan:
    """The plan of a job."""
    return plan(read_job_text(head + text, "job.yaml"), catalogue())


def one_door(fields: str, head: str = HEAD) -> Plan:
    """The plan of a job with one door, D1."""
    return planned(f"doors:\n  D1: {fields}\n", head)


def test_a_figure_of_the_job_wins_and_says_where_it_stands() -> None:
    found = one_door("{lock: {part: magnet 24 V, holds down to: 20.4 V}}")
    assert found.devices["D1.lock"].part.figures["surely_hold_v"].value == 20.4
    said = found.provenance["D1.lock.surely_hold_v"]
    assert said.path == "doors.D1.lock.holds down to"
    assert said.certainty is Certainty.DATA_SHEET
    plain = found.provenance["D1.lock.nominal_v"]
    assert plain.path == "catalogue.magnet 24 V"
    assert plain.certainty is Certainty.CATALOGUE


def test_every_figure_of_every_device_and_cable_has_a_provenance() -> None:
    found = one_door(
        "{supply: S1 out 1, lock: strike 24 V fail-secure, controller: controller,"
        " runs: {power: 18 m of 2 x 1.0 mm²}}"
    )
    wanted = {
        f"{device.id}.{name}" for device in found.devices.values() for name in device.part.figures
    } | {"D1.power.length_m", "D1.power.ohm_per_m"}
    assert found.provenance.keys() == wanted


def test_a_supply_has_its_battery_and_its_fuses() -> None:
    supply = one_door("{lock: magnet 24 V}").supplies["S1"]
    assert supply.outputs == ("1", "2")
    assert supply.battery_blocks == 2
    assert supply.battery_ah is not None
    assert supply.battery_ah.value == 17.0
    fuses = {e.name: e for e in supply.device.part.elements if isinstance(e, Fuse)}
    assert fuses["fuse 1"].rating_a == 1.0
    # An output without a fuse never blows and has next to no resistance.
    assert fuses["fuse 2"].blows_at_a > 1e5
    assert fuses["fuse 2"].ohm.high < 1e-6


def test_a_guessed_length_has_a_range_and_an_unknown_one_is_assumed_and_says_so() -> None:
    found = one_door(
        "{lock: magnet 24 V, runs: {power: about 20 m of 2 x 1.0 mm²,"
        " lock: unknown of 2 x 1.5 mm²}}"
    )
    guess = found.cables["D1.power"].length_m
    assert guess.low < 20.0 < guess.high
    assert guess.certainty is Certainty.GUESSED
    unknown = found.cables["D1.lock"].length_m
    assert unknown.low < unknown.value < unknown.high
    assert unknown.certainty is Certainty.UNKNOWN
    assert found.provenance["D1.lock.length_m"].certainty is Certainty.UNKNOWN


def test_a_measured_loop_is_two_cores_over_the_whole_length() -> None:
    """3.7 Ω measured on 22 m is 84 Ω/km a core: a thin alarm cable's figure, by hand."""
    found = one_door(
        "{lock: magnet 24 V, runs: {lock: {cable: 2 x 0.22 mm², length: 22 m,"
        " loop resistance: measured 3.7 ohm}}}"
    )
    cable = found.cables["D1.lock"]
    assert cable.type.ohm_per_m.value == pytest.approx(0.0840909, rel=1e-6)
    assert cable.type.ohm_per_m.certainty is Certainty.MEASURED


@pytest.mark.parametrize("length", ["about 22 m", "unknown"])
def test_what_was_measured_does_not_spread_with_a_length_that_nobody_measured(length: str) -> None:
    """3.7 Ω of two cores are 1.85 Ω of one, be they 10 m or 50 m long."""
    found = one_door(
        f"{{lock: magnet 24 V, runs: {{lock: {{cable: 2 x 0.22 mm², length: {length},"
        " loop resistance: measured 3.7 ohm}}}"
    )
    ohm = found.cables["D1.lock"].core_ohm
    assert (ohm.low, ohm.value, ohm.high) == (1.85, 1.85, 1.85)
    assert ohm.certainty is Certainty.MEASURED


@pytest.mark.parametrize(("said", "ohm"), [("measured 3.7 ohm", 1.85), ("3.7 ohm", 2.2)])
def test_what_was_measured_of_a_loop_stands_before_ohms_per_metre(said: str, ohm: float) -> None:
    """A meter at the very loop has joints and length in it; 100 Ω/km over 22 m are 2.2 Ω a core."""
    found = one_door(
        "{lock: magnet 24 V, runs: {lock: {cable: 2 x 0.22 mm², length: 22 m,"
        f" resistance: 100 ohm/km, loop resistance: {said}}}}}}}"
    )
    assert found.cables["D1.lock"].core_ohm.value == pytest.approx(ohm)
    assert found.cables["D1.lock"].type.ohm_per_m.value == pytest.approx(ohm / 22)


def test_a_core_resistance_and_one_per_metre_and_where_it_runs() -> None:
    found = one_door(
        "{lock: magnet 24 V, runs: {lock: {cable: 2 x 1.0 mm², length: 20 m,"
        " core resistance: 0.4 ohm, current limit: 6 A, temperature: -5 to 50 °C},"
        " power: {cable: 2 x 1.0 mm², length: 20 m, resistance: 19.5 ohm/km}}}"
    )
    assert found.cables["D1.lock"].type.ohm_per_m.value == pytest.approx(0.02)
    assert found.cables["D1.lock"].type.limit_a == 6.0
    where = found.cables["D1.lock"].temperature_c
    assert where is not None
    assert (where.low, where.high) == (-5.0, 50.0)
    assert found.cables["D1.power"].type.ohm_per_m.value == pytest.approx(0.0195)


@pytest.mark.parametrize(
    ("fields", "slot", "place"),
    [
        ("{controller: controller}", "controller", "inside"),
        ("{controller: controller, controller at: supply}", "controller", "supply"),
        ("{controller: controller, controller at: outside}", "controller", "outside"),
        ('{controller: "keypad, outdoor"}', "controller", "outside"),
        ('{controller: "keypad, outdoor", reader: reader}', "controller", "inside"),
        ('{controller: "controller, reader outside", reader: reader}', "reader", "outside"),
        ("{lock: magnet 24 V}", "lock", "door"),
        ("{exit: button}", "exit", "inside"),
        ("{exit: {part: button, place: in the hall}}", "exit", "in the hall"),
        ("{fire: fire relay, controller at: supply}", "fire", "supply"),
        # Said or left to be understood, the keypad is outside and the relays are not; common
        # practice, no source.
        ('{controller: "keypad, outdoor", fire: fire relay}', "fire", "inside"),
        ("{controller: controller, controller at: outside, fire: fire relay}", "fire", "inside"),
        ("{controller: controller, controller at: weather, relay: relay}", "relay", "inside"),
    ],
)
def test_where_devices_stand(fields: str, slot: str, place: str) -> None:
    assert one_door(fields).devices[f"D1.{slot}"].place == place


def test_shared_devices_stand_beside_the_supply_and_are_there_once() -> None:
    found = planned(
        """devices: {F1: fire relay, C1: "controller, two doors"}
doors:
  D1: {lock: magnet 24 V, fire: F1, controller: C1 way 1}
  D2: {lock: magnet 24 V, fire: F1, controller: C1 way 2}
"""
    )
    assert found.devices["F1"].place == "supply"
    assert found.devices["F1"].door == ""
    assert found.doors["D1"].devices["fire"] == found.doors["D2"].devices["fire"] == "F1"
    assert found.doors["D2"].devices["controller"] == "C1"


def test_the_same_part_used_twice_is_worked_out_once() -> None:
    found = planned(
        "doors:\n  D1: {lock: magnet 24 V}\n  D2: {lock: magnet 24 V}\n"
        "  D3: {lock: {part: magnet 24 V, holds down to: 20 V}}\n"
    )
    assert found.devices["D1.lock"].part is found.devices["D2.lock"].part
    assert found.devices["D1.lock"].part is not found.devices["D3.lock"].part


@pytest.mark.parametrize(
    "device", ["second lock: {part: magnet 24 V", "controller: {part: controller"]
)
def test_a_supply_is_not_taken_where_it_would_not_be_wired(device: str) -> None:
    """The standard arrangement feeds a lock from a supply of its own, and no other device: to take
    the word and wire the door's supply would be to answer for a site that nobody has."""
    with pytest.raises(JobErrors) as caught:
        planned(f"doors:\n  D1:\n    lock: magnet 24 V\n    {device}, supply: S1 out 1}}\n")
    (problem,) = caught.value.problems
    slot = device.partition(":")[0]
    assert (problem.code, problem.found) == ("supply.slot", "S1 out 1")
    assert problem.field == f"doors.D1.{slot}.supply"
    assert problem.expected.endswith(f"wire {slot} by rows")
    rows = "    wiring: {lock: [[S1.1, lead, lock.+], [S1.-, lead, lock.-]]}\n"
    door = f"doors:\n  D1:\n    lock: magnet 24 V\n    {device}, supply: S1 out 1}}\n{rows}"
    assert planned(door).doors["D1"].devices[slot]


def test_nor_is_one_of_what_doors_share() -> None:
    """A shared exit sensor hangs on its door's supply: one of its own is wired by rows alone."""
    site = "devices: {X1: {part: exit sensor, supply: S1 out 1}}\ndoors:\n  D1:\n    exit: X1\n"
    with pytest.raises(JobErrors) as caught:
        planned(f"{site}    lock: magnet 24 V\n")
    (problem,) = caught.value.problems
    assert (problem.code, problem.found) == ("supply.slot", "S1 out 1")
    assert problem.field == "devices.X1.supply"
    rows = "    wiring: {exit: [[S1.1, lead, X1.+], [S1.-, lead, X1.-]]}\n"
    assert planned(f"{site}    lock: magnet 24 V\n{rows}").doors["D1"].devices["exit"] == "X1"


def test_a_lock_of_a_timed_supply_has_no_other() -> None:
    """A timed supply works the lock by its own output: another's would be read and not wired."""
    head = HEAD.replace("  S1:", "  S2: {part: timed supply 12 V}\n  S1:")
    fields = "{supply: S2, lock: {part: strike 12 V fail-secure, supply: S1 out 1}}"
    with pytest.raises(JobErrors) as caught:
        one_door(fields, head)
    (problem,) = caught.value.problems
    assert (problem.code, problem.field) == ("supply.slot", "doors.D1.lock.supply")


def test_everything_that_cannot_be_used_is_told_at_once_with_its_line() -> None:
    with pytest.raises(JobErrors) as caught:
        planned(
            """devices: {C1: "controller, two doors"}
cables: {trunk: 30 m of 2 x 9 mm²}
doors:
  D1:
    supply: S1 out 3
    lock: {part: magnet 24 V, hold down to: 20.4 V}
    controller: C1 way 3
    exit: buton
  D2:
    lock: {part: strike 24 V fail-secure, current: 12 V, supply: S2}
    runs: {power: 18 m of 2 x 1.1 mm²}
"""
        )
    first = HEAD.count("\n")
    told = {(p.line - first, p.code, p.found) for p in caught.value.problems}
    assert told == {
        (2, "cable.unknown", "2 x 9 mm²"),
        (5, "supply.output", "S1 out 3"),
        (6, "part.word", "hold down to"),
        (7, "device.way", "way 3"),
        (8, "part.unknown", "buton"),
        (10, "part.unit", "12 V"),
        (10, "supply.unknown", "S2"),
        (11, "cable.unknown", "2 x 1.1 mm²"),
    }
    by_code = {p.code: p for p in caught.value.problems}
    assert "holds down to" in by_code["part.word"].expected
    assert by_code["part.word"].field == "doors.D1.lock.hold down to"
    assert "button" in by_code["part.unknown"].expected


def test_an_output_that_is_not_there_is_told_as_one_writes_them() -> None:
    """Of a supply without outputs by number "+" was told, which nobody writes."""
    without = "latchwork: 1\nsupplies: {S1: {part: supply 24 V}}\n"
    for head, expected in (
        (without, "S1 alone, or at S1 outputs: {1: {fuse: 1 A}}"),
        (HEAD, "one of: S1 out 1, S1 out 2"),
    ):
        with pytest.raises(JobErrors) as caught:
            one_door("{supply: S1 out 3}", head)
        assert [problem.expected for problem in caught.value.problems] == [expected]


def test_what_cannot_be_a_lock_is_not_told_as_the_nearest_lock() -> None:
    """Common practice, no source: a transformer locks nothing. It stood there as what to write."""
    with pytest.raises(JobErrors) as caught:
        planned("doors:\n  D1: {lock: Türöffner 12 V}\n  D2: {lock: strke 24 V fail-secure}\n")
    other, near = (problem.expected for problem in caught.value.problems)
    assert "transformer" not in other
    assert near.startswith("strike 24 V fail-secure")


def test_a_usual_part_that_does_not_exist_is_told_where_it_is_written() -> None:
    with pytest.raises(JobErrors) as caught:
        planned("usual: {lock: stryke 24 V}\ndoors:\n  D1: {exit: button}\n  D2: {exit: button}\n")
    assert [p.line - HEAD.count("\n") for p in caught.value.problems] == [1]


@pytest.mark.parametrize(
    ("fields", "found"),
    [
        ("{lock: button}", "button"),
        ("{lock: supply 24 V}", "supply 24 V"),
        ("{second lock: bell 24 V}", "bell 24 V"),
        ("{controller: reader}", "reader"),
        ("{reader: controller}", "controller"),
        ("{exit: magnet 24 V}", "magnet 24 V"),
        ("{timer: radio receiver}", "radio receiver"),
        ("{diode: varistor}", "varistor"),
        # These have the screws that wiring needs there, and nothing that is done there moves them.
        ("{exit: fuse 1 A}", "fuse 1 A"),
        ("{second exit: fire relay}", "fire relay"),
        ("{release: exit button}", "exit button"),
        ("{fire: door contact}", "door contact"),
        ("{contact: polymer fuse 0.5 A}", "polymer fuse 0.5 A"),
        ("{bar: button}", "button"),
        ("{radio: exit sensor}", "exit sensor"),
        ("{bell: battery 12 V 7 Ah}", "battery 12 V 7 Ah"),
        ("{bell button: door contact}", "door contact"),
        ("{varistor: fuse 1 A}", "fuse 1 A"),
        # Whoever presses a button has no right by that, as one with the key has.
        ("{key switch: button}", "button"),
    ],
)
def test_a_part_that_cannot_be_what_its_slot_says(fields: str, found: str) -> None:
    with pytest.raises(JobErrors) as caught:
        one_door(fields)
    assert [(p.code, p.found) for p in caught.value.problems] == [("part.slot", found)]


def test_what_is_no_part_at_all_is_told_with_what_fits() -> None:
    with pytest.raises(JobErrors) as caught:
        one_door('{reader: "6 x 0.22 mm²"}')
    assert [(p.code, p.expected) for p in caught.value.problems] == [("part.unknown", "a reader")]


def test_every_part_of_the_catalogue_fits_where_it_is_for() -> None:
    for spec in catalogue().specs():
        for slot in spec.slots:
            assert misfit(slot, spec.resolve()) == "", (slot, spec.name)


def test_a_supply_must_be_one() -> None:
    with pytest.raises(JobErrors) as caught:
        one_door("{exit: button}", "latchwork: 1\nsupplies: {S1: magnet 24 V}\n")
    assert [(p.code, p.field) for p in caught.value.problems] == [("part.slot", "supplies.S1")]
