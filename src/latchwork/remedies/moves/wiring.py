"""Rows and deviations: what was wired otherwise goes back to the standard, or is put right."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.findings import Finding
from latchwork.remedies.candidate import NOTHING, Candidate, to_append, to_drop, to_put, to_repair
from latchwork.remedies.scene import Scene

OTHER_CONTACT = {"NO": "NC", "NC": "NO"}


def standard_leg(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A leg's own rows taken out, so that it is wired as standard; then all of them."""
    door = scene.door_of(finding.subject)
    if door:
        yield from _as_standard(scene, door)


def leg_between(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The same of any door in the circuit: what joins supplies may stand among a door's rows."""
    for door in _doors_about(scene, finding):
        yield from _as_standard(scene, door)


def _as_standard(scene: Scene, door: str) -> Iterator[Candidate]:
    path = f"doors.{door}.wiring"
    written = scene.said(path)
    if isinstance(written, dict):
        for leg in written:
            yield to_drop(f"{path}.{leg}")
    if written is not None:
        yield to_drop(path)


def other_contact(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A row moved from the contact at rest to the one at work, or back."""
    door = scene.door_of(finding.subject)
    for path, row in _rows(scene, f"doors.{door}.wiring") if door else ():
        for place in (0, 2):
            head, dot, screw = row[place].rpartition(".")
            number = screw[2:]
            other = OTHER_CONTACT.get(screw[:2]) if dot else None
            if other is not None:
                yield to_put(f"{path}.{place + 1}", f"{head}.{other}{number}")


def put_right(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A deviation put right on site; then all of the door's, and the site's. What is found of a
    door, a supply or of what doors share may come of any door of its circuit: a core that is moved
    at one takes the fuse of all."""
    for path in (*(f"doors.{door}.found" for door in _doors_about(scene, finding)), "found"):
        written = scene.said(path)
        if not isinstance(written, list):
            continue
        for number in range(len(written), 0, -1):
            yield to_repair(f"{path}.{number}")
        if len(written) > 1:
            yield to_repair(path)


def _doors_about(scene: Scene, finding: Finding) -> tuple[str, ...]:
    """The door that a finding is about, and those of the circuits that it or its subject is in."""
    door = scene.door_of(finding.subject)
    head = finding.subject.split(".")[0]
    near = (
        d
        for g in scene.site.groups
        if door in g.doors
        or (not door and (head in g.supplies or any(e.device == head for e in g.things.elements)))
        for d in g.doors
    )
    return tuple(dict.fromkeys((*([door] if door else []), *near)))


def site_row(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """One of the site's own rows taken out; then all that belong together."""
    del finding
    written = scene.said("wiring")
    count = len(written) if isinstance(written, list) else 0
    for number in range(1, count + 1):
        yield to_drop(f"wiring.{number}")
    for first in range(count, 1, -1):
        both = NOTHING
        for number in range(count, first - 2, -1):
            both += to_drop(f"wiring.{number}")
        yield both


def common_zero(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The 0 V of two supplies joined."""
    del finding
    names = list(scene.site.plan.supplies)
    for n, first in enumerate(names):
        for second in names[n + 1 :]:
            yield to_append("wiring", [f"{first}.-", "lead", f"{second}.-"])


def joint_made_anew(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A joint made anew: nothing is known of its resistance any more."""
    door = scene.door_of(finding.subject)
    name = finding.subject.rpartition(".")[2].rstrip("~")
    path = f"doors.{door}.joints.{name}" if door else f"joints.{name}"
    written = scene.said(path)
    if isinstance(written, dict) and "resistance" in written:
        if len(written) > 1:
            yield to_repair(f"{path}.resistance")
        yield to_repair(path, {"made": "crimp"})


def _rows(scene: Scene, path: str) -> Iterator[tuple[str, list[str]]]:
    written = scene.said(path)
    if isinstance(written, dict):
        for leg in written:
            yield from _rows(scene, f"{path}.{leg}")
    elif isinstance(written, list):
        for number, row in enumerate(written, start=1):
            if isinstance(row, list) and len(row) == 3:
                yield f"{path}.{number}", [str(item) for item in row]
