"""A supply with its battery and its output fuses as one part."""

from __future__ import annotations

from latchwork.job import counted
from latchwork.job.devices import REMOVED
from latchwork.job.model import Fact, Supply
from latchwork.plan.model import PlannedDevice, PlannedSupply
from latchwork.plan.resolve import Resolver, Settings, with_words
from latchwork.quantities import Certainty

NO_FUSE = Fact(1e6, 1e6, 1e6, "A", Certainty.DATA_SHEET, "none")
"""An output without a fuse is one whose fuse never blows."""


def plan_supply(resolver: Resolver, supply: Supply) -> PlannedSupply | None:
    """The supply, or None with its problems noted."""
    path = f"supplies.{supply.id}"
    figures: dict[str, Fact] = {}
    settings: dict[str, str | int | bool] = {}
    if supply.battery is not None:
        for name, fact in supply.battery.figures.items():
            figures[_battery_word(name)] = fact
        settings.update(_battery_settings(supply))
    if supply.outputs:
        # As the screws stand side by side, in whatever order the file has them.
        settings["outputs"] = ", ".join(sorted(supply.outputs, key=counted))
    for name, fuse in supply.outputs.items():
        if fuse.part == REMOVED.part:
            figures[f"output {name} fuse"] = NO_FUSE
        elif "rating" in fuse.figures:
            figures[f"output {name} fuse"] = fuse.figures["rating"]
        if fuse.part == "polymer fuse":
            settings["self-resetting"] = True
    part = resolver.part(supply.id, "supply", with_words(supply.use, figures, settings), path)
    if part is None:
        return None
    return PlannedSupply(
        supply.id,
        PlannedDevice(supply.id, "", "supply", part, supply.place or "supply"),
        tuple(t.name for t in part.terminals if t.does == "output_plus"),
        supply.battery_blocks,
        part.figures.get("battery_ah"),
    )


def _battery_settings(supply: Supply) -> Settings:
    assert supply.battery is not None
    said = {_battery_word(name): value for name, value in supply.battery.settings.items()}
    return {"battery blocks": supply.battery_blocks, **said}


def _battery_word(name: str) -> str:
    """The supply's word for what is said of its battery."""
    return f"battery {'volts' if name == 'voltage' else name}"
