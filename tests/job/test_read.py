"""Everything a job file can say, read into the model."""

from __future__ import annotations

import pytest

from latchwork.job import (
    DeviationKind,
    Duty,
    Job,
    Joint,
    Locking,
    Origin,
    OutBy,
    PartUse,
    Row,
    read_job_text,
)
from latchwork.quantities import Certainty
from tests.job.samples import EVERYTHING, door, read

LOCKED, UNLOCKED = Locking.LOCKED, Locking.UNLOCKED


@pytest.fixture(scope="module")
def job() -> Job:
    return read_job_text(EVERYTHING, "job.yaml")


def test_site(job: Job) -> None:
    site = job.site
    assert (site.name, site.reference) == ("Millpond pottery", "2026-014")
    assert site.mains_v is not None
    assert site.mains_hz is not None
    assert (site.mains_v.value, site.mains_hz.value) == (120.0, 60.0)
    assert site.ambient_c is not None
    assert (site.ambient_c.low, site.ambient_c.high) == pytest.approx((-10.0, 37.7778), abs=1e-4)
    assert site.standby_h is not None
    assert (site.standby_h.value, site.standby_h.unit) == (24.0, "h")
    assert (site.rule_set, site.time_zone) == ("US model codes", "America/Chicago")
    assert (site.units, site.language) == ("US", "en")
    assert site.facts == {
        "users": 25,
        "grants an hour": 40,
        "installer code changed": True,
        "authority": "the county fire officer",
        "edition": "2021",
    }
    assert site.waivers == (
        {
            "finding": "F3A90C",
            "reason": "Porter on duty.",
            "by": "the site manager",
            "date": "2026-02-11",
        },
    )


def test_no_hours_on_battery_may_be_said() -> None:
    """In the words of the interview's answer."""
    assert read_job_text("latchwork: 1\nsite: {standby: none}\n", "job.yaml").site.standby_h is None


def test_a_file_that_says_little_has_the_defaults() -> None:
    job = read("doors: {D1: {lock: magnet 12 V}}\n")
    assert (job.site.rule_set, job.site.time_zone, job.site.units) == ("general", "UTC", "metric")
    assert job.doors["D1"].name == "D1"
    assert job.doors["D1"].outside == "inside"


def test_supply(job: Job) -> None:
    supply = job.supplies["S1"]
    assert supply.use.part == "supply 24 V"
    assert {k: v.value for k, v in supply.use.figures.items()} == {
        "limit": 5.0,
        "folds back to": 0.5,
    }
    assert supply.use.settings == {"returns by itself": False}
    assert supply.place == "plant room"
    assert supply.battery is not None
    assert supply.battery_blocks == 2
    assert {k: v.value for k, v in supply.battery.figures.items()} == {
        "voltage": 12.0,
        "capacity": 17.0,
        "age": 3 * 365.25 * 86400.0,
    }
    fuses = {name: (use.part, sorted(use.figures)) for name, use in supply.outputs.items()}
    assert fuses == {
        "1": ("fuse", ["rating"]),
        "2": ("polymer fuse", ["rating", "resistance"]),
        "3": ("none", []),
    }


def test_supply_by_name_alone(job: Job) -> None:
    supply = job.supplies["S2"]
    assert supply.use == PartUse("transformer 12 V")
    assert (supply.battery, supply.battery_blocks, supply.outputs) == (None, 0, {})


def test_site_devices(job: Job) -> None:
    assert job.devices["F1"] == PartUse("fire relay")
    assert job.devices["C1"].part == "controller, two doors"
    assert job.devices["C1"].figures["relay time"].value == 7.0
    assert job.device_supplies == {"C1": "S1.2"}


def test_shared_cables_taps_joints_and_rows(job: Job) -> None:
    trunk = job.cables["trunk"]
    assert trunk.cable == "2 x 2.5 mm²"
    assert trunk.length_m is not None
    assert (trunk.length_m.value, trunk.length_m.certainty) == (46.0, Certainty.GUESSED)
    tap = job.taps["K1"]
    assert (tap.on, tap.at_m.value, tap.from_end) == ("trunk", 21.0, "S1")
    joint = job.joints["J9"]
    assert joint.ohm is not None
    assert (joint.place, joint.made, joint.ohm.value) == ("riser", "crimp", 0.02)
    assert job.wiring == (
        Row("S1.1", (("trunk", "brown"),), "open", "wiring.1"),
        Row("S1.-", (("trunk", "blue"),), "J9", "wiring.2"),
    )
    (broken,) = job.found
    assert (broken.kind, broken.subjects) == (DeviationKind.BREAK, ("trunk.brown",))


