"""Which terminals are one node: leads without resistance join them."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.wiring.model import Wiring
from latchwork.wiring.union import Union


def merged(wiring: Wiring) -> Mapping[str, str]:
    """Every terminal, joint, tap and open end -> the node it belongs to.

    A node is called by the first of its names in the order of the alphabet, so that the same
    wiring gives the same names whatever the order of its rows.
    """
    union = Union()
    names: dict[str, None] = {}
    for device in wiring.plan.devices.values():
        for terminal in device.part.terminals:
            names[f"{device.id}.{terminal.name}"] = None
    for conductor in wiring.conductors:
        names[conductor.start] = names[conductor.end] = None
    for bridge in wiring.bridges:
        names[bridge.a] = names[bridge.b] = None
    for lead in wiring.leads:
        names[lead.start] = names[lead.end] = None
        if lead.ohm is None:
            union.join(lead.start, lead.end)
    called: dict[str, str] = {}
    for name in sorted(names):
        called.setdefault(union.find(name), name)
    return {name: called[union.find(name)] for name in names}
