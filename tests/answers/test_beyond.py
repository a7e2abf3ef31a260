"""What is beyond the model gets no answer anywhere: by the rule's own finding and by ``check``."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from msgspec.structs import replace as put

from latchwork.answers.beyond import BEYOND, beyond
from latchwork.answers.check import check
from latchwork.answers.faults import faults_job
from latchwork.answers.faults_model import FaultsAnswer
from latchwork.answers.schedules.answer import schedules_job
from latchwork.answers.schedules.model import SchedulesAnswer
from latchwork.answers.service import service_plan
from latchwork.behaviour import behave
from latchwork.cli.faults_page import faults_page
from latchwork.faults import Ask, Shown, faults
from latchwork.rules import judge
from latchwork.words import say
from tests.truth.solved import wired

SITE = """\
latchwork: 1
supplies:
  S1:
    part: supply 24 V
    battery: 2 x 12 V 7 Ah
    outputs: {1: {fuse: 2 A}, 2: {fuse: 2 A}, 3: {fuse: 2 A}, 4: {fuse: 2 A}}
devices: {F1: fire relay}
usual:
  power lost: unlocks
  fire alarm: unlocks
  out by: nothing mechanical
  lock: magnet 24 V
  controller: controller, reader outside
  controller at: supply
  reader: reader
  exit: exit button
  release: release, double pole
  fire: F1
  runs: {lock: 8 m of 2 x 1.0 mm², exit: 8 m of 4 x 0.22 mm², reader: 8 m of 6 x 0.22 mm²,
         release: 8 m of 4 x 1.0 mm²}
doors:
  D1: {name: Ward, supply: S1 out 1, delayed egress: yes}
  D2: {name: Lobby, supply: S1 out 2, interlock: D3}
  D3: {name: Store, supply: S1 out 3, anti-passback: yes}
  D4: {name: Office, supply: S1 out 4, delayed egress: no, interlock: none, anti-passback: no}
  D5: {name: Nothing, lock: none, controller: none, reader: none, exit: none, release: none,
       fire: none, runs: {}}
"""
OPEN = {"D1": {"leave"}, "D2": {"leave", "enter_with"}, "D3": {"enter_with"}, "D4": set()}
"""Which questions have no answer (common practice, no source)."""
ASKS = {"leave": "exit request", "enter_with": "card or code"}


KEEPS_COUNT = """
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 17 Ah}}
doors:
  D1:
    supply: S1
    anti-passback: yes
    out by: lever
    lock: strike 24 V fail-secure, wide range
    diode: diode
    controller: controller
    runs: {power: 12 m of 2 x 1.0 mm²}
