"""Every single fault and every attack from outside, and what each does to every door."""

from latchwork.faults.again import Held, again, hold
from latchwork.faults.ask import Ask
from latchwork.faults.model import (
    GRAVE,
    TOLD,
    Attack,
    AttackReport,
    AttackResult,
    Consequence,
    Counts,
    Coverage,
    Edit,
    Effect,
    Fault,
    FaultKind,
    FaultReport,
    Pair,
    PairReport,
    Reading,
    Shown,
    WhatIf,
    Why,
)
from latchwork.faults.prepare import doors_that_meet, fault_names
from latchwork.faults.report import Progress, faults, faults_of
from latchwork.faults.sound import Seen, Sight, sights

__all__ = [
    "GRAVE",
    "TOLD",
    "Ask",
    "Attack",
    "AttackReport",
    "AttackResult",
    "Consequence",
    "Counts",
    "Coverage",
    "Edit",
    "Effect",
    "Fault",
    "FaultKind",
    "FaultReport",
    "Held",
    "Pair",
    "PairReport",
    "Progress",
    "Reading",
    "Seen",
    "Shown",
    "Sight",
    "WhatIf",
    "Why",
    "again",
    "doors_that_meet",
    "fault_names",
    "faults",
    "faults_of",
    "hold",
    "sights",
]
