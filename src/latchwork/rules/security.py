"""What somebody outside can do: reach a relay, set off a sensor, cut the power, know the code."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour import Mode, Power
from latchwork.behaviour.passing import SENSOR, within_reach
from latchwork.findings import Finding, Severity
from latchwork.job.names import EXIT_SLOTS
from latchwork.parts import sees_who_comes
from latchwork.plan.places import OUTSIDE
from latchwork.rules.rule import Rule
from latchwork.rules.view import View

SITE = "site"
"""Subject of what is about no single thing of the site."""
WAYS = {SENSOR: SENSOR, "bar": "panic bar", "lever": "lever"}
"""What is worked, by its kind: the rest are buttons, or releases."""
FIRE = "fire relay"
SEEN = "sensor seen from outside"
RELAYS = ("controller", "radio", "delay module", "relay", FIRE)


def relay_outside(view: View) -> Iterator[Finding]:
    """A relay that switches the lock, in a case that an intruder can open."""
    used = view.wired_terminals
    for door, _ in view.doors():
        for device_id in door.devices.values():
            device = view.plan.devices[device_id]
            if device.place not in OUTSIDE or device.part.kind not in RELAYS:
                continue
            throws = [
                t.name for t in device.part.terminals if t.name.startswith(("NO", "NC", "COM"))
            ]
            if any(f"{device_id}.{name}" in used for name in throws):
                # Nobody reads a card at a fire relay: it only has to stand elsewhere.
                figures = {"freed": "fire"} if device.part.kind == FIRE else {}
                yield Finding(
                    "relay-outside", device_id, Severity.INSECURE, "", figures, "practice"
                )


def exit_from_outside(view: View) -> Iterator[Finding]:
    """An exit device or an emergency release that can be worked from outside. Where people escape
    inward a release outside is for them, and where they do so alone, as off a roof, a button too.
    """
    told: set[str] = set()
    for door, _ in view.doors():
        inward = door.door.escapes_inward
        alone = door.door.facts.get("escape direction") == "inward"
        for slot in within_reach(view.plan, door.id):
            device = view.plan.devices[door.devices[slot]]
            meant = alone and device.place in OUTSIDE
            if device.id in told or meant or (inward and slot == "release"):
                continue
            told.add(device.id)
            rest = "emergency release" if slot == "release" else "exit button"
            figures: dict[str, float | str] = {"way": WAYS.get(device.part.kind, rest)}
            yield Finding(
                "exit-from-outside", device.id, Severity.INSECURE, "", figures, "practice"
            )


def sensor_unsaid(view: View) -> Iterator[Finding]:
    """An exit sensor at a door to the street, of which nobody has said whether it is set off from
    there."""
    for door, _ in view.doors():
        if door.door.outside not in OUTSIDE or SEEN in door.door.facts:
            continue
        for slot in EXIT_SLOTS:
            device = view.device(door, slot)
            if device is None or not sees_who_comes(device.part) or device.place in OUTSIDE:
                continue
            path = f"doors.{door.id}.{SEEN}"
            yield Finding(
                "exit-sensor-unsaid", device.id, Severity.NOTE, "", {}, "practice", (path,)
            )


def supply_outside(view: View) -> Iterator[Finding]:
    """A supply on the unsecure side: its terminals open or shut every lock on it."""
    for supply in view.plan.supplies.values():
        if supply.device.place in OUTSIDE:
            yield Finding("supply-outside", supply.id, Severity.INSECURE, "", {}, "practice")


def isolator_outside(view: View) -> Iterator[Finding]:
    """The mains can be cut from outside, and a door opens when they are, or once its battery is
    flat."""
    if view.plan.job.site.facts.get("isolator at") != "outside":
        return
    doors = [door.id for door, _ in view.doors()]
    at_once = [d for d in doors if _opens(view, d, battery=view.battery_fitted(d))]
    later = [d for d in doors if d not in at_once and _opens(view, d, battery=False)]
    yield Finding(
        "isolator-outside",
        SITE,
        Severity.INSECURE if at_once else Severity.NOTE,
        "",
        {"doors": ", ".join(at_once) or "none", "later": ", ".join(later) or "none"},
        "practice",
    )


def _opens(view: View, door: str, *, battery: bool) -> bool:
    state = view.state(door, Power.BATTERY if battery else Power.ALL_LOST, Mode.NORMAL)
    return state is not None and state.stands_open.can


def installer_code(view: View) -> Iterator[Finding]:
    """The installer code is noted as unchanged where a controller takes codes; where the keys stand
    outside beside the works, not knowing is a question.
    """
    at_site = view.plan.job.site.facts.get("installer code changed")
    told: set[str] = set()
    for door, _ in view.doors():
        controller = view.device(door, "controller")
        if controller is None or "code" not in str(controller.part.facts.get("credentials", "")):
            continue
        said = door.door.facts.get("installer code changed", at_site)
        if said is False and controller.id not in told:
            told.add(controller.id)
            yield Finding("installer-code", controller.id, Severity.INSECURE, "", {}, "practice")
        if said is None and controller.place in OUTSIDE and controller.id not in told:
            told.add(controller.id)
            path = f"doors.{door.id}.installer code changed"
            yield Finding(
                "installer-code-unsaid", controller.id, Severity.NOTE, "", {}, "practice", (path,)
            )


def magnet_alone(view: View) -> Iterator[Finding]:
    """Locks that open without power, no battery, and nothing else to lock the door at night.

    Where nobody has said what else does, a magnet outside counts: its door has no latch of its own
    (common practice, no source).
    """
    for door, outcome in view.doors():
        said = door.door.facts.get("only lock overnight")
        alone = said is True or (said is None and door.door.outside in ("outside", "weather"))
        if not alone or view.battery_fitted(door.id):
            continue
        if said is None and any(view.part(k.device).kind != "magnet" for k in outcome.locks):
            continue
        state = view.state(door.id, Power.ALL_LOST, Mode.NORMAL)
        if state is not None and state.stands_open.can:
            yield Finding("magnet-alone", door.id, Severity.INSECURE, "", {}, "practice")


def contact_missing(view: View) -> Iterator[Finding]:
    """Held or forced open is to be told, and nothing watches the leaf."""
    used = view.wired_terminals
    for door, _ in view.doors():
        if door.door.facts.get("held or forced told") is not True:
            continue
        controller = view.device(door, "controller")
        way = door.door.shared.get("controller", "").partition(".")[2]
        screw = f"CONTACT{way if way not in ('', '1') else ''}"
        watched = controller is not None and f"{controller.id}.{screw}" in used
        if not view.has(door, "contact") or not watched:
            what = "no contact" if not view.has(door, "contact") else "nothing watches it"
            yield Finding("contact-missing", door.id, Severity.FAILS, "", {"what": what}, "asked")


RULES: tuple[Rule, ...] = (
    Rule(("relay-outside",), "practice", relay_outside),
    Rule(("exit-from-outside",), "practice", exit_from_outside),
    Rule(("exit-sensor-unsaid",), "practice", sensor_unsaid),
    Rule(("supply-outside",), "practice", supply_outside),
    Rule(("isolator-outside",), "practice", isolator_outside),
    Rule(("installer-code", "installer-code-unsaid"), "practice", installer_code),
    Rule(("magnet-alone",), "practice", magnet_alone),
    Rule(("contact-missing",), "asked", contact_missing),
)
