"""Another lock, and what stands across its coil."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.findings import Finding
from latchwork.job.model import OutBy
from latchwork.parts import Part, lever_frees
from latchwork.remedies.candidate import NOTHING, Candidate, to_drop, to_put
from latchwork.remedies.scene import Scene
from latchwork.rules.fire import LATCHING, is_fire_rated
from latchwork.rules.unasked import DOOR_N

AS_STRONG = 0.9
NEAR = (0.8, 1.25)
"""Share of the supply's volts within which a lock's nominal volts fit (common practice)."""


def other_lock(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """Another lock for the same volts: of the same kind first."""
    for door, slot, _ in _slots(scene, finding):
        for _, candidate in _fitting(scene, door, slot):
            yield candidate


def lock_that_can_be_joined(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """Another lock in the place of one that nothing can be joined to."""
    door = scene.door_of(finding.subject)
    if door and scene.slot_of(finding.subject) in scene.locks(door):
        yield from other_lock(scene, finding)


def like_lock(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """Another lock of the same kind, worked by current in the same way."""
    for door, slot, now in _slots(scene, finding):
        for part, candidate in _fitting(scene, door, slot):
            same = part.facts.get("energised") == now.facts.get("energised")
            if part.kind == now.kind and same:
                yield candidate


def lever_lock(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A lever, with the lock as it is or with one that a lever frees."""
    for door, slot, part in _slots(scene, finding):
        lever = _lever(scene, door)
        if lever_frees(part):
            yield lever
        for other, candidate in _fitting(scene, door, slot):
            if lever_frees(other):
                yield candidate + lever


def latch_beside(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A latch that a lever draws, beside a lock that lets the door go in a fire."""
    door = scene.door_of(finding.subject)
    if door:
        yield _lever(scene, door)


def own_diode(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A diode across the coil, as planned."""
    door = scene.door_of(finding.subject)
    if door:
        yield to_put(f"doors.{door}.diode", "diode")


def no_diode(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """No diode; a varistor where something has to take up the kick."""
    door = scene.door_of(finding.subject)
    if door:
        gone = _without_diode(scene, door)
        yield gone
        yield gone + to_put(f"doors.{door}.varistor", "varistor")


def _lever(scene: Scene, door: str) -> Candidate:
    """The door's way out is a lever: said, or left to what is usual. A panic bar stays: it draws
    what a lever draws, and somebody asked for it."""
    if scene.site.plan.job.doors[door].out_by is OutBy.PANIC_BAR:
        return NOTHING
    if scene.said("usual.out by") == "lever" and scene.said(f"doors.{door}.out by"):
        return to_drop(f"doors.{door}.out by")
    return to_put(f"doors.{door}.out by", "lever")


def _slots(scene: Scene, finding: Finding) -> Iterator[tuple[str, str, Part]]:
    door = scene.door_of(finding.subject)
    if not door:
        return
    named = scene.slot_of(finding.subject)
    slots = scene.locks(door)
    for slot in (named,) if named in slots else slots:
        part = scene.part(door, slot)
        if part is not None:
            yield door, slot, part


def _fitting(scene: Scene, door: str, slot: str) -> Iterator[tuple[Part, Candidate]]:
    """The locks for the door's volts, each with what has to stand across its coil; on a fire-rated
    door listed ones."""
    now = scene.part(door, slot)
    feeds = [scene.site.plan.devices[s].part for s in scene.supplies_of(door)]
    strong = now.figures["holding_n"].value if now and "holding_n" in now.figures else 0.0
    listed = is_fire_rated(scene.site.plan.doors[door])
    found: list[tuple[bool, Part, Candidate]] = []
    for spec, part in scene.specs(slot):
        holds = part.figures.get("holding_n")
        if now is None or spec.name == now.name or not any(_suits(part, f) for f in feeds):
            continue
        if listed and part.kind in LATCHING and part.facts.get("fire_listed") is not True:
            continue
        same = part.kind == now.kind
        weak = holds is not None and holds.value < max(DOOR_N, AS_STRONG * strong * same)
        if weak:
            continue
        value = scene.fitted(door, slot, spec.name)
        candidate = to_put(f"doors.{door}.{slot}", value) + _across(scene, door, slot, part)
        found.append((not same, part, candidate))
    for _, part, candidate in sorted(found, key=lambda each: each[0]):
        yield part, candidate


def _suits(lock: Part, feed: Part) -> bool:
    made, given = lock.figures.get("nominal_v"), feed.figures.get("nominal_v")
    if made is None or given is None:
        return False
    current = str(lock.facts.get("current_kind", "dc"))
    alternating = str(feed.facts.get("current_kind", "dc"))
    return NEAR[0] <= made.value / given.value <= NEAR[1] and alternating in current


def _across(scene: Scene, door: str, slot: str, lock: Part) -> Candidate:
    """What has to come or go across the coil of another lock."""
    if slot != "lock":
        return NOTHING
    devices = scene.door(door).devices
    needs = lock.facts.get("suppression") == "needed" and lock.facts.get("current_kind") == "dc"
    if needs and "diode" not in devices and "varistor" not in devices:
        return to_put(f"doors.{door}.diode", "diode")
    if not needs and "diode" in devices:
        return _without_diode(scene, door)
    return NOTHING


def _without_diode(scene: Scene, door: str) -> Candidate:
    if scene.said("usual.diode") is not None:
        return to_put(f"doors.{door}.diode", "none")
    return to_drop(f"doors.{door}.diode")
