"""What is written in the blocks of a site's drawing."""

from __future__ import annotations

from dataclasses import dataclass

from latchwork.drawing.index import Index, Owner, Sort
from latchwork.drawing.notes import broken, device_title
from latchwork.drawing.sitemap import SiteMap
from latchwork.drawing.tags import length
from latchwork.drawing.text import clean
from latchwork.drawing.texts import say
from latchwork.quantities import System, show

MOST_LINES = 12
"""Beside a door's picture: all that one door usually has, in the narrow form too."""


@dataclass(frozen=True, slots=True)
class Texts:
    """A block's title, the id of what the site shares, lines below."""

    title: str
    ident: str
    lines: tuple[str, ...]


def shared_texts(index: Index, owner: Owner, room: float) -> Texts:
    """A supply with its battery, a shared device, a tap or joint; lines of ``room`` units."""
    plan = index.plan
    if owner.sort is Sort.TAP:
        tap = plan.job.taps[owner.id]
        at = show(tap.at_m.value, "m", System(plan.job.site.units))
        tapped = say("thing.tapped", at=at, cable=tap.on)
        return Texts(say("thing.tap"), owner.id, broken([tapped, tap.place], room))
    if owner.sort is Sort.JOINT:
        return Texts(say("thing.joint"), owner.id, broken([plan.job.joints[owner.id].place], room))
    device = plan.devices[owner.id]
    lines = [device.part.name]
    supply = plan.supplies.get(owner.id)
    if supply is not None and supply.battery_ah is not None:
        blocks = f"{supply.battery_blocks} × " if supply.battery_blocks > 1 else ""
        lines.append(say("note.battery", capacity=blocks + show(supply.battery_ah.value, "Ah")))
    return Texts(device_title(device), device.door or owner.id, broken(lines, room))


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
