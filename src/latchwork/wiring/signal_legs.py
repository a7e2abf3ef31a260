"""The legs that carry signals: exit, tamper, contacts, reader, bell, radio."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.wiring.fitted import Closed, Fitted
from latchwork.wiring.kit import Feed, Kit, unlocked_by_current
from latchwork.wiring.lock_legs import Hub
from latchwork.wiring.sketch import Sketch

AT_DOOR = ("", "door", "inside", "outside", "weather")
"""Places at the door itself, a lead away from its button."""


def signal_legs(sketch: Sketch, kit: Kit, hub: Hub) -> None:
    """Draw every leg beside power and lock that the kit has a use for."""
    _exit(sketch, kit, hub.here)
    controller = kit.get("controller")
    if controller is not None:
        _contact(sketch, kit, controller)
        _reader(sketch, kit, controller)
        _tamper(sketch, kit, controller)
    _bell(sketch, kit, hub, controller)


def _exit(sketch: Sketch, kit: Kit, feed: Feed) -> None:
    """Everything that asks to leave, on the input it acts on.

    Side by side where the input acts on closed contacts, one after the other where on open ones.
    Several on one leg share its cable: it goes to the first, the others hang on that one's screws.
    """
    asking = _asking(kit)
    for leg, devices in asking.items():
        _power(sketch, leg, feed, devices)
    target = _exit_input(kit)
    if target is None:
        return
    signal, ground, closed = target
    pairs = {
        leg: [
            pair
            for _, device in devices
            if (pair := _pair(sketch, leg, device, closed)) is not None
        ]
        for leg, devices in asking.items()
    }
    if closed is Closed.AT_REST:
        _one_after_the_other(sketch, pairs, signal, ground)
        return
    for leg, found in pairs.items():
        for number, (common, switched) in enumerate(found):
            if number == 0:
                sketch.link(leg, signal, switched)
                sketch.link(leg, ground, common)
            else:
                sketch.lead(leg, found[0][1], switched)
                sketch.lead(leg, found[0][0], common)


def _power(sketch: Sketch, leg: str, feed: Feed, devices: list[tuple[str, Fitted]]) -> None:
    """Feed what needs power: the first over the leg's cable, the others from its screws."""
    powered = [device for _, device in devices if device.has("+")]
    for device in powered[:1]:
        sketch.link(leg, feed.plus, device.plus)
        sketch.link(leg, feed.minus, device.minus)
    for device in powered[1:]:
        sketch.lead(leg, powered[0].plus, device.plus)
        sketch.lead(leg, powered[0].minus, device.minus)


def _one_after_the_other(
    sketch: Sketch, pairs: Mapping[str, list[tuple[str, str]]], signal: str, ground: str
) -> None:
    near = signal
    for leg, found in pairs.items():
        for number, (common, switched) in enumerate(found):
            if number == 0:
                sketch.link(leg, near, switched)
            else:
                sketch.lead(leg, near, switched)
            near = common
        if found:
            near = sketch.place()
            sketch.link(leg, near, found[-1][0])
    sketch.lead("exit", near, ground)


def _pair(sketch: Sketch, leg: str, device: Fitted, closed: Closed) -> tuple[str, str] | None:
    """The device's contact; noted where it has none such."""
    pair = device.contact(closed)
    if pair is None:
        sketch.trouble("no such contact", leg, device=device.id)
    return pair


def _asking(kit: Kit) -> dict[str, list[tuple[str, Fitted]]]:
    """What asks to leave, with its slot, by the leg it hangs on."""
    legs = {"exit": "exit", "second exit": "exit", "key switch": "exit", "radio": "radio"}
    if kit.locks and unlocked_by_current(kit.locks[0].part):
        legs["bar"] = "exit"
    found: dict[str, list[tuple[str, Fitted]]] = {}
    for slot, leg in legs.items():
        device = kit.get(slot)
        if device is not None:
            found.setdefault(leg, []).append((slot, device))
    return found


def _exit_input(kit: Kit) -> tuple[str, str, Closed] | None:
    """The input that exit requests go to, its ground, and the contact it acts on."""
    controller, timer = kit.get("controller"), kit.get("timer")
    if controller is not None:
        opens = controller.part.facts.get("exit_acts_on") == "open"
        closed = Closed.AT_REST if opens else Closed.ACTED
        return controller.own("EXIT"), controller.at("GND"), closed
    if timer is not None:
        return timer.at("IN"), timer.at("GND"), Closed.ACTED
    if kit.timed and kit.supply is not None:
        return kit.supply.at("IN"), kit.supply.at("GND"), Closed.ACTED
    return None


