"""Names in their scope: short references written inside a door, resolved to full ids.

Terminals and colours of cores are known to the catalogue alone and are not looked at here.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from latchwork.job.names import SLOTS
from latchwork.job.notes import Place
from latchwork.tree.nodes import Node

_WAY = re.compile(r"(\S+?)(?: way ([1-9]))?")
_LIKE_AN_ID = re.compile(r"[A-Z]{1,2}[0-9]{1,3}")
_OUTPUT = re.compile(r"(\S+?)(?: out (\S+))?")

OPEN = "open"
"""The end of a core that is joined to nothing."""

EARTH = "earth"
"""Where a leak may go."""


@dataclass(frozen=True, slots=True)
class SiteNames:
    """The ids of a whole file, known before its doors are read."""

    supplies: frozenset[str] = frozenset()
    devices: frozenset[str] = frozenset()
    cables: frozenset[str] = frozenset()
    taps: frozenset[str] = frozenset()
    joints: frozenset[str] = frozenset()
    doors: frozenset[str] = frozenset()

    def supply_output(self, text: str, node: Node, place: Place) -> str | None:
        """ "S1 out 1" as "S1.1", "S1" as itself; None after noting what is wrong."""
        match = _OUTPUT.fullmatch(text)
        if match is None:
            place.wrong(node, "a supply and its output, such as S1 out 1", "supply.form")
            return None
        name, dot, rest = match[1].partition(".")
        if dot and name in self.supplies:
            place.wrong(node, f"{name} out {rest or 1}; a dot is for its screws", "supply.form")
            return None
        if match[1] not in self.supplies:
            place.unlike(node, sorted(self.supplies), "supply.unknown", match[1])
            return None
        return f"{match[1]}.{match[2]}" if match[2] else match[1]

    def shared(self, text: str, node: Node, place: Place) -> tuple[bool, str | None]:
        """Whether a text in a slot means a site device, and its id with the way on it ("C1.2")."""
        match = _WAY.fullmatch(text)
        if match is None:
            return False, None
        if match[1] in self.devices:
            return True, f"{match[1]}.{match[2]}" if match[2] else match[1]
        name, dot, rest = match[1].partition(".")
        if dot and name in self.devices:
            way = rest if rest.isdigit() else 1
            place.wrong(
                node, f"{name}, or {name} way {way}; a dot is for its screws", "device.form"
            )
            return True, None
        if match[2] or _LIKE_AN_ID.fullmatch(text):
            place.unlike(node, sorted(self.devices), "device.unknown", match[1])
            return True, None
        return False, None


@dataclass(frozen=True, slots=True)
class Scope:
    """Where a reference is written: within a door, or (``door`` "") among the site's own rows.

    ``shared`` and ``cables`` are the door's own; ``cables`` holds its runs too, by leg.
    """

    site: SiteNames
    door: str = ""
    slots: frozenset[str] = frozenset()
    shared: Mapping[str, str] = field(default_factory=dict)
    cables: frozenset[str] = frozenset()
    joints: frozenset[str] = frozenset()
    supply: str = ""
    """The id of the door's supply."""

    def end(self, text: str, node: Node, place: Place) -> str | None:
        """A terminal, joint, core of a tap or "open" as a full id; None after noting a problem."""
        if text.casefold() == OPEN:
            return OPEN
        head, dot, terminal = text.partition(".")
        if not dot:
            return self._joint(text, node, place)
        device = self._device(head, terminal, node, place)
        if device is None:
            return None
        owner, rest = device
        if not rest:
            place.wrong(
                node, f"a terminal behind the dot: {text.rstrip('.')}.NO", "terminal.missing"
            )
            return None
        return f"{owner}.{rest}"

    def core(self, text: str, node: Node, place: Place) -> tuple[str, str] | None:
        """ "main blue" as cable id and core; None after noting a problem."""
        cable, _, core = text.partition(" ")
        full = self._cable(cable)
        if full is None:
            place.unlike(node, self._cables(), "cable.unknown", cable)
            return None
        if not core:
            place.wrong(node, f"the core too, such as {cable} brown", "core.missing")
            return None
        return full, core

    def subject(self, text: str, node: Node, place: Place) -> str | None:
        """What a deviation is about: a core, a device, a terminal or a joint, as a full id."""
        cable, space, _ = text.partition(" ")
        # A device may be called by two words, the first of which is a cable too: "bell button.1".
        its = text.partition(".")[0]
        if space and self._cable(cable) is not None and its not in self.slots:
            core = self.core(text, node, place)
            return None if core is None else ".".join(core)
        if text.casefold() == EARTH:
            return EARTH
        door, dot, slot = text.partition(".")
        if door in self.site.doors and slot in SLOTS:
            # What is found of a door's own device stands at that door.
            expected = slot if door == self.door else f"{slot}, under doors.{door}.found"
            place.wrong(node, expected, "reference.elsewhere")
            return None
        if dot:
            return self.end(text, node, place)
        return self.thing(text, node, place)

    def thing(self, text: str, node: Node, place: Place) -> str | None:
        """A device, supply, tap or joint by its id alone."""
        if text in self.shared:
            return self.shared[text]
        if text in self.slots or text in self.joints:
            return f"{self.door}.{text}"
        site = self.site
        if text in site.supplies | site.devices | site.taps | site.joints:
            return text
        place.unlike(node, [*self._own(), *self._cables()], "reference.unknown", text)
        return None

    def _device(self, head: str, rest: str, node: Node, place: Place) -> tuple[str, str] | None:
        """The full id of the device that ``head`` names, and what of the reference is left."""
        site = self.site
        if head in self.shared:
            return self.shared[head], rest
        if head in self.slots:
            return f"{self.door}.{head}", rest
        if head in site.supplies or head in site.devices or head in site.taps:
            return head, rest
        if head in site.doors:
            slot, _, terminal = rest.partition(".")
            if slot in SLOTS:
                return f"{head}.{slot}", terminal
            place.unlike(node, SLOTS, "reference.unknown", slot)
            return None
        if head in SLOTS and self.door:
            place.wrong(node, f"a {head} on {self.door}, or {self._offer()}", "device.not-fitted")
            return None
        place.unlike(node, self._own(), "reference.unknown", head)
        return None

    def _joint(self, text: str, node: Node, place: Place) -> str | None:
        if text in self.joints:
            return f"{self.door}.{text}"
        if text in self.site.joints:
            return text
        if (
            text in self.slots
            or text in self.shared
            or text in self.site.supplies | (self.site.devices | self.site.taps)
        ):
            place.wrong(node, f"a terminal too, such as {text}.NO", "terminal.missing")
            return None
        place.unlike(node, [*self._own(), OPEN], "reference.unknown")
        return None

    def _cable(self, name: str) -> str | None:
        if name in self.cables:
            return f"{self.door}.{name}"
        return name if name in self.site.cables else None

    def _cables(self) -> list[str]:
        return [*sorted(self.cables), *sorted(self.site.cables)]

    def _own(self) -> list[str]:
        site = self.site
        own: list[Iterable[str]] = [
            sorted(self.slots),
            sorted(self.shared),
            sorted(self.joints),
            sorted(site.joints),
            sorted(site.supplies),
            sorted(site.devices),
            sorted(site.taps),
        ]
        return [name for names in own for name in names]

    def _offer(self) -> str:
        return "one of: " + ", ".join(self._own())
