"""Nodes, branches and a direct-current solve over columns of what-ifs. Knows no doors."""

from latchwork.circuit.devices import CurveRow, DiodeRow, LoadRow, SourceRow
from latchwork.circuit.eliminate import Row, Work
from latchwork.circuit.solve import (
    Device,
    Injection,
    Solution,
    Start,
    cold_start,
    device_current,
    floating,
    solve,
)
from latchwork.circuit.topology import Order, Topology, order

__all__ = [
    "CurveRow",
    "Device",
    "DiodeRow",
    "Injection",
    "LoadRow",
    "Order",
    "Row",
    "Solution",
    "SourceRow",
    "Start",
    "Topology",
    "Work",
    "cold_start",
    "device_current",
    "floating",
    "order",
    "solve",
]
