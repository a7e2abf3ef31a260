"""Nodes, branches and a direct-current solve over columns of what-ifs. Knows no doors."""

from latchwork.circuit.bank import Device
from latchwork.circuit.devices import CurveRow, DiodeRow, LoadRow, SourceRow
from latchwork.circuit.eliminate import ZERO, Row, Work, columns_of, some
from latchwork.circuit.gather import Gathered, Tables
from latchwork.circuit.solve import (
    ADRIFT,
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
    "ADRIFT",
    "APART",
    "LOOSE",
    "ZERO",
    "CurveRow",
    "Device",
    "DiodeRow",
    "Gathered",
    "Injection",
    "LoadRow",
    "Order",
    "Row",
    "Solution",
    "SourceRow",
    "Start",
    "Tables",
    "Topology",
    "Work",
    "columns_of",
    "device_current",
    "order",
    "solve",
    "some",
]
