"""Controllers, exit devices, releases, bars and fire contacts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from latchwork.findings import Finding
from latchwork.job import SLOTS, OutBy
from latchwork.job.model import PartUse
from latchwork.parts import Part, sees_who_comes
from latchwork.plan.places import OUTSIDE
from latchwork.quantities import System
from latchwork.remedies.candidate import NOTHING, Candidate, to_drop, to_put
from latchwork.remedies.moves.cables import runs_of
from latchwork.remedies.scene import Scene
from latchwork.rules.cabling import CARRIES

BY_SLOT = {"exit": 4, "release": 4, "contact": 2}
"""Cores of a run to a device that is added (common practice, no source)."""
BESIDE = ("reader", "bell", "radio")
"""What a door can do without, that a controller has or has no terminals for."""
BARS = {"bar": OutBy.PANIC_BAR, "lever": OutBy.LEVER}
SET_BY_HAND = ("linked for", "relay time", "lock-out time")
"""Figures that are no matter of the data sheet: whoever fits the part sets them."""
USUAL_WAYS = {
    "relay": "energised on grant",
    "exit_acts_on": "closed",
    "exit_trigger": "edge",
    "tamper_refuses": "nothing",
    "lockout_refuses": "credentials",
    "restart_forgets": "grants",
}
"""What controllers usually do (common practice, no source)."""


def other_controller(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """Another controller that takes the same credentials, on the secure side if it has to be."""
    door = scene.door_of(finding.subject)
    now = scene.part(door, "controller") if door else None
    if now is None:
        return
    shared = "controller" in scene.site.plan.job.doors[door].shared
    path = f"devices.{scene.door(door).devices['controller']}" if shared else ""
    inner = _at_secure_side(scene, door)
    for spec, part in scene.specs("controller"):
        if spec.name == now.name or not _ordinary(part, now):
            continue
        if _far_from_people(scene, door, part) and not _far_from_people(scene, door, now):
            continue
        put = to_put(path or f"doors.{door}.controller", spec.name)
        if part.facts.get("reader_port") is not True:
            if not set(str(now.facts.get("credentials", "")).split(", ")) & set(
                str(part.facts.get("credentials", "")).split(", ")
            ):
                continue
            yield put
            yield put + inner
        elif "reader" in scene.door(door).devices:
            yield put
            yield put + inner


def secure_side(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The controller moved to the secure side, where people need not come at its case."""
    door = scene.door_of(finding.subject)
    if door and not _worked_at(scene, door):
        inner = _secure_side(scene, door)
        if inner.makes:
            yield inner


