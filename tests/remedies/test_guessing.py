"""What hangs on a guess: each tried one way and the other."""

from __future__ import annotations

import pytest

from latchwork.parts import catalogue
from latchwork.remedies.guessing import Settled, doubts, settled
from latchwork.remedies.scene import Scene
from tests.rules.jobs import MAGNET, STRIKE, Door, but, job, outcome

PLAIN = but(STRIKE, {"lock": "strike 24 V fail-secure"})
"""Picks up at 20.4 V; on 0.5 mm² it does at 15 m and does not at 40 m at the end of a battery."""


def scene(text: str) -> Scene:
    return Scene(text, "job.yaml", catalogue(), outcome(text))


def run(length: str) -> Door:
    return {"runs": f"{{power: {length} of 2 x 0.5 mm²}}"}


def hanging(one: Settled) -> dict[str, tuple[str, ...]]:
    return {h.finding.rule: h.at for h in one.hanging}


def test_a_sound_job_has_no_doubts() -> None:
    assert doubts(scene(job(STRIKE, MAGNET))) == ()


def test_a_guess_is_tried_at_both_ends() -> None:
    """About 28 m is 22.4 to 33.6 m (a fifth either way)."""
    (one,) = settled(scene(job(but(PLAIN, run("about 28 m")))))
    assert one.doubt.said == "about 28 m"
    assert [name for name, _ in one.doubt.tries] == ["22.4 m", "33.6 m"]
    assert hanging(one) == {"volts-low": ("33.6 m",)}


def test_a_site_in_feet_is_asked_in_feet() -> None:
    """A fifth either way of about 100 ft; it said "24.384 m"."""
    text = job(but(PLAIN, run("about 100 ft"))).replace("site: {", "site: {units: US, ", 1)
    (one,) = doubts(scene(text))
    assert [name for name, _ in one.tries] == ["80 ft", "120 ft"]


def test_an_unknown_length_is_tried_from_short_to_long() -> None:
    (one,) = settled(scene(job(but(PLAIN, run("unknown")))))
    assert [name for name, _ in one.doubt.tries] == ["5 m", "50 m"]
    assert hanging(one)["volts-low"] == ("50 m",)


def test_a_guess_on_which_nothing_hangs_is_a_question_all_the_same() -> None:
    (one,) = settled(scene(job(but(PLAIN, run("about 5 m")))))
    assert one.hanging == ()


def test_a_measured_length_is_no_doubt() -> None:
    assert doubts(scene(job(but(PLAIN, run("28 m"))))) == ()


def test_a_lever_that_nobody_has_seen() -> None:
    (one,) = settled(scene(job(but(STRIKE, {"out by": "-"}))))
    assert one.doubt.path == "doors.D1.out by"
    assert [name for name, _ in one.doubt.tries] == ["lever", "panic bar", "nothing mechanical"]
    assert hanging(one) == {"no-way-out": ("nothing mechanical",)}


def test_a_fire_rating_that_nobody_knows() -> None:
    door = but(MAGNET, {"fire rating": "unknown"})
    (one,) = settled(scene(job(door)))
    assert hanging(one)["fire-door-magnet-alone"] == ("30 min",)


def test_a_figure_of_a_part_and_a_fact_of_the_site() -> None:
    door = but(MAGNET, {"lock": "{part: magnet 24 V, holds down to: about 20 V}"})
    found = settled(scene(job(door, site=", installer code changed: unknown")))
    by_path = {one.doubt.path: one for one in found}
    assert set(by_path) == {"doors.D1.lock.holds down to", "site.installer code changed"}
    assert by_path["doors.D1.lock.holds down to"].hanging
    # The controller of this door takes cards alone.
    assert not by_path["site.installer code changed"].hanging
    coded = but(STRIKE, {})
    (one,) = settled(scene(job(coded, site=", installer code changed: unknown")))
    assert hanging(one) == {"installer-code": ("no",)}


