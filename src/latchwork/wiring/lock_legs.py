"""The lock's own circuit: what its current runs through, in the feed and in the return.

In the feed stand the fire contact, then the emergency release, then what switches the lock; a
release or fire contact with two poles breaks the return as well. Of two locks that one is meant
which needs power to hold; one that current frees hangs on the other throw. Common practice, no
source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from latchwork.wiring.fitted import Closed, Fitted
from latchwork.wiring.kit import Feed, Kit, energises, unlocked_by_current
from latchwork.wiring.sketch import Sketch

IN_FEED = {"radio": "radio", "exit": "exit", "key switch": "exit"}
"""What switches a lock where there is nothing else to do so, the first there is, and its leg."""


@dataclass(frozen=True, slots=True)
class Hub:
    """Where the legs start: the feed as it stands there, and the feed as it stands at the supply.

    They differ where the controller stands at the door and a power run lies between.
    """

    here: Feed
    supply: Feed | None


def lock_legs(sketch: Sketch, kit: Kit, hub: Hub) -> str:
    """Draw the lock's circuit; the code of the arrangement."""
    if not kit.locks:
        return "no lock"
    motors = [lock for lock in kit.locks if lock.has("IN")]
    coils = [lock for lock in kit.locks if lock not in motors]
    lock = kit.locks[0]
    if lock in motors or (motors and not unlocked_by_current(lock.part) and not kit.timed):
        held = [coil for coil in coils if not unlocked_by_current(coil.part)]
        return _motor(sketch, kit, hub, motors, held)
    opens = Closed.ACTED if unlocked_by_current(lock.part) else Closed.AT_REST
    feed = ahead = kit.lock_feed or hub.here
    if kit.timed and kit.supply is not None:
        ahead = Feed(kit.supply.switched_plus(opens), kit.supply.minus)
    around = []
    for slot in ("fire", "release"):
        device = kit.get(slot)
        if device is None:
            continue
        if opens is Closed.ACTED and energises(kit.door, slot):
            around.append((slot, device))
        else:
            ahead = _through(sketch, kit, hub, slot, device, ahead)
    arrangement, hot = _switched(sketch, kit, hub, ahead.plus, opens)
    _coil(sketch, kit, coils, Feed(hot, ahead.minus), opens)
    for slot, device in around:
        _close(sketch, kit, slot, device, feed.plus, hot)
    return arrangement


def _close(sketch: Sketch, kit: Kit, slot: str, device: Fitted, near: str, far: str) -> None:
    """Join two nodes by a contact that closes when the device acts; no ``near`` where its common
    is joined already.

    One contact cannot do so for several doors: it would join their locks for good.
    """
    pair = device.contact(Closed.ACTED)
    if pair is None or slot not in kit.alone:
        code = "no such contact" if slot in kit.alone else "one contact for several locks"
        sketch.trouble(code, slot, device=device.id)
        return
    if near:
        sketch.link(slot, near, pair[0])
    sketch.link(slot, far, pair[1])


def _through(
    sketch: Sketch, kit: Kit, hub: Hub, slot: str, device: Fitted, on: Feed, poles: int = 2
) -> Feed:
    """The feed after a contact that is closed at rest: in the plus, with two poles in both."""
    ends = [on.plus, on.minus]
    if sketch.written(slot):
        return on
    for pole in range(1, min(device.poles, poles) + 1):
        pair = device.contact(Closed.AT_REST, pole)
        if pair is None:
            sketch.trouble("no such contact", slot, device=device.id)
            continue
        far = sketch.place()
        if device.shared or (device.place == "supply" and not kit.at_supply):
            _beside_supply(sketch, kit, hub, slot, pair, ends[pole - 1], far)
        else:
            sketch.feed(slot, ends[pole - 1], pair[0])
            sketch.link(slot, far, pair[1])
        ends[pole - 1] = far
    return Feed(ends[0], ends[1])


def _beside_supply(
    sketch: Sketch,
    kit: Kit,
    hub: Hub,
    slot: str,
    pair: tuple[str, str],
    near: str,
    far: str,
) -> None:
    """A contact beside the supply, which several doors' locks may hang on.

    The first door feeds it there; each door's lock feed comes on from it, along the leg's own
    cable or another core of the power run.
    """
    if slot in kit.brings:
        at_supply = hub.supply or hub.here
        ahead = near
        if near == hub.here.plus:
            ahead = at_supply.plus
        elif near == hub.here.minus:
            ahead = at_supply.minus
        sketch.lead(slot, ahead, pair[0])
    run = slot if sketch.has_run(slot) or kit.at_supply else "power"
    sketch.link(slot, pair[1], far, over=run)


def _switched(sketch: Sketch, kit: Kit, hub: Hub, plus: str, opens: Closed) -> tuple[str, str]:
    """What switches the lock: the arrangement's code and the node that feeds the lock."""
    if kit.timed:
        return "timed supply", plus
    timer, relay, controller = kit.get("timer"), kit.get("relay"), kit.get("controller")
    if timer is not None:
        return "delay module", _by(sketch, "lock", timer, plus, opens)
    if relay is not None and controller is not None:
        pair = controller.contact(Closed.ACTED)
        if pair is not None:
            sketch.lead_feed("lock", hub.here.plus, pair[0])
            sketch.lead("lock", pair[1], relay.at("A1"))
            sketch.lead("lock", relay.at("A2"), hub.here.minus)
        return "interposing relay", _by(sketch, "lock", relay, plus, opens)
    if controller is not None:
        return "controller relay", _by(sketch, "lock", controller, plus, opens)
    for slot, leg in IN_FEED.items():
        device = kit.get(slot)
        if device is not None:
            return f"{slot} in the feed", _by(sketch, leg, device, plus, opens)
    return "nothing switches it", plus


