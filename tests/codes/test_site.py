"""What codes take from a job file."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from latchwork.cli.codes.common import site_of
from latchwork.codes.errors import CodesError
from latchwork.codes.site import find_controller, find_door, view
from latchwork.job import read_job_text

JOB = """latchwork: 1
site: {name: Loft, time zone: America/Chicago}
supplies: {S1: supply 24 V}
devices: {C1: {part: "controller, two doors", grammar: letter pairs}}
doors:
  D1: {name: Street door, supply: S1, lock: strike 24 V fail-secure, controller: C1 way 1}
  D2: {name: Yard, supply: S1, lock: strike 24 V fail-secure, controller: C1 way 2}
  D3:
    name: Archive
    supply: S1
    lock: strike 24 V fail-secure
    controller: {part: controller, user places: 40, lock-out after: 3, lock-out time: 90 s}
  D4: {name: Store, supply: S1, lock: strike 24 V fail-secure}
"""


def test_doors_and_controllers() -> None:
    site = view(read_job_text(JOB, "job.yaml"))
    assert site.zone.key == "America/Chicago"
    assert site.doors == {"D1": "Street door", "D2": "Yard", "D3": "Archive", "D4": "Store"}
    shared, own = site.controllers["C1"], site.controllers["D3.controller"]
    assert (shared.doors, shared.grammar) == ({"D1": "1", "D2": "2"}, "letter pairs")
    assert (own.name, own.places) == ("Archive", 40)
    assert own.settings == {"wrong attempts": "3", "lock-out time": "90"}


def test_no_name_steers_the_terminal(tmp_path: Path) -> None:
    text = JOB.replace("name: Archive", 'name: "a\\e[2Jb\\u202Ec"').replace("Loft", '"L\\a"')
    (tmp_path / "job.yaml").write_text(text, encoding="utf-8")
    site = site_of(tmp_path)
    assert site.doors["D3"] == "aU+001B[2JbU+202Ec"
    assert site.controllers["D3.controller"].name == "aU+001B[2JbU+202Ec"
    assert site.name == "LU+0007"


def test_names_and_ids_find_them() -> None:
    site = view(read_job_text(JOB, "job.yaml"))
    assert find_door(site, "street DOOR") == "D1"
    assert find_controller(site, "Yard").id == "C1"
    assert find_controller(site, "D3").id == "D3.controller"
    with pytest.raises(CodesError, match="no door is called 'Archiv'; the nearest is Archive"):
        find_door(site, "Archiv")
    with pytest.raises(CodesError, match="no controller is called 'D4'"):
        find_controller(site, "D4")


def test_a_name_that_two_doors_have_is_asked_about() -> None:
    """One of them was taken without a word, and a group was let through it. An id is nobody's name
    but its own, even where another door is called so."""
    site = view(read_job_text(JOB.replace("name: Archive", "name: yard"), "job.yaml"))
    with pytest.raises(CodesError, match="'Yard' could be D2, D3; give the id"):
        find_door(site, "Yard")
    with pytest.raises(CodesError, match=r"'yard' could be C1, D3\.controller; give the id"):
        find_controller(site, "yard")
    named = JOB.replace("Archive", "D1").replace("D4", "d1")
    site = view(read_job_text(named, "job.yaml"))
    assert [find_door(site, door) for door in ("D1", "d1")] == ["D1", "d1"]


@pytest.mark.parametrize("zone", ["Mars/Base", "../etc/passwd", "Europe"])
def test_a_zone_nobody_knows(zone: str) -> None:
    job = read_job_text(JOB, "job.yaml")
    with pytest.raises(CodesError, match="which nobody knows"):
        view(replace(job, site=replace(job.site, time_zone=zone)))


def test_names_that_are_left_out_are_not_passed_over_in_silence() -> None:
    doors = "".join(f"  D{n}: {{name: Room {n}, supply: S1}}\n" for n in range(5, 20))
    site = view(read_job_text(JOB + doors, "job.yaml"))
    with pytest.raises(CodesError, match=r"known are Archive, .* …$"):
        find_door(site, "?")
    with pytest.raises(CodesError, match=r"known are Archive, .* Yard$"):
        find_door(view(read_job_text(JOB, "job.yaml")), "?")
