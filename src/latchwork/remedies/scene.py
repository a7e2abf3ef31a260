"""The job as it stands when a remedy is looked for: its text, its plan, and what is found."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from latchwork.behaviour import SiteOutcome
from latchwork.job.changes import Value, read_spots, reading
from latchwork.parts import Catalogue, Part, PartsErrors, PartSpec
from latchwork.plan import PlannedDoor
from latchwork.wiring import Wiring


@dataclass(frozen=True, slots=True)
class Scene:
    """A job file's text and what comes of it. ``catalogue`` is the one it was planned with."""

    text: str
    file: str
    catalogue: Catalogue
    site: SiteOutcome

    @property
    def wiring(self) -> Wiring:
        """The wiring behind the outcome."""
        return self.site.wiring

    def door_of(self, subject: str) -> str:
        """The door that a subject belongs to; "" where it belongs to none, or to several."""
        head = subject.split(".")[0]
        return head if head in self.site.plan.doors else ""

    def slot_of(self, subject: str) -> str:
        """The slot in "D1.lock", "D1.controller.contact NO"; "" where there is none."""
        parts = subject.split(".")
        door = self.site.plan.doors.get(parts[0])
        return parts[1] if door is not None and len(parts) > 1 and parts[1] in door.devices else ""

    def door(self, name: str) -> PlannedDoor:
        """A door as planned."""
        return self.site.plan.doors[name]

    def part(self, door: str, slot: str) -> Part | None:
        """What is fitted in a slot of a door."""
        device = self.door(door).devices.get(slot)
        return None if device is None else self.site.plan.devices[device].part

    def locks(self, door: str) -> tuple[str, ...]:
        """The slots of a door's locks."""
        return tuple(s for s in ("lock", "second lock") if s in self.door(door).devices)

    def said(self, path: str) -> Value | None:
        """What is written at a path; None where nothing is."""
        found: Value | None = reading(read_spots(self.text))
        for name in path.split("."):
            if isinstance(found, Mapping):
                found = found.get(name)
            elif isinstance(found, list) and name.isdecimal() and int(name) <= len(found):
                found = found[int(name) - 1]
            else:
                return None
        return found

    def device_path(self, device: str) -> str:
        """Where a device is written: "D3.lock" at "doors.D3.lock", "F1" at "devices.F1"."""
        plan = self.site.plan
        if device in plan.supplies:
            return f"supplies.{device}"
        return f"doors.{device}" if plan.devices[device].door else f"devices.{device}"

    def fitted(self, door: str, slot: str, part: str) -> Value:
        """Another part in a slot, where the one before it stood: its figures were its own."""
        written = self.said(f"doors.{door}.{slot}")
        place = written.get("place") if isinstance(written, Mapping) else None
        return {"part": part, "place": place} if place is not None else part

    def specs(self, slot: str) -> Iterator[tuple[PartSpec, Part]]:
        """Every part of the catalogue that is made for a slot and says enough of itself."""
        for name in self.catalogue.names():
            spec = self.catalogue.get(name)
            if slot not in spec.slots:
                continue
            try:
                yield spec, spec.resolve()
            except PartsErrors:
                continue

    def users_of(self, device: str) -> list[str]:
        """The doors that use a device."""
        return [d.id for d in self.site.plan.doors.values() if device in d.devices.values()]

    def supplies_of(self, door: str) -> tuple[str, ...]:
        """The supplies that a door hangs on."""
        group = self.site.group_of(door)
        return tuple(s for s in group.supplies if s in self.site.plan.supplies) if group else ()