"""


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("job")
    (folder / "job.yaml").write_text(SITE, encoding="utf-8")
    return folder


@pytest.fixture(scope="module")
def told(job: Path) -> FaultsAnswer:
    return faults_job(job, ask=Ask(attacks=False))[0]


@pytest.fixture(scope="module")
def planned(job: Path) -> SchedulesAnswer:
    return schedules_job(job)


def test_it_is_what_the_rule_finds_and_what_check_does_not_answer() -> None:
    site = behave(wired(SITE))
    findings = judge(site)
    lines = {line.id: line for line in check(site, findings).doors}
    for door in site.plan.doors:
        its = beyond(site.wiring, door)
        found = {
            f.figures["what"] for f in findings if (f.rule, f.subject) == ("beyond-model", door)
        }
        assert set(its.what if its else ()) == found
        if door in lines:
            unsaid = {
                name
                for name in ("leave", "leave_unit_dead", "enter_with")
                if any(getattr(q, f"{name}_by") == BEYOND for q in lines[door].questions)
            }
            assert set(its.not_answered if its else ()) == unsaid
            assert unsaid - {"leave_unit_dead"} == OPEN[door]


def test_faults_say_so_and_plan_no_test_of_it(told: FaultsAnswer, job: Path) -> None:
    page = " ".join(faults_page(told, str(job), whole=True).split())
    for door in told.doors:
        if door.id in OPEN:
            assert (door.beyond is not None) is bool(OPEN[door.id])
            tried = {line.situation.rpartition("/")[2] for line in door.service}
            assert not tried & {ASKS[question] for question in OPEN[door.id]}
            assert door.service
        if door.beyond:
            assert " ".join(door.beyond.text.split()) in page


def test_what_shows_only_there_is_in_no_test() -> None:
    wiring = wired(SITE)
    report = faults(wiring, ask=Ask(attacks=False))
    for door, open_ in OPEN.items():
        some = next(c for c in report.consequences if c.door == door and c.shows_in)
        for question, event in ASKS.items():
            shown = Shown(f"battery/normal/{event}", False, f"{door}.lock", "unlocked")
            made = put(some, shows_in=(shown,), reading=None)
            plan = service_plan(wiring, replace(report, consequences=(made,)))
            assert bool(plan) is (question not in open_)


def test_what_is_in_no_test_is_named(tmp_path: Path) -> None:
    """A dead battery stops a door that is asked in by a card alone, which anti-passback leaves
    without an answer: whoever makes the visit is to know that no line finds it."""
    (tmp_path / "job.yaml").write_text(KEEPS_COUNT, encoding="utf-8")
    told = faults_job(tmp_path, ask=Ask(attacks=False))[0]
    (door,) = told.doors
    found = {fault for line in door.service for fault in line.finds}
    silent = {f.id: f.text for f in door.faults if "silent" in (f.effect, *f.also)}
    assert "S1 battery dead" in silent.keys() - found
    page = " ".join(faults_page(told, str(tmp_path), whole=True).split())
    named = page.partition(
        "in no test, as they show only in what is beyond the model, or not surely: "
    )[2]
    assert all(text in named for name, text in silent.items() if name not in found)


def test_a_door_without_anything_is_told_of(told: FaultsAnswer, job: Path) -> None:
    assert [door.id for door in told.doors] == ["D1", "D2", "D3", "D4", "D5"]
    (named,) = faults_job(job, ["D5"])[0].doors
    assert (named.id, named.has_lock, named.faults) == ("D5", False, ())
    page = faults_page(faults_job(job, ["D5"])[0], str(job), whole=True)
    assert "D5 · Nothing" in page
    assert say("faults.no lock") in page


def test_schedules_do_not_try_it_nor_read_it(planned: SchedulesAnswer) -> None:
    rows = {row.id: row for row in planned.doors}
    for door, open_ in OPEN.items():
        row = rows[door]
        leaving = {row.leave, row.leave_power_lost, row.leave_fire, row.leave_panel_lost}
        assert (leaving == {BEYOND}) is ("leave" in open_)
        assert (row.enter == BEYOND) is ("enter_with" in open_)
        trials = {trial.key for trial in planned.trials[door]}
        assert ("exit" in trials) is ("leave" not in open_)
        assert ("card" in trials) is ("enter_with" not in open_)
        assert any(t.leave for t in planned.trials[door]) is ("leave" not in open_)
        (read,) = (r for r in planned.readings if r.door == door)
        assert ("exit pressed" in read.situations) is ("leave" not in open_)
        assert ("granted" in read.situations) is ("enter_with" not in open_)
        columns = [t.volts_v for t in read.terminals] + [k.amps_a for k in read.locks]
        assert {len(each) for each in columns} == {len(read.situations)}


BY_WIRE = """
latchwork: 1
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah}}
usual: {supply: S1, out by: lever, lock: strike 24 V fail-secure, controller: controller}
doors:
  D1:
    cables: {inter: 8 m of 2 x 0.5 mm²}
    wiring:
      lock:
        - [controller.+, inter brown, D2.contact.1]
        - [D2.contact.2, inter blue, controller.COM]
        - [controller.NO, lead, lock.+]
        - [controller.-, lead, lock.-]
  D2:
    contact: door contact
    wiring: {contact: []}
  D3:
    contact: door contact
"""


def test_a_contact_of_another_door_in_the_feed_is_an_interlock() -> None:
    """Only while D2 is shut does D1 open; no situation has D2 open while somebody is at D1."""
    site = behave(wired(BY_WIRE))
    findings = judge(site)
    assert {f.subject for f in findings if f.rule == "beyond-model"} == {"D1"}
    # What is found to have no answer gets none, wired or written.
    told = {line.id: {q.leave_by for q in line.questions} for line in check(site, findings).doors}
    assert told["D1"] == {BEYOND}
    assert BEYOND not in told["D2"] | told["D3"]
