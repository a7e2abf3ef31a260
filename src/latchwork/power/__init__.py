"""What the supplies carry, and how long their batteries last."""

from latchwork.power.battery import (
    PlainMethod,
    cold_factor,
    peukert_ah,
    peukert_hours,
    plain_method,
)
from latchwork.power.discharge import Discharge, Pack, discharge
from latchwork.power.loads import EVERYBODY, SupplyLoad, supply_loads
from latchwork.power.standby import Loss, Standby, standbys

__all__ = [
    "EVERYBODY",
    "Discharge",
    "Loss",
    "Pack",
    "PlainMethod",
    "Standby",
    "SupplyLoad",
    "cold_factor",
    "discharge",
    "peukert_ah",
    "peukert_hours",
    "plain_method",
    "standbys",
    "supply_loads",
]