def at_the_door(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The controller at the door, where people come at its keys."""
    door = scene.door_of(finding.subject)
    if door:
        yield to_put(f"doors.{door}.controller at", "door")


def reader_outside(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A controller on the secure side, with a reader outside, or a keypad where codes are used."""
    door = scene.door_of(finding.subject)
    now = scene.part(door, "controller") if door else None
    if now is None or "reader" in scene.door(door).devices:
        return
    reader = "reader, keypad" if "code" in str(now.facts.get("credentials")) else "reader"
    put = to_put(f"doors.{door}.reader", reader) + _run(scene, door, "reader", 6)
    for spec, part in scene.specs("controller"):
        if part.facts.get("reader_port") is True and _ordinary(part, now):
            controller = to_put(f"doors.{door}.controller", spec.name)
            yield controller + put + _at_secure_side(scene, door)


def exit_device(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """An exit button or sensor, or another one in its place. A button where a sensor was takes out
    what opens to whoever has both hands full."""
    door = scene.door_of(finding.subject)
    if not door:
        return
    slots = scene.door(door).devices
    slot = "exit"
    named = scene.slot_of(finding.subject)
    if named in ("exit", "second exit"):
        slot = named
    fitted = scene.site.plan.devices.get(f"{door}.{slot}")
    sensor = fitted is not None and sees_who_comes(fitted.part)
    for spec, part in scene.specs(slot):
        if part.kind in ("key switch", "lever", "bar"):
            continue
        put = to_put(f"doors.{door}.{slot}", spec.name)
        put = replace(put, takes_out=sensor and not sees_who_comes(part))
        yield put if slot in slots else put + _run(scene, door, slot, BY_SLOT[slot])
    if "exit" in slots and "second exit" not in slots:
        yield to_put(f"doors.{door}.second exit", "exit button")


def bar_switch(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A switch in the bar or lever that breaks the lock's power itself."""
    door = scene.door_of(finding.subject)
    if not door:
        return
    out_by = scene.site.plan.job.doors[door].out_by
    for spec, part in scene.specs("bar"):
        put = to_put(f"doors.{door}.bar", spec.name)
        if BARS.get(part.kind) is out_by:
            yield put
        elif part.kind == "bar" and out_by is OutBy.NOTHING:
            yield put + to_put(f"doors.{door}.out by", "panic bar")


def own_release(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """An emergency release, in the lock's own power, both poles."""
    door = scene.door_of(finding.subject)
    if not door:
        return
    for spec, part in scene.specs("release"):
        if part.facts.get("poles") == 2:
            put = to_put(f"doors.{door}.release", spec.name)
            if not _comes_new(scene, door, "release"):
                yield put
            yield put + _run(scene, door, "release", BY_SLOT["release"])


def release_outside(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """An emergency release for those who escape inward, within their reach, where there is none:
    one on the other side is needed there."""
    door = scene.door_of(finding.subject)
    if not door or not scene.door(door).door.escapes_inward:
        return
    if "release" in scene.door(door).devices:
        return
    for spec, part in scene.specs("release"):
        if part.facts.get("poles") == 2:
            put = to_put(f"doors.{door}.release", {"part": spec.name, "place": "outside"})
            yield put + _run(scene, door, "release", BY_SLOT["release"])


def fire_contact(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A fire contact: one that doors share already, one of the door's own, or none."""
    door = scene.door_of(finding.subject)
    doors = [door] if door else scene.users_of(finding.subject)
    plan = scene.site.plan
    relays = [d for d in plan.job.devices if plan.devices[d].part.kind == "fire relay"]
    for each in doors:
        path = f"doors.{each}.fire"
        fitted = scene.door(each).devices.get("fire", "")
        for name in relays:
            if name != fitted:
                yield to_put(path, name)
        for spec, _ in scene.specs("fire"):
            yield to_put(path, spec.name)
            yield to_put(path, spec.name) + _core_more(scene, each)
        usual = scene.said("usual.fire") is not None
        yield to_put(path, "none") if usual else to_drop(path)


def door_contact(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A door contact, wired as standard."""
    door = scene.door_of(finding.subject)
    if door:
        put = to_put(f"doors.{door}.contact", "door contact")
        if not _comes_new(scene, door, "contact"):
            yield put
        yield put + _run(scene, door, "contact", BY_SLOT["contact"])


def bell_button(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The button that a bell waits for; with another bell, where this one is not for its feed."""
    door = scene.door_of(finding.subject)
    if door and "bell" in scene.door(door).devices:
        button = to_put(f"doors.{door}.bell button", "bell button")
        yield button
        for spec, _ in scene.specs("bell"):
            yield button + to_put(f"doors.{door}.bell", scene.fitted(door, "bell", spec.name))


def like_part(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """Another part of the same kind: for outdoors, or simply another."""
    door, slot = scene.door_of(finding.subject), scene.slot_of(finding.subject)
    now = scene.part(door, slot) if door and slot else None
    if now is None:
        return
    for spec, part in sorted(scene.specs(slot), key=lambda each: _indoor(each[1])):
        if part.kind == now.kind:
            yield to_put(f"doors.{door}.{slot}", scene.fitted(door, slot, spec.name))
            if isinstance(scene.said(f"doors.{door}.{slot}"), dict):
                yield replace(to_put(f"doors.{door}.{slot}.part", spec.name), takes_over=True)


def set_inside(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The device where it is not reached from outside: what was said of its place goes."""
    device = ".".join(finding.subject.split(".")[:2])
    door = scene.door_of(finding.subject)
    if door and scene.slot_of(finding.subject) == "controller" and _worked_at(scene, door):
        return
    if device in scene.site.plan.devices:
        path = scene.device_path(device)
        written = scene.said(path)
        if isinstance(written, dict) and "place" in written:
            yield to_drop(f"{path}.place")
            yield to_put(f"{path}.place", "inside")


def as_catalogued(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """A part set as it comes, one word said of it taken back at a time; but no figure of its data
    sheet, which holds of the part on the wall whether the file says it or not."""
    device = ".".join(finding.subject.split(".")[:2])
    if device not in scene.site.plan.devices:
        return
    path = scene.device_path(device)
    use = _use(scene, device)
    for word in (*use.settings, *(w for w in use.figures if w in SET_BY_HAND)):
        yield to_drop(f"{path}.{word}")


def _use(scene: Scene, device: str) -> PartUse:
    """What is written of a device."""
    job, placed = scene.site.plan.job, scene.site.plan.devices[device]
    if placed.door:
        return job.doors[placed.door].devices.get(placed.slot, PartUse(""))
    return job.devices.get(device, PartUse(""))


def linked(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The voltage link set for the supply, of a part that has one."""
    door = scene.door_of(finding.subject)
    slot = scene.slot_of(finding.subject)
    part = scene.part(door, slot) if door and slot else None
    if part is not None and "linked_v" in part.figures:
        for supply in scene.supplies_of(door):
            made = scene.site.plan.devices[supply].part.figures.get("nominal_v")
            if made is not None:
                yield to_put(f"doors.{door}.{slot}.linked for", f"{made.value:g} V")


def without(scene: Scene, finding: Finding) -> Iterator[Candidate]:
    """The device that nothing can be joined to, left out; but no lock, without which the door or
    one of its leaves is open and nothing tells."""
    door, slot = scene.door_of(finding.subject), scene.slot_of(finding.subject)
    if not door or slot in scene.locks(door):
        return
    fitted = scene.door(door).devices
    # A unit without the terminal is told with the leg, at whose end the device is.
    leg = str(finding.figures.get("leg", ""))
    named = leg if leg in BESIDE and leg in fitted else slot
    for each in (named,) if named in SLOTS else BESIDE:
        if each in fitted:
            path, usual = f"doors.{door}.{each}", scene.said(f"usual.{each}") is not None
            yield replace(to_put(path, "none") if usual else to_drop(path), takes_out=True)


def _ordinary(part: Part, now: Part) -> bool:
    """Whether a controller serves as many doors, and in each of its ways does as the one before
    it or as controllers usually do."""
    return part.facts.get("ways") == now.facts.get("ways") and all(
        part.facts.get(way) in (usual, now.facts.get(way)) for way, usual in USUAL_WAYS.items()
    )


def _indoor(part: Part) -> bool:
    return part.facts.get("made_for") not in OUTSIDE


def _far_from_people(scene: Scene, door: str, part: Part) -> bool:
    """Whether a controller's own keys or face would stand where the supply does."""
    at_supply = scene.site.plan.job.doors[door].controller_at == "supply"
    return at_supply and part.facts.get("own_credential") is True


def _worked_at(scene: Scene, door: str) -> bool:
    """Whether people come in by keys or a card at the controller's own case: on the secure side
    nobody outside could reach it."""
    now = scene.part(door, "controller")
    return (
        now is not None
        and now.facts.get("own_credential") is True
        and now.facts.get("face_place") is None
        and "reader" not in scene.door(door).devices
    )


def _secure_side(scene: Scene, door: str) -> Candidate:
    """The controller at the door on its secure side, where it was said to be elsewhere: its cables
    end there, wherever the other doors have theirs."""
    written = scene.said(f"doors.{door}.controller")
    if isinstance(written, dict) and "place" in written:
        return to_drop(f"doors.{door}.controller.place") + _at_secure_side(scene, door)
    return _at_secure_side(scene, door)


def _at_secure_side(scene: Scene, door: str) -> Candidate:
    """The same of another controller in its place: with the one goes what was said of its place."""
    change = NOTHING
    if scene.site.plan.job.doors[door].controller_at not in ("door", "supply"):
        if scene.said("usual.controller at") in (None, "door"):
            change += to_drop(f"doors.{door}.controller at")
        else:
            change += to_put(f"doors.{door}.controller at", "door")
    return change


def _comes_new(scene: Scene, door: str, slot: str) -> bool:
    """Whether there is neither such a device nor a run to it: with the one comes the other, or no
    paper has its cable."""
    fitted = slot in scene.door(door).devices
    return not fitted and all(run.leg != slot for run in runs_of(scene, door))


def _run(scene: Scene, door: str, leg: str, cores: int) -> Candidate:
    """A run to a device that comes new: a guess of 3 m beside the controller, else as far as the
    lock's run goes. One that is there gets the cores that it lacks."""
    runs = {run.leg: run for run in runs_of(scene, door)}
    if leg in runs:
        return runs[leg].with_cores(cores)
    us = System(scene.site.plan.job.site.units) is System.US
    length = "about 10 ft" if us else "about 3 m"
    if scene.site.plan.job.doors[door].controller_at not in ("door", "outside"):
        length = next((runs[each].length for each in CARRIES if each in runs), length)
    size = ("16 AWG" if us else "1.0 mm²") if leg == "release" else "22 AWG" if us else "0.22 mm²"
    return to_put(f"doors.{door}.runs.{leg}", f"{length} of {cores} x {size}")


def _core_more(scene: Scene, door: str) -> Candidate:
    """One core more in the door's power run, for a contact at the supply."""
    for run in runs_of(scene, door):
        head, cross, size = run.cable.partition(" x ")
        if run.leg == "power" and cross and head.isdecimal():
            return run.with_cable(f"{int(head) + 1} x {size}")
    return NOTHING