def _contact(sketch: Sketch, kit: Kit, controller: Fitted) -> None:
    """Door contact and latch contact one after the other; a lock's own contact without them."""
    if not controller.has_own("CONTACT"):
        return
    signal, ground = controller.own("CONTACT"), controller.at("GND")
    chain = [d for slot in ("contact", "latch contact") if (d := kit.get(slot)) is not None]
    lock = kit.get("lock")
    if not chain:
        if lock is not None and lock.has("MON1") and _lock_cores(sketch) >= 2:
            sketch.link("contact", signal, lock.at("MON1"), over="lock")
            sketch.link("contact", ground, lock.at("MON2"), over="lock")
        return
    near = signal
    for number, device in enumerate(chain):
        pair = _pair(sketch, "contact", device, Closed.AT_REST)
        if pair is None:
            continue
        if number == 0:
            sketch.link("contact", near, pair[1])
        else:
            sketch.lead("contact", near, pair[1])
        near = pair[0]
    if near != signal:
        sketch.link("contact", ground, near)


def _lock_cores(sketch: Sketch) -> int:
    return sketch.free("lock") if sketch.has_run("lock") else 2


def _reader(sketch: Sketch, kit: Kit, controller: Fitted) -> None:
    """Feed, minus and both data lines, from the controller's reader port where it has one."""
    reader = kit.get("reader")
    if reader is None:
        return
    plus, minus = ("R+", "R-") if controller.has("R+") else ("+", "-")
    sketch.link("reader", controller.at(plus), reader.plus)
    sketch.link("reader", controller.at(minus), reader.minus)
    for line in ("D0", "D1"):
        if controller.has_own(line):
            sketch.link("reader", controller.own(line), reader.at(line))
        else:
            sketch.trouble("no such terminal", "reader", device=controller.id, terminal=line)


def _tamper(sketch: Sketch, kit: Kit, controller: Fitted) -> None:
    """Close the loop of a tamper input: over the reader's case contact where it has one.

    Without one the leg's cable goes out and comes back; without a cable it is a link at the
    controller.
    """
    if controller.part.facts.get("tamper_terminal") != "input" or "controller" not in kit.brings:
        return
    signal, ground = controller.at("TAMPER"), controller.at("GND")
    reader = kit.get("reader")
    if reader is not None and reader.has("TAMPER"):
        over = "tamper" if sketch.has_run("tamper") else "reader"
        sketch.link("tamper", signal, reader.at("TAMPER"), over=over)
        return
    far = sketch.place()
    sketch.link("tamper", signal, far)
    sketch.link("tamper", ground, far)


def _bell(sketch: Sketch, kit: Kit, hub: Hub, controller: Fitted | None) -> None:
    """A bell on the feed, through its button or else the controller's bell contact.

    Its run goes from the feed to the bell, every core from end to end, and its button hangs on
    the end that is at the door. Only where the bell itself is beside the feed does the run go to
    the button (common practice, no source).
    """
    bell, button, feed = kit.get("bell"), kit.get("bell button"), hub.here
    if bell is None:
        return
    if button is None:
        if controller is not None and controller.has("BELL1"):
            sketch.lead("bell", feed.plus, controller.at("BELL1"))
            sketch.link("bell", controller.at("BELL2"), bell.plus)
            sketch.link("bell", feed.minus, bell.minus)
        return
    pair = _pair(sketch, "bell", button, Closed.ACTED)
    if pair is None:
        return
    run = sketch.has_run("bell")
    near = _place(hub, controller)
    if near in AT_DOOR or not run:
        joins = run and near not in ("", button.place)
        sketch.lead("bell", feed.plus, pair[0])
        start = sketch.joint() if joins else pair[1]
        if joins:
            sketch.lead("bell", pair[1], start)
        sketch.link("bell", start, bell.plus)
        sketch.link("bell", feed.minus, bell.minus)
    elif bell.place == near:
        sketch.link("bell", feed.plus, pair[0])
        sketch.link("bell", bell.plus, pair[1])
        sketch.lead("bell", feed.minus, bell.minus)
    else:
        end = pair[0] if bell.place == button.place else sketch.joint()
        sketch.link("bell", feed.plus, end)
        if end != pair[0]:
            sketch.lead("bell", end, pair[0])
        sketch.lead("bell", pair[1], bell.plus)
        sketch.link("bell", feed.minus, bell.minus)


def _place(hub: Hub, controller: Fitted | None) -> str:
    """Where the feed stands that the legs start from; "" at the end of a power run."""
    if controller is not None and hub.here.plus == controller.plus:
        return controller.place
    return "supply" if hub.here == hub.supply else ""