FED_BY_TWO = "S1: {part: supply 24 V, limit: %s}\nS2: {part: supply 24 V}"
OTHER = but(PLAIN, {"supply": "S2"})


@pytest.mark.parametrize(
    ("text", "path", "tries"),
    [
        (
            job(
                but(PLAIN, {"runs": "{power: {cable: 2 x 0.5 mm², length: about 28 m}}"}),
                OTHER,
                supplies=FED_BY_TWO % "2 A",
            ),
            "doors.D1.runs.power.length",
            ["22.4 m", "33.6 m"],
        ),
        (
            job(PLAIN, OTHER, supplies=FED_BY_TWO % "about 2 A"),
            "supplies.S1.limit",
            ["1.6 A", "2.4 A"],
        ),
        (
            job(
                but(PLAIN, {"fire": "F1", "fire alarm": "stays locked"}),
                OTHER,
                supplies=FED_BY_TWO % "2 A",
                more="devices: {F1: {part: fire relay, contact resistance: about 1 Ω}}",
            ),
            "devices.F1.contact resistance",
            ["0.8 Ω", "1.2 Ω"],
        ),
    ],
)
def test_wherever_a_guess_stands_it_is_asked_there(text: str, path: str, tries: list[str]) -> None:
    """A fifth either way; it is the door's own that hangs on it, not one on another supply."""
    (one,) = doubts(scene(text))
    assert (one.path, set(one.doors)) == (path, {"D1"})
    assert [name for name, _ in one.tries] == tries


def test_what_is_usual_is_asked_once() -> None:
    door = but(PLAIN, {"runs": "-"})
    usual = "usual: {runs: {power: about 28 m of 2 x 0.5 mm²}}"
    (one,) = settled(scene(job(door, door, more=usual)))
    assert one.doubt.path == "usual.runs.power"
    assert one.doubt.doors == {"D1", "D2"}
    assert {h.finding.subject for h in one.hanging} == {"D1.lock", "D2.lock"}


def test_what_settles_most_comes_first() -> None:
    doors = (
        but(PLAIN, run("about 5 m")),
        but(PLAIN, run("about 28 m")),
        but(STRIKE, {"out by": "-", "exit": "key switch"}),
    )
    found = settled(scene(job(*doors)))
    counts = [len(one.hanging) for one in found]
    assert counts == sorted(counts, reverse=True)
    assert found[-1].doubt.path == "doors.D1.runs.power"


def test_an_outdoor_keypads_installer_code_is_asked_for_where_nobody_speaks_of_it() -> None:
    path = "doors.D1.installer code changed"
    said = but(STRIKE, {"controller": "keypad, outdoor"})
    (one,) = (s for s in settled(scene(job(said))) if s.doubt.path == path)
    assert [name for name, _ in one.doubt.tries] == ["yes", "no"]
    assert [(h.finding.rule, h.at) for h in one.hanging] == [("installer-code", ("no",))]
    known = job(but(said, {"installer code changed": "yes"}))
    assert path not in {s.doubt.path for s in settled(scene(known))}


def test_what_a_thin_core_reads_is_asked_where_it_decides_and_behind_what_one_can_look_at() -> None:
    """IEC 60228 has no 0.22 mm²; 78.4 Ω/km is ideal copper of that area (IEC 60028, from memory:
    1/58 Ω mm²/m)."""
    thin = but(PLAIN, {"runs": "{power: 12 m of 2 x 0.22 mm²}"})
    found = [one for one in settled(scene(job(thin, but(PLAIN, run("about 28 m"))))) if one.hanging]
    assert [one.doubt.path for one in found] == [
        "doors.D2.runs.power",
        "catalogue.2 x 0.22 mm²",
    ]
    assert found[1].doubt.doors == {"D1"}
    (low, _), (high, _) = found[1].doubt.tries
    assert low == f"{1000 / 58 / 0.22:.3g} Ω/km"
    assert hanging(found[1]) == {"volts-low": (high,)}