def _by(sketch: Sketch, leg: str, device: Fitted, plus: str, closed: Closed) -> str:
    pair = device.contact(closed)
    if pair is None:
        sketch.trouble("no such contact", "lock", device=device.id)
        return sketch.place()
    if leg == "lock":
        sketch.lead_feed(leg, plus, pair[0])
    else:
        sketch.feed(leg, plus, pair[0])
    return _over(sketch, leg, pair[1])


def _over(sketch: Sketch, leg: str, screw: str) -> str:
    """A screw of what switches the lock; where it has a run of its own, the near end of a core."""
    if leg == "lock":
        return screw
    far = sketch.place()
    sketch.link(leg, far, screw)
    return far


def _coil(sketch: Sketch, kit: Kit, locks: Sequence[Fitted], on: Feed, opens: Closed) -> None:
    """The lock run, what stands at the lock's end of it, and another lock beside the first."""
    lock, *others = locks
    ahead = {"plus": lock.plus, "minus": lock.minus}
    bar = kit.get("bar")
    if bar is not None and opens is Closed.AT_REST:
        for pole, end in zip(range(1, bar.poles + 1), ahead, strict=False):
            pair = bar.contact(Closed.AT_REST, pole)
            if pair is None:
                sketch.trouble("no such contact", "lock", device=bar.id)
                continue
            sketch.lead("lock", pair[1], ahead[end])
            ahead[end] = pair[0]
    sketch.feed("lock", on.plus, ahead["plus"])
    sketch.feed("lock", on.minus, ahead["minus"])
    for slot, at_plus, at_minus in (("diode", "K", "A"), ("varistor", "1", "2")):
        device, across = kit.get(slot), kit.devices["lock"]
        if across not in locks:
            across = lock
        if device is not None:
            sketch.lead("lock", across.minus, device.at(at_minus))
            sketch.lead("lock", across.plus, device.at(at_plus))
    for other in others:
        if unlocked_by_current(other.part) is unlocked_by_current(lock.part):
            # At the first lock, behind the bar: what takes the power from one takes it from both.
            sketch.lead("lock", lock.plus, other.plus)
            sketch.lead("lock", lock.minus, other.minus)
            continue
        # The first of two unlike ones is that which needs power to hold: this one, power frees.
        if kit.timed and kit.supply is not None:
            # The controller's contact starts the supply, which has a screw for each throw.
            sketch.link("lock", kit.supply.switched_plus(Closed.ACTED), other.plus)
            sketch.lead("lock", ahead["minus"], other.minus)
            continue
        switch = kit.get("timer") or kit.get("relay") or kit.get("controller")
        pair = switch.contact(Closed.ACTED) if switch is not None else None
        if pair is None:
            sketch.trouble("no such contact", "lock", device=other.id)
            continue
        sketch.link("lock", pair[1], other.plus)
        sketch.lead("lock", ahead["minus"], other.minus)


def _motor(
    sketch: Sketch, kit: Kit, hub: Hub, motors: Sequence[Fitted], held: Sequence[Fitted]
) -> str:
    """A motor lock is fed all the time; closing IN to its minus withdraws the bolt.

    Emergency release and fire contact close the same pair: without power the bolt stays put. A
    fire contact of a door that stays locked in a fire stands ahead of the pair instead. What
    current holds beside it hangs on the other throws of the same contacts, one after the other in
    the minus, as IN must see no plus; a second pole of the release breaks its plus.
    """
    feed = kit.lock_feed or hub.here
    lock, *others = motors
    sketch.link("lock", feed.plus, lock.plus)
    sketch.feed("lock", feed.minus, lock.minus)
    for other in others:
        sketch.lead("lock", lock.plus, other.plus)
        sketch.lead("lock", lock.minus, other.minus)
    # The contacts stand in the minus first, so the feed is turned round.
    ahead = Feed(feed.minus, feed.plus)
    controller, closing = kit.get("controller"), []
    for slot in ("fire", "release"):
        device = kit.get(slot)
        if device is None:
            continue
        if energises(kit.door, slot):
            closing.append((slot, device))
        if held or not energises(kit.door, slot):
            ahead = _through(sketch, kit, hub, slot, device, ahead, poles=2 if held else 1)
    signal = at_rest = ""
    for slot in ("timer", "controller", *IN_FEED):
        device = kit.get(slot)
        if device is None or (slot in IN_FEED and controller is not None):
            continue
        pair, rest = device.contact(Closed.ACTED), device.contact(Closed.AT_REST)
        if pair is None or (held and rest is None):
            sketch.trouble("no such contact", "lock", device=device.id)
            continue
        leg = IN_FEED.get(slot, "lock")
        leg = "lock" if sketch.written(leg) else leg
        signal = _by(sketch, leg, device, ahead.plus, Closed.ACTED)
        sketch.link("lock", signal, lock.at("IN"))
        at_rest = _over(sketch, leg, rest[1]) if held and rest is not None else ""
        break
    if signal:
        for other in others:
            sketch.lead("lock", lock.at("IN"), other.at("IN"))
        for slot, device in closing:
            _close(sketch, kit, slot, device, "" if held else feed.minus, signal)
    if held and at_rest:
        _coil(sketch, kit, held, Feed(ahead.minus, at_rest), Closed.AT_REST)
    return "motor lock"
