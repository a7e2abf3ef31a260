"""From a job to its plan."""

from __future__ import annotations

from latchwork.job.model import Door, Job
from latchwork.job.problems import JobErrors, one_of
from latchwork.parts.catalogue import Catalogue
from latchwork.plan.cables import plan_cable
from latchwork.plan.model import (
    Plan,
    PlannedCable,
    PlannedDevice,
    PlannedDoor,
    PlannedSupply,
)
from latchwork.plan.places import place_of
from latchwork.plan.resolve import Resolver
from latchwork.plan.supplies import plan_supply


def plan(job: Job, catalogue: Catalogue) -> Plan:
    """Every part and cable of the job with its figures resolved, each with where it came from.

    Raises JobErrors with all parts, cables, supplies and shared devices that do not exist, and
    all words and units that a part does not take.
    """
    resolver = Resolver(job, catalogue)
    supplies = _supplies(resolver)
    devices = {name: supply.device for name, supply in supplies.items()}
    devices.update(_site_devices(resolver))
    _check_site_supplies(resolver, devices)
    cables = _cables(resolver)
    doors: dict[str, PlannedDoor] = {}
    for door in job.doors.values():
        _check_supplies(resolver, door, supplies)
        own = _door_devices(resolver, door)
        devices.update((device.id, device) for device in own.values())
        slots = {slot: device.id for slot, device in own.items()}
        slots.update(_shared(resolver, door, devices))
        doors[door.id] = PlannedDoor(door.id, door, slots)
    for name, tap in job.taps.items():
        if tap.on not in job.cables:
            resolver.complain(f"taps.{name}", tap.on, one_of(tap.on, job.cables), "cable.unknown")
    if resolver.problems:
        # A usual part is put to use at every door; what is wrong with it is wrong once.
        once = {(p.file, p.line, p.column, p.code, p.found): p for p in reversed(resolver.problems)}
        raise JobErrors(once.values())
    return Plan(job, devices, cables, supplies, doors, resolver.provenance)


def _supplies(resolver: Resolver) -> dict[str, PlannedSupply]:
    planned = (plan_supply(resolver, supply) for supply in resolver.job.supplies.values())
    return {supply.id: supply for supply in planned if supply is not None}


def _site_devices(resolver: Resolver) -> dict[str, PlannedDevice]:
    """Devices that doors share. Their slot is that of the first door that uses them."""
    slots: dict[str, str] = {}
    for door in resolver.job.doors.values():
        for slot, written in door.shared.items():
            slots.setdefault(written.partition(".")[0], slot)
    made = {}
    for name, use in resolver.job.devices.items():
        slot = slots.get(name, "")
        part = resolver.part(name, slot, use, f"devices.{name}")
        if part is not None:
            made[name] = PlannedDevice(name, "", slot, part, use.place or "supply")
    return made


def _door_devices(resolver: Resolver, door: Door) -> dict[str, PlannedDevice]:
    made = {}
    for slot, use in door.devices.items():
        name = f"{door.id}.{slot}"
        part = resolver.part(name, slot, use, f"doors.{name}")
        if part is not None:
            place = place_of(door, slot, part, use.place)
            made[slot] = PlannedDevice(name, door.id, slot, part, place)
    return made


def _shared(resolver: Resolver, door: Door, devices: dict[str, PlannedDevice]) -> dict[str, str]:
    """The site devices a door uses, by slot; their ways checked against the part's terminals."""
    slots = {}
    for slot, written in door.shared.items():
        name, _, way = written.partition(".")
        device = devices.get(name)
        path = f"doors.{door.id}.{slot}"
        if device is None:
            known = resolver.job.devices
            if name not in known:
                resolver.complain(path, name, one_of(name, known), "device.unknown")
            continue
        slots[slot] = name
        screws = {"": (), "1": ("COM", "COM1")}.get(way, (f"COM{way}",))
        if screws and not any(device.part.has_terminal(screw) for screw in screws):
            resolver.complain(path, f"way {way}", f"a way that {name} has", "device.way")
    return slots


def _check_supplies(resolver: Resolver, door: Door, supplies: dict[str, PlannedSupply]) -> None:
    """The door's supply, and one that its lock has of its own. Any other device's would be read
    and not wired, unless rows do."""
    written = {"supply": door.supply}
    fed = door.supply.partition(".")[0]
    timed = fed in supplies and supplies[fed].device.part.kind == "timed supply"
    for slot, use in door.devices.items():
        own = str(use.settings.get("supply", ""))
        if own and slot == "lock" and timed and door.wiring is None:
            rows = f"none, as {fed} works its lock by its own timed output: wire lock by rows"
            resolver.complain(f"doors.{door.id}.lock.supply", own, rows, "supply.slot")
        elif own and slot != "lock" and door.wiring is None:
            rows = f"no supply but the door's; only its lock may have its own: wire {slot} by rows"
            resolver.complain(f"doors.{door.id}.{slot}.supply", own, rows, "supply.slot")
        else:
            written[f"{slot}.supply"] = own.replace(" out ", ".")
    for field, value in written.items():
        if not value:
            continue
        path = f"doors.{door.id}.{field}"
        name, _, output = value.partition(".")
        if name not in resolver.job.supplies:
            resolver.complain(path, name, one_of(name, resolver.job.supplies), "supply.unknown")
        elif output and name in supplies and output not in supplies[name].outputs:
            known = [f"{name} out {each}" for each in supplies[name].outputs if each != "+"]
            named = "one of: " + ", ".join(known)
            alone = f"{name} alone, or at {name} outputs: {{1: {{fuse: 1 A}}}}"
            resolver.complain(
                path, f"{name} out {output}", named if known else alone, "supply.output"
            )


def _check_site_supplies(resolver: Resolver, devices: dict[str, PlannedDevice]) -> None:
    """The supplies that devices of the site have of their own: a shared lock's and a shared
    controller's are wired, any other's only by rows."""
    job = resolver.job
    for name, own in job.device_supplies.items():
        slot = devices[name].slot if name in devices else ""
        users = [door for door in job.doors.values() if _uses(door, name)]
        rows = bool(job.wiring) or any(door.wiring is not None for door in users)
        if slot and slot not in ("lock", "controller") and not rows:
            wanted = "no supply but the door's; only a lock or a controller that doors share may "
            wanted += f"have its own: wire {slot} by rows"
            found = own.replace(".", " out ")
            resolver.complain(f"devices.{name}.supply", found, wanted, "supply.slot")


def _uses(door: Door, device: str) -> bool:
    return any(written.partition(".")[0] == device for written in door.shared.values())


def _cables(resolver: Resolver) -> dict[str, PlannedCable]:
    """The cables of the site, and each door's runs and cables."""
    job = resolver.job
    found = [
        plan_cable(resolver, name, "", "", run, f"cables.{name}")
        for name, run in job.cables.items()
    ]
    for door in job.doors.values():
        for kind, runs in (("runs", door.runs), ("cables", door.cables)):
            for name, run in runs.items():
                path = f"doors.{door.id}.{kind}.{name}"
                leg = name if kind == "runs" else ""
                found.append(plan_cable(resolver, f"{door.id}.{name}", door.id, leg, run, path))
    return {cable.id: cable for cable in found if cable is not None}
