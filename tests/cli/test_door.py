"""One door whole: volts, amps and contacts held against sums by hand and against each other."""

from __future__ import annotations

from collections import defaultdict
from pathlib import Path

import click
import msgspec
import pytest

from latchwork.answers.detail import DetailAnswer, detail
from latchwork.cli.door_page import door_page
from latchwork.cli.page import cells
from latchwork.demo import write_demo
from latchwork.opening import open_job
from latchwork.wiring import Wiring, merged
from latchwork.words import say
from tests.cli.calling import ONE_DOOR, call, job_in

# A strike at the end of a cable, its exit button in the feed: as plain as a circuit gets.
PLAIN = """\
latchwork: 1
supplies:
  S1: {{part: "supply 12 V, no battery", gives: 13.8 V, inner resistance: 0.001 ohm}}
doors:
  D1:
    out by: lever
    lock: {{part: {part}, resistance: {ohm} ohm}}
    exit: {{part: exit button, contact resistance: 0.001 ohm}}
    supply: S1
    cables: {{c: {{cable: 2 x {area} mm², length: {length} m, resistance: {per_km} ohm/km}}}}
    wiring:
      - [S1.+, lead, exit.COM]
      - [exit.NO, c brown, lock.+]
      - [S1.-, c blue, lock.-]
"""


@pytest.fixture(scope="module")
def mended(tmp_path_factory: pytest.TempPathFactory) -> Wiring:
    return open_job(write_demo(tmp_path_factory.mktemp("demo"))[1]).wiring


