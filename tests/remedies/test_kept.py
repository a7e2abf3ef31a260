"""What a remedy leaves alone: what the client asked for, however it is done."""

from __future__ import annotations

import pytest

from latchwork.findings import Finding, Severity
from latchwork.job import read_job_text
from latchwork.job.changes import apply
from latchwork.parts import catalogue
from latchwork.plan import plan
from latchwork.remedies.kept import gives_up
from latchwork.remedies.moves.devices import as_catalogued, linked, own_release
from latchwork.remedies.scene import Scene
from latchwork.wiring import Wiring, wire
from tests.faults.test_remedies import INTERLOCKED
from tests.rules.jobs import MAGNET, STRIKE, but, job, outcome

DIODE = but(STRIKE, {"lock": "strike 24 V fail-secure", "diode": "diode"})
LEAVES = but(MAGNET, {"leaves": "2", "second lock": "magnet 24 V"})


def wired(text: str) -> Wiring:
    return wire(plan(read_job_text(text, "job.yaml"), catalogue()))


@pytest.mark.parametrize(
    ("before", "after", "given_up"),
    [
        (MAGNET, but(MAGNET, {"release": "-"}), True),
        (MAGNET, but(MAGNET, {"wiring": "{release: []}"}), True),
        (MAGNET, but(MAGNET, {"release": "release, spring"}), False),
        # A diode stands for how a coil's kick is taken up, a fire relay for how an alarm unlocks.
        (DIODE, but(DIODE, {"diode": "-", "lock": "strike 24 V fail-secure, diode"}), False),
        (MAGNET, but(MAGNET, {"fire": "-"}), False),
        # A strike in the place of one of two magnets leaves no leaf a lock of its own.
        (LEAVES, but(LEAVES, {"second lock": "strike 24 V fail-safe"}), True),
        (LEAVES, but(LEAVES, {"second lock": "magnet 24 V, large"}), False),
    ],
)
def test_what_was_asked_for_stays(
    before: dict[str, str], after: dict[str, str], given_up: bool
) -> None:
    """Common practice, no source: a device that loses its wires does nothing any more, be it still
    on the wall."""
    assert gives_up(wired(job(before)), wired(job(after))) is given_up


def test_what_a_data_sheet_says_is_not_taken_back() -> None:
    """The magnet on the wall lets go at 22 V whether the file says so or not. What was set on it
    may be set otherwise."""
    text = job(but(MAGNET, {"lock": "{part: magnet 12/24 V, linked for: 24 V, works from: 22 V}"}))
    scene = Scene(text, "job.yaml", catalogue(), outcome(text))
    finding = Finding("volts-low", "D1.lock", Severity.FAILS)
    lines = [
        line
        for candidate in as_catalogued(scene, finding)
        for line in apply(text, candidate.makes[0](text))[0].splitlines()
        if line.lstrip().startswith("lock:")
    ]
    assert [" ".join(line.split()) for line in lines] == [
        "lock: {part: magnet 12/24 V, works from: 22 V}"
    ]


@pytest.mark.parametrize(("lock", "ways"), [("magnet 12/24 V", 1), ("magnet 12 V", 0)])
def test_only_what_has_links_is_linked(lock: str, ways: int) -> None:
    """Common practice, no source: a coil for one voltage has no link to be set."""
    text = job(but(MAGNET, {"lock": lock}))
    scene = Scene(text, "job.yaml", catalogue(), outcome(text))
    assert len(list(linked(scene, Finding("wrong-voltage", "D1.lock", Severity.FAILS)))) == ways


@pytest.mark.parametrize(
    ("line", "instead", "given_up"),
    [
        ("[controller.NC, il blue,", "[controller.COM, il blue,", True),
        ("il: 8 m of 2 x 0.5 mm²", "il: 8 m of 2 x 1.0 mm²", False),
        # What leads to a supply is no wire from door to door.
        ("[controller.+, release brown,", "[S1.1, release brown,", False),
    ],
)
def test_a_wire_from_door_to_door_ends_where_it_did(
    line: str, instead: str, given_up: bool
) -> None:
    """While one door stands open the other is held: a wire to another terminal does otherwise."""
    before, after = INTERLOCKED, INTERLOCKED.replace(line, instead)
    assert before != after
    assert gives_up(wired(before), wired(after)) is given_up


def test_a_wire_more_gives_nothing_up() -> None:
    less = INTERLOCKED.replace("        - [controller.NC, il blue, D2.contact.2]\n", "")
    assert gives_up(wired(INTERLOCKED), wired(less))
    assert not gives_up(wired(less), wired(INTERLOCKED))


@pytest.mark.parametrize(
    ("units", "run"), [("US", "about 10 ft of 4 x 16 AWG"), ("metric", "about 3 m of 4 x 1.0 mm²")]
)
def test_what_comes_new_is_written_in_the_units_of_the_site(units: str, run: str) -> None:
    """Common practice, no source: 3 m are some 10 ft; 16 AWG has 1.3 mm², no less than 1.0 mm²."""
    bare = but(STRIKE, {"runs": "-", "controller at": "-"})
    text = job(bare).replace("site: {", f"site: {{units: {units}, ", 1)
    scene = Scene(text, "job.yaml", catalogue(), outcome(text))
    candidate = next(own_release(scene, Finding("no-release", "D1.lock", Severity.DANGER)))
    for make in candidate.makes:
        text = apply(text, make(text))[0]
    assert run in text
