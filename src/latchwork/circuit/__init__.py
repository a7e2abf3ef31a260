"""Nodes, branches and a direct-current solve over columns of what-ifs. Knows no doors."""

from latchwork.circuit.bank import Device
from latchwork.circuit.devices import CurveRow, DiodeRow, LoadRow, SourceRow
from latchwork.circuit.eliminate import Row, Work, columns_of
from latchwork.circuit.solve import (
    APART,
    LOOSE,
    Injection,
    Solution,
    device_current,
    solve,
)
from latchwork.circuit.topology import Order, Topology, order
from latchwork.circuit.walk import Start

__all__ = [
    "APART",
    "LOOSE",
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
    "columns_of",
    "device_current",
    "order",
    "solve",
]
