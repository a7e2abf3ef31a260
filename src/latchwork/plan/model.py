"""A plan: every part and cable of the job with its figures resolved, and where each came from."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from latchwork.elements import Certainty, Figure
from latchwork.job.model import Door, Job
from latchwork.parts.arithmetic import least_certain
from latchwork.parts.model import CableType, Part


@dataclass(frozen=True, slots=True)
class PlannedDevice:
    """A device in its place. ``slot`` is what it does for its door ("lock"), ``door`` "" if shared.

    ``place``: "outside" (the unsecure side), "inside" (the secure side), "door" (on the leaf or in
    the frame), "supply" (beside the supply) or a named place.
    """

    id: str
    door: str
    slot: str
    part: Part
    place: str


@dataclass(frozen=True, slots=True)
class PlannedCable:
    """A cable with a length. ``leg`` is the leg it serves where it came from a run, else ""."""

    id: str
    door: str
    leg: str
    type: CableType
    length_m: Figure
    temperature_c: Figure | None = None
    """Where it runs, where that was said; else the site's ambient counts."""
    whole_ohm: Figure | None = None
    """Of one core from end to end, where that was said: then no length decides it."""

    @property
    def core_ohm(self) -> Figure:
        """Resistance of one core over the whole length, Ω at 20 °C: as said, else Ω/m times
        metres."""
        if self.whole_ohm is not None:
            return self.whole_ohm
        per_m, length = self.type.ohm_per_m, self.length_m
        return Figure(
            per_m.value * length.value,
            per_m.low * length.low,
            per_m.high * length.high,
            per_m.source,
            least_certain(per_m, length),
            per_m.condition,
        )


@dataclass(frozen=True, slots=True)
class PlannedSupply:
    """A supply: device id -> part, its battery and its output fuses in their places.

    The supply's own part holds the battery and the output fuses as elements; ``outputs`` are the
    names of its output terminals.
    """

    id: str
    device: PlannedDevice
    outputs: tuple[str, ...]
    battery_blocks: int
    battery_ah: Figure | None


@dataclass(frozen=True, slots=True)
class Provenance:
    """Where one resolved figure came from: a path in the job file, or the catalogue."""

    path: str
    certainty: Certainty
    source: str


@dataclass(frozen=True, slots=True)
class PlannedDoor:
    """A door with its devices by slot (shared site devices included, by their ids)."""

    id: str
    door: Door
    devices: Mapping[str, str]
    """slot -> device id"""


@dataclass(frozen=True, slots=True)
class Plan:
    """The job with everything resolved. Frozen; nothing downstream writes into it.

    ``devices`` holds every device, supplies and site devices included. ``provenance`` has a key
    for every figure in use: "D3.lock.resistance_ohm", "D3.power.length_m", "D3.power.ohm_per_m".
    """

    job: Job
    devices: Mapping[str, PlannedDevice]
    cables: Mapping[str, PlannedCable]
    supplies: Mapping[str, PlannedSupply]
    doors: Mapping[str, PlannedDoor]
    provenance: Mapping[str, Provenance] = field(default_factory=dict)

    @property
    def door_called(self) -> Mapping[str, str]:
        """Doors' ids by what people call them, where that is one door only."""
        called = [each.door.name for each in self.doors.values()]
        return {
            each.door.name: door
            for door, each in self.doors.items()
            if each.door.name and called.count(each.door.name) == 1
        }

    def battery_blocks(self, source: str) -> int:
        """How many blocks stand behind what feeds doors: a supply's, or the one of a battery that
        is a part of its own; none behind anything else."""
        part = self.devices[source].part
        if part.kind == "battery":
            return int(part.facts.get("battery_blocks", 1))
        return self.supplies[source].battery_blocks if source in self.supplies else 0
