"""Kinds of parts: what each is made of, as code; their figures are data.

A new kind is one function from ``Given`` (figures and settings by field) to a ``Part``, and one
``Kind`` that names the words people may write about it::

    def turnstile(given: Given) -> Part:
        coil = Resistor("coil", "+", "-", given.figure("resistance_ohm"), ResistorRole.COIL)
        bolt = Bolt("energised", "+", "-", 6.0, 10.0, 6.0, 1.0)
        return assemble(
            given, (("+", "feed_plus"), ("-", "feed_minus")), Piece((coil,), (bolt,))
        )

    TURNSTILE = Kind("turnstile", "coil turnstile", {"resistance": figure(...)}, turnstile)

Put it into a module here, add it to ``_ALL``, and give it parts in ``parts/data``.
"""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.parts.kinds.battery import BATTERY
from latchwork.parts.kinds.contacts import CONTACT_KINDS
from latchwork.parts.kinds.controller import CONTROLLER
from latchwork.parts.kinds.fuse import FUSE, POLYMER_FUSE
from latchwork.parts.kinds.kind import Kind
from latchwork.parts.kinds.locks import BOLT, MAGNET, STRIKE
from latchwork.parts.kinds.mains import POE_PORT, TRANSFORMER
from latchwork.parts.kinds.motor import MOTOR
from latchwork.parts.kinds.powered import DELAY, EXIT_SENSOR, RELAY
from latchwork.parts.kinds.readers import RADIO, READER
from latchwork.parts.kinds.small import BELL, DIODE, SOUNDER, VARISTOR
from latchwork.parts.kinds.supply import SUPPLY, TIMED_SUPPLY

_ALL = (
    STRIKE,
    MAGNET,
    BOLT,
    MOTOR,
    CONTROLLER,
    READER,
    RADIO,
    SUPPLY,
    TIMED_SUPPLY,
    TRANSFORMER,
    POE_PORT,
    BATTERY,
    *CONTACT_KINDS,
    EXIT_SENSOR,
    RELAY,
    DELAY,
    DIODE,
    VARISTOR,
    FUSE,
    POLYMER_FUSE,
    BELL,
    SOUNDER,
)

KINDS: Mapping[str, Kind] = {kind.name: kind for kind in _ALL}
"""Every kind by its name."""

__all__ = ["KINDS", "Kind"]