def test_the_page_says_what_json_says(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    asked = ("check", job, "--door", "D1", "--situation", "card or code")
    answer = msgspec.json.decode(call(*asked, "--json").output, type=DetailAnswer)
    assert answer.latchwork_door == 1
    assert answer.situation == "mains/normal/card or code"
    assert [s.step for s in answer.steps] == ["idle", "begins", "held"]
    page = call(*asked).output
    assert page == click.unstyle(door_page(answer)) + "\n"
    begins = answer.steps[1]
    for name, volts in begins.volts_v.items():
        (row,) = [r for r in page.splitlines() if r.startswith(f"  {name.removeprefix('D1.')} ")][
            :1
        ]
        assert ("floating" if volts is None else f"{round(volts, 2) + 0.0:.2f} V") in row
    assert max(cells(line) for line in page.splitlines()) <= 80


def test_figures_stand_by_the_longest_name_however_wide_the_page(tmp_path: Path) -> None:
    """A row is followed with the eye; a column takes ten letters at most."""
    answer = detail(open_job(job_in(tmp_path / "job")).wiring, "D1", "mains/normal/nobody")
    narrow, wide = (
        [row for row in click.unstyle(door_page(answer, width)).splitlines() if row.endswith(" A")]
        for width in (80, 120)
    )
    assert narrow == wide
    # Two before the name, and a blank after it.
    name = max((row.rpartition("   ")[0].rstrip() for row in narrow), key=len)
    assert {len(row) for row in narrow} == {len(name) + 1 + 10}


def test_a_heading_is_whole_where_names_are_shorter(tmp_path: Path) -> None:
    """A strike and a button on a transformer, by leads: no name is as long as one of the heads."""
    text = "latchwork: 1\nsupplies: {S1: {part: transformer 12 V AC}}\n"
    text += "doors: {D1: {supply: S1, lock: strike 12 V AC, exit: button, out by: lever}}\n"
    answer = detail(open_job(job_in(tmp_path / "job", text)).wiring, "D1", "mains/normal/nobody")
    page = click.unstyle(door_page(answer, 80))
    assert "Coils, fuses, feeds" in page
    assert "…" not in page


def test_a_grant_moves_the_relay_and_draws_the_strike(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    idle, begins, held = detail(open_job(job).wiring, "D1", "card or code").steps
    assert (idle.locks["D1.lock"], begins.locks["D1.lock"]) == ("locked", "unlocked")
    assert held.locks["D1.lock"] == "locked"
    assert idle.contacts["D1.controller.contact NO"] == "open"
    assert begins.contacts["D1.controller.contact NO"] == "closed"
    # 0.11 A at 24 V is 218 ohm.
    assert begins.drawn_a["D1.lock.coil"] == pytest.approx(
        begins.locks_v["D1.lock"] / 218.2, rel=0.01
    )
    assert idle.drawn_a["D1.lock.coil"] == 0.0


def test_a_dead_site_has_floating_terminals_and_no_volts(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    last = detail(open_job(job).wiring, "D1", "all lost").steps[-1]
    assert last.volts_v["D1.controller.D0"] is None
    assert last.volts_v["D1.controller.NO"] == pytest.approx(0.0, abs=1e-9)
    assert all(v is None or abs(v) < 1e-6 for v in last.volts_v.values())
    assert all(abs(a) < 1e-9 for a in last.cores_a.values())


def test_what_comes_into_a_joint_goes_out_of_it(mended: Wiring) -> None:
    names = merged(mended)
    for door in ("D2", "D4", "D8"):
        answer = detail(mended, door, "exit request")
        joints = {names[name] for name in names if name.startswith(f"{door}.X")}
        assert joints
        for step in answer.steps:
            into: dict[str, float] = defaultdict(float)
            for core, (start, end) in answer.cores.items():
                into[names[start]] -= step.cores_a.get(core, 0.0)
                into[names[end]] += step.cores_a.get(core, 0.0)
            meeting = [
                j for j in joints if sum(j in map(names.get, e) for e in answer.cores.values()) > 1
            ]
            for joint in meeting:
                if not any(names[t] == joint for t in step.volts_v if t.count(".") > 1):
                    assert into[joint] == pytest.approx(0.0, abs=1e-9)


def test_a_coil_draws_what_its_cores_bring(mended: Wiring) -> None:
    idle = detail(mended, "D4").steps[0]
    coil = idle.drawn_a["D4.lock.coil"]
    assert coil > 0.4
    assert idle.cores_a["D4.lock.brown"] == pytest.approx(coil, rel=1e-9)
    assert abs(idle.cores_a["D4.lock.blue"]) == pytest.approx(coil, rel=1e-9)


def test_volts_of_an_island_count_from_its_own_source(tmp_path: Path) -> None:
    # The relay of a controller on S1 switches a lock on S2; the two supplies share no conductor.
    text = ONE_DOOR.replace(
        "doors:\n", "  S2: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}}}\ndoors:\n"
    )
    text = text.replace(
        "lock: strike 24 V fail-secure, wide range",
        'lock: {part: "strike 24 V fail-secure, wide range", supply: S2 out 1}',
    )
    answer = detail(open_job(job_in(tmp_path / "job", text)).wiring, "D1")
    (step,) = answer.steps
    assert answer.minus == "S1.-"
    assert step.volts_v["S2.1"] == pytest.approx(27.3, abs=0.1)
    assert step.against["S2.1"] == "S2.-"
    assert "* against S2.-" in door_page(answer)


@pytest.mark.parametrize(
    ("door", "situation", "expected"),
    [
        ("D9", "", "D1"),
        ("D1", "all lst", "nearest is all lost"),
        ("D1", "mains/normal/exit requst", "nearest is exit request"),
    ],
)
def test_unknown_names_are_told_with_the_nearest(
    tmp_path: Path, door: str, situation: str, expected: str
) -> None:
    result = call("check", job_in(tmp_path / "job"), "--door", door, "--situation", situation)
    assert result.exit_code == 2
    assert expected in result.stderr


def test_every_situation_listed_can_be_asked_for(tmp_path: Path) -> None:
    job = job_in(tmp_path / "job")
    keys = call("check", job, "--door", "D1", "--situations").output.splitlines()
    assert len(keys) == len(set(keys)) > 250
    wiring = open_job(job).wiring
    for key in keys[::23]:
        assert detail(wiring, "D1", key).situation == key


def test_worst_case_figures_can_be_asked_for(tmp_path: Path) -> None:
    wiring = open_job(job_in(tmp_path / "job")).wiring
    asked = ("D1", "battery at its end/card or code")
    least, nominal = detail(wiring, *asked, "least volts"), detail(wiring, *asked)
    most = detail(wiring, "D1", "card or code", "most volts")
    assert least.steps[-2].locks_v["D1.lock"] < nominal.steps[-2].locks_v["D1.lock"]
    lock_v, fed_v = most.steps[1].locks_v["D1.lock"], nominal.steps[0].volts_v["S1.1"]
    assert lock_v is not None
    assert fed_v is not None
    assert lock_v > fed_v * 0.95


# Conductors: IEC 60228 class 5, plain, 20 °C: 39.0 and 26.0 ohm/km, from copies of the table.
# Volts by hand: 13.8 V x R / (R + 2 L r); amps: volts / R.
@pytest.mark.parametrize(
    ("part", "ohm", "area", "length", "per_km", "volts", "amps"),
    [
        ("strike 12 V fail-secure", 24.0, 0.5, 60.0, 39.0, 11.55, 0.481),
        ("strike 12 V fail-secure", 24.0, 0.75, 15.0, 26.0, 13.37, 0.557),
        ("strike 12 V fail-secure", 48.0, 0.5, 20.0, 39.0, 13.37, 0.278),
    ],
)
def test_volts_at_the_end_of_a_cable_are_those_of_the_sum_by_hand(
    tmp_path: Path,
    part: str,
    ohm: float,
    area: float,
    length: float,
    per_km: float,
    volts: float,
    amps: float,
) -> None:
    text = PLAIN.format(part=part, ohm=ohm, area=area, length=length, per_km=per_km)
    step = detail(open_job(job_in(tmp_path / "job", text)).wiring, "D1", "exit request").steps[1]
    assert step.locks_v["D1.lock"] == pytest.approx(volts, abs=0.006)
    assert step.cores_a["D1.c.brown"] == pytest.approx(amps, abs=0.0006)
    # Half of what is lost is lost on each core.
    assert step.volts_v["D1.lock.-"] == pytest.approx((13.8 - volts) / 2, abs=0.006)


def test_words_of_contacts_stand_apart_in_their_columns() -> None:
    """A column is ten wide: "never rests" touched the word before it."""
    assert max(len(say(f"door.{word}")) for word in ("open", "closed", "flips", "floating")) < 10