def test_usual_values_merge_key_by_key(job: Job) -> None:
    d1, d2, d3 = (job.doors[name] for name in ("D1", "D2", "D3"))
    assert d1.devices["lock"].figures["resistance"].value == 96.0
    assert d1.runs.keys() == {"power", "reader", "exit"}
    assert d1.shared == {"fire": "F1"}
    # Another part takes none of the usual figures.
    assert d2.devices["lock"].figures.keys() == {"holds down to"}
    # One that names no part keeps the usual one and its other figures.
    assert d3.devices["lock"].part == "strike 24 V fail-secure"
    assert d3.devices["lock"].figures["resistance"].value == 90.0
    assert d3.out_by is OutBy.PANIC_BAR


def test_usual_values_say_the_same_as_their_words_in_the_door() -> None:
    usual = "out by: lever, lock: {part: magnet 12 V, holds down to: 10 V}, exit: button"
    runs = "runs: {exit: 3 m of 4 x 0.22 mm²}, power lost: unlocks, gap: 3 mm, supply: S1"
    site = "supplies: {S1: supply 12 V}\n"
    spelt_out = door(f"{usual}, {runs}", site)
    assert door("", f"{site}usual: {{{usual}, {runs}}}\n") == spelt_out
    assert door(usual, f"{site}usual: {{{runs}, lock: strike 24 V, exit: none}}\n") == spelt_out


def test_none_takes_a_usual_device_or_run_away(job: Job) -> None:
    d2 = job.doors["D2"]
    assert "reader" not in d2.devices
    assert d2.runs.keys() == {"reader", "lock"}


def test_a_door_takes_a_site_device_by_its_id_and_way(job: Job) -> None:
    d2 = job.doors["D2"]
    assert d2.shared == {"controller": "C1.2", "fire": "F1"}
    assert "controller" not in d2.devices


def test_a_door_in_full(job: Job) -> None:
    d2 = job.doors["D2"]
    assert (d2.name, d2.outside, d2.supply) == ("Shop: front", "weather", "S1")
    assert d2.devices["lock"].settings == {"contact": "NO"}
    assert d2.devices["exit"].place == "by the till"
    assert job.doors["D3"].controller_at == "the plant room"
    run = d2.runs["lock"]
    assert run.length_m is not None
    assert run.length_m.certainty is Certainty.MEASURED
    assert run.length_m.value == pytest.approx(12.192)
    assert run.figures["loop resistance"].value == 0.6
    assert d2.facts["sign"] == "PUSH TO EXIT"
    assert d2.facts["leaves"] == 2
    height = d2.facts["release height"]
    assert not isinstance(height, str | int)
    assert height.value == pytest.approx(1.143)


def test_cable_types_are_written_one_way(job: Job) -> None:
    assert job.doors["D1"].runs["reader"].cable == "6 x 0.22 mm²"
    # As what is not written so has no other size: no remedy, and no row of sizes.
    for written in ("2 x 1.0 mm²", "2x1.0mm2", "2 × 1.0 mm²", "2 X 1.0 mm^2", "2 x 1.0 sq mm"):
        assert door(f"runs: {{power: 3 m of {written}}}").runs["power"].cable == "2 x 1.0 mm²"
    for written in ("2 x 18 AWG", "2x18AWG", "2 X 18 awg", "2 x awg 18"):
        assert door(f"runs: {{power: 3 m of {written}}}").runs["power"].cable == "2 x 18 AWG"


def test_unknown_is_a_question_and_no_error(job: Job) -> None:
    d1, d2 = job.doors["D1"], job.doors["D2"]
    assert d1.runs["power"].length_m is None
    assert d1.unknown == ("doors.D1.runs.power.length",)
    assert d2.unknown == ("doors.D2.key override",)
    assert "key override" not in d2.facts
    unsure = door("lock: unknown, supply: unknown, runs: unknown, out by: lever")
    assert "lock" not in unsure.devices
    assert unsure.unknown == ("doors.D1.lock", "doors.D1.supply", "doors.D1.runs")
    site = read("site: {ambient: unknown}\nsupplies: {S1: {part: supply 12 V, battery: unknown}}\n")
    assert site.unknown == ("site.ambient", "supplies.S1.battery")


def test_an_unsaid_way_out_is_none_and_a_question() -> None:
    unsaid = door("lock: magnet 24 V")
    assert unsaid.out_by is OutBy.NOTHING
    assert unsaid.unknown == ("doors.D1.out by",)
    assert door("out by: unknown").unknown == ("doors.D1.out by",)


def test_rows_and_references(job: Job) -> None:
    wiring = job.doors["D3"].wiring
    assert isinstance(wiring, dict)
    assert wiring["power"] == (
        Row("K1.brown", (), "D3.controller.+", "doors.D3.wiring.power.1"),
        Row(
            "K1.blue",
            (("D3.main", "blue"), ("D3.main", "orange")),
            "D3.J1",
            "doors.D3.wiring.power.2",
        ),
        Row("D2.lock.+", (("trunk", "brown"),), "D3.lock.+", "doors.D3.wiring.power.3"),
    )
    assert job.doors["D3"].joints == {"J1": Joint(made="twist")}


