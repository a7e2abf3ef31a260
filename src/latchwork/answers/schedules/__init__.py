"""Schedules of a site as data: doors, connections, cables, what to order, supplies, readings."""

from latchwork.answers.schedules.answer import schedules, schedules_job
from latchwork.answers.schedules.model import (
    BatteryRow,
    CableRow,
    ConnectionRow,
    DoorReadings,
    DoorRow,
    LoadRow,
    LockReadings,
    LockVoltsRow,
    LossRow,
    OrderRow,
    Reading,
    SchedulesAnswer,
    SupplyRow,
    TerminalReadings,
    TrialRow,
)

__all__ = [
    "BatteryRow",
    "CableRow",
    "ConnectionRow",
    "DoorReadings",
    "DoorRow",
    "LoadRow",
    "LockReadings",
    "LockVoltsRow",
    "LossRow",
    "OrderRow",
    "Reading",
    "SchedulesAnswer",
    "SupplyRow",
    "TerminalReadings",
    "TrialRow",
    "schedules",
    "schedules_job",
]
