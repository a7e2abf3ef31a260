"""A device as wiring sees it: its terminals by name and its contacts by what they do."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from latchwork.parts import Part, moved_at_rest
from latchwork.plan.model import PlannedDevice


class Closed(StrEnum):
    """When a contact is closed.

    At rest: nobody is granted, pressed or pulled, the fire panel is well. Acted: somebody is, or
    the panel alarms.
    """

    AT_REST = "at rest"
    ACTED = "acted"


_PHRASES = {
    "closed while nobody is granted": Closed.AT_REST,
    "closed while granted": Closed.ACTED,
    "closed until pressed": Closed.AT_REST,
    "closed while pressed": Closed.ACTED,
    "closed until pulled": Closed.AT_REST,
    "closed while pulled": Closed.ACTED,
    "closed in normal": Closed.AT_REST,
    "closed on alarm": Closed.ACTED,
}


@dataclass(frozen=True, slots=True)
class Fitted:
    """A device and the way of it that serves a door ("2" on a two-door controller, else "")."""

    id: str
    part: Part
    way: str = ""
    shared: bool = False
    place: str = ""

    def has(self, name: str) -> bool:
        """Whether the part has the terminal."""
        return self.part.has_terminal(name)

    def at(self, name: str) -> str:
        """The node of a terminal."""
        return f"{self.id}.{name}"

    def own(self, name: str) -> str:
        """The node of this way's terminal: EXIT2, D0_2 on the second way."""
        if not self.way or self.way == "1":
            return self.at(name)
        return self.at(f"{name}_{self.way}" if name[-1].isdigit() else f"{name}{self.way}")

    def has_own(self, name: str) -> bool:
        """Whether this way has the terminal."""
        return self.has(self.own(name)[len(self.id) + 1 :])

    @property
    def plus(self) -> str:
        """Where it is fed: + or, on alternating current, A1."""
        return self.at("+" if self.has("+") else "A1")

    @property
    def minus(self) -> str:
        """Its other feed terminal."""
        return self.at("-" if self.has("-") else "A2")

    @property
    def poles(self) -> int:
        """How many contacts move together; a way of a shared device counts as one."""
        return 1 if self.way else 2 if self.has("COM2") else 1

    def contact(self, closed: Closed, pole: int = 1) -> tuple[str, str] | None:
        """The nodes of a contact that is closed then, common first; None where it has none."""
        if self.way and self.way != "1":
            pole = int(self.way)
        end = str(pole) if pole > 1 or self.has("COM1") else ""
        if self.has(f"COM{end}"):
            throw = "NO" if (closed is Closed.ACTED) is not self._inverted else "NC"
            return (self.at(f"COM{end}"), self.at(throw + end)) if self.has(throw + end) else None
        at_rest = self.part.facts.get("contact") == "closed at rest"
        if pole > 1 or not self.has("1") or at_rest is not (closed is Closed.AT_REST):
            return None
        return self.at("1"), self.at("2")

    def switched_plus(self, closed: Closed) -> str:
        """The screw of a timed supply that is plus then."""
        return self.at("NO" if (closed is Closed.ACTED) is not self._inverted else "NC")

    def by_deed(self, phrase: str) -> str | None:
        """The terminal a phrase such as "closed while nobody is granted" means."""
        closed = _PHRASES.get(phrase)
        pair = None if closed is None else self.contact(closed)
        return None if pair is None else pair[1]

    @property
    def _inverted(self) -> bool:
        return moved_at_rest(self.part)


def fitted(device: PlannedDevice, way: str = "") -> Fitted:
    """The device, as one of its ways."""
    return Fitted(device.id, device.part, way, shared=not device.door, place=device.place)


def deeds() -> tuple[str, ...]:
    """The phrases that name a contact by what it does."""
    return tuple(_PHRASES)
