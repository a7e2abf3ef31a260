"""What is written in the blocks of a site's drawing."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.drawing.index import Index, Owner, Sort
from latchwork.drawing.notes import broken, device_title, tapped
from latchwork.drawing.sitemap import SiteMap
from latchwork.drawing.tags import length
from latchwork.drawing.text import clean
from latchwork.drawing.texts import known, say
from latchwork.plan import PlannedDevice
from latchwork.quantities import System, show_whole

MOST_LINES = 12
"""Beside a door's picture: all that one door usually has, in the narrow form too."""


@dataclass(frozen=True, slots=True)
class Texts:
    """A block's title, the id of what the site shares, lines below."""

    title: str
    ident: str
    lines: tuple[str, ...]


def shared_texts(index: Index, drawn: SiteMap, owner: Owner, room: float) -> Texts:
    """A supply with its battery, a shared device, a tap or joint, and where each is to be found;
    lines of ``room`` units."""
    plan = index.plan
    if owner.sort is Sort.TAP:
        return Texts(say("thing.tap"), owner.id, broken(tapped(index, owner), room))
    if owner.sort is Sort.JOINT:
        return Texts(say("thing.joint"), owner.id, broken([plan.job.joints[owner.id].place], room))
    device = plan.devices[owner.id]
    lines = [device.part.name]
    supply = plan.supplies.get(owner.id)
    if supply is not None and supply.battery_ah is not None:
        blocks = f"{supply.battery_blocks} × " if supply.battery_blocks > 1 else ""
        capacity = blocks + show_whole(supply.battery_ah.value, "Ah")
        lines.append(say("note.battery", capacity=capacity))
    if device.place and not known(f"place.{device.place}"):
        lines.append(device.place)
    served = _served(index, drawn, device)
    if served:
        lines.append(say("note.serves", doors=", ".join(served)))
    return Texts(device_title(device), device.door or owner.id, broken(lines, room))


def _served(index: Index, drawn: SiteMap, device: PlannedDevice) -> list[str]:
    """Doors that use it without a line between them: cores of one cable may part on the way, and
    the cable is drawn to where most of them end."""
    joined = {
        end[0]
        for line in drawn.lines
        if device.id in (line.start[0], line.end[0])
        for end in (line.start, line.end)
    }
    return [
        door
        for door, planned in index.plan.doors.items()
        if not device.door and device.id in planned.devices.values() and door not in joined
    ]


def door_texts(index: Index, drawn: SiteMap, door_id: str, room: float) -> Texts:
    """The door's name, its lock and what else is fitted there, the cables within it."""
    plan = index.plan
    planned = plan.doors[door_id]
    apart = {owner.id for owner in drawn.shared}
    fitted = {s: plan.devices[d] for s, d in planned.devices.items() if d not in apart}
    own = {slot: device for slot, device in fitted.items() if device.door}
    lines = [own["lock"].part.name] if "lock" in own else []
    others = [device_title(d).lower() for s, d in own.items() if s != "lock"]
    if others:
        lines.append(", ".join(others))
    cables = [
        f"{name.removeprefix(f'{door_id}.')} "
        f"{length(plan.cables[name].length_m, System(plan.job.site.units))}"
        for name in drawn.within.get(door_id, ())
    ]
    if cables:
        lines.append(say("note.within", list=", ".join(cables)))
    name = clean(planned.door.name)
    title = say("sheet.door", door=door_id, name=name) if name and name != door_id else door_id
    return Texts(title, "", broken(lines, room, MOST_LINES))
