"""What the supplies carry: load in each situation, charge, margin."""

from latchwork.power.loads import SupplyLoad, supply_loads

__all__ = ["SupplyLoad", "supply_loads"]
