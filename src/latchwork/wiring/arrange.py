"""The standard arrangement of a door, chosen by what its kit is."""

from __future__ import annotations

from latchwork.wiring.fitted import Closed
from latchwork.wiring.kit import Feed, Kit
from latchwork.wiring.lock_legs import Hub, lock_legs
from latchwork.wiring.signal_legs import signal_legs
from latchwork.wiring.sketch import Sketch


def arrange(sketch: Sketch, kit: Kit) -> str:
    """Draw the rows of every leg the file does not write itself; the arrangement's code."""
    if not sketch.written("power"):
        if kit.feed is None and kit.devices:
            sketch.trouble("supply unsaid", "power")
        elif kit.unsaid_output and kit.supply is not None:
            sketch.trouble("output unsaid", "power", supply=kit.supply.id)
    hub = _power(sketch, kit)
    arrangement = lock_legs(sketch, kit, hub)
    _triggers(sketch, kit, hub)
    signal_legs(sketch, kit, hub)
    return arrangement


def _power(sketch: Sketch, kit: Kit) -> Hub:
    """The power leg, and the feed as it stands where the other legs start.

    A power run carries everything behind it where the controller stands at the door; where it
    stands at the supply, the run is the controller's alone and the lock starts from the supply.
    """
    supply, controller = kit.feed, kit.get("controller")
    if controller is not None and "controller" in kit.brings:
        here = Feed(controller.plus, controller.minus)
        feed = kit.controller_feed or supply
        if feed is not None:
            _run(sketch, feed, here)
        return Hub(supply if kit.at_supply and supply is not None else here, supply)
    if controller is not None and not sketch.has_run("power") and not kit.at_supply:
        return Hub(Feed(controller.plus, controller.minus), supply)
    if supply is not None and (kit.at_supply or not sketch.has_run("power")):
        return Hub(supply, supply)
    here = Feed(sketch.place(), sketch.place())
    if supply is not None:
        _run(sketch, supply, here)
    return Hub(here, supply)


def _run(sketch: Sketch, supply: Feed, here: Feed) -> None:
    sketch.link("power", supply.plus, here.plus)
    sketch.link("power", supply.minus, here.minus)


def _triggers(sketch: Sketch, kit: Kit, hub: Hub) -> None:
    """Feed a delay module, and let the controller's relay start it or the timed supply."""
    timer, controller = kit.get("timer"), kit.get("controller")
    if timer is not None:
        sketch.lead("lock", hub.here.plus, timer.plus)
        sketch.lead("lock", hub.here.minus, timer.minus)
    started = timer or (kit.supply if kit.timed else None)
    pair = controller.contact(Closed.ACTED) if controller is not None else None
    if started is None or pair is None:
        return
    if timer is not None:
        sketch.lead("lock", timer.at("IN"), pair[1])
        sketch.lead("lock", timer.at("GND"), pair[0])
        return
    over = "power" if not kit.at_supply else ""
    for screw, end in (("IN", pair[1]), ("GND", pair[0])):
        if over:
            sketch.link("power", started.at(screw), end)
        else:
            sketch.lead("power", started.at(screw), end)