def test_a_door_described_whole() -> None:
    whole = door(
        "lock: magnet 24 V, exit: E1, wiring: [[E1.NO, exit red, lock.+], [exit.COM, lead, open]],"
        "runs: {exit: 3 m of 4 x 0.22 mm²}",
        "devices: {E1: button}\n",
    )
    assert isinstance(whole.wiring, tuple)
    assert [(row.start, row.cores, row.end) for row in whole.wiring] == [
        ("E1.NO", (("D1.exit", "red"),), "D1.lock.+"),
        ("E1.COM", (), "open"),
    ]


def test_a_contact_may_be_named_by_what_it_does() -> None:
    row = "wiring: [[S1.+, lead, controller.closed while nobody is granted]]"
    found = door(f"controller: controller, {row}", "supplies: {S1: supply 12 V}\n").wiring
    assert isinstance(found, tuple)
    assert found[0].end == "D1.controller.closed while nobody is granted"


def test_deviations(job: Job) -> None:
    moved, swapped, missing, added, state, joint, short, leak, broken = job.doors["D3"].found
    assert (moved.subjects, moved.start, moved.end) == (
        ("D3.main.brown",),
        "D3.controller.GND",
        "D3.controller.TAMPER",
    )
    assert (swapped.subjects, swapped.from_end) == (("D3.main.blue", "D3.main.orange"), "S1")
    assert missing.subjects == ("D3.reader",)
    assert added.ohm is not None
    assert (added.subjects, added.start, added.end, added.ohm.value) == (
        (),
        "D3.controller.NO",
        "J9",
        0.5,
    )
    assert (state.subjects, state.state, state.when) == (
        ("D3.controller",),
        "relay stuck on",
        "wet",
    )
    assert joint.ohm is not None
    assert (joint.subjects, joint.ohm.value, joint.measured) == (("D3.J1",), 2.2, "2026-02-11")
    assert joint.ohm.certainty is Certainty.MEASURED
    assert short.at_m is not None
    assert (short.subjects, short.at_m.value, short.from_end) == (
        ("D3.main.green", "D3.main.brown"),
        4.0,
        "D3.controller",
    )
    assert leak.ohm is not None
    assert (leak.subjects, leak.ohm.low, leak.ohm.high) == (
        ("D3.main.green", "earth"),
        10e3,
        20e3,
    )
    assert (broken.kind, broken.at_m, broken.path) == (
        DeviationKind.BREAK,
        None,
        "doors.D3.found.9",
    )


def test_every_fact_knows_its_place(job: Job) -> None:
    lines = EVERYTHING.splitlines()
    for path, word in [
        ("doors.D1.name", "Kiln room"),
        ("doors.D1.runs.power", "unknown of"),
        ("doors.D2.lock.holds down to", "20.4 V"),
        ("doors.D1.lock.resistance", "96 ohm"),
        ("doors.D3.wiring.power.2", "[K1.blue"),
        ("doors.D3.found.7", "{short"),
        ("supplies.S1.outputs.2", "{polymer"),
        ("site.ambient", "14 to"),
        ("taps.K1.at", "21 m"),
    ]:
        origin = job.origins[path]
        assert isinstance(origin, Origin)
        assert origin.file == "job.yaml"
        assert lines[origin.line - 1][origin.column - 1 :].startswith(word)


@pytest.mark.parametrize(
    ("said", "alone", "with_lever", "fire_rated"),
    [
        (
            "unlocks",
            Duty(UNLOCKED, UNLOCKED, None),
            Duty(UNLOCKED, UNLOCKED, None),
            Duty(None, UNLOCKED, True),
        ),
        (
            "stays locked",
            Duty(LOCKED, None, None),
            Duty(LOCKED, UNLOCKED, None),
            Duty(LOCKED, UNLOCKED, True),
        ),
        (
            "{enter: locked, leave: unlocked}",
            Duty(LOCKED, UNLOCKED, None),
            Duty(LOCKED, UNLOCKED, None),
            Duty(LOCKED, UNLOCKED, True),
        ),
        (
            "{enter: unlocked, latch: may release}",
            Duty(UNLOCKED, None, False),
            Duty(UNLOCKED, None, False),
            Duty(UNLOCKED, None, False),
        ),
    ],
)
def test_what_a_door_must_do(said: str, alone: Duty, with_lever: Duty, fire_rated: Duty) -> None:
    assert door(f"out by: nothing mechanical, fire alarm: {said}").fire_alarm == alone
    assert door(f"out by: lever, fire alarm: {said}").fire_alarm == with_lever
    rated = door(f"out by: lever, fire rating: 30 min, fire alarm: {said}, power lost: {said}")
    assert rated.fire_alarm == fire_rated
    assert rated.power_lost == with_lever


def test_nothing_said_asks_nothing_but_a_fire_doors_latch() -> None:
    assert door("out by: lever").fire_alarm == Duty()
    assert door("out by: lever, fire rating: none").fire_alarm == Duty()
    assert door("out by: lever, fire rating: 1 h").fire_alarm == Duty(latch_stays=True)
