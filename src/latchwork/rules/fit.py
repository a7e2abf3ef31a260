"""Whether parts fit their place and their task, and what is beyond this model."""

from __future__ import annotations

import re
from collections.abc import Iterator

from latchwork.findings import Finding, Severity
from latchwork.rules.rule import Rule
from latchwork.rules.security import SITE
from latchwork.rules.view import RANK, View
from latchwork.wiring.interlocks import beyond_model

_GRADE = re.compile(r"IP\s*([0-6X])([0-9X])", re.IGNORECASE)
NEEDS_GRADE = {"outside": (4, 2), "weather": (4, 4)}
"""Digits of IEC 60529 (from memory): 4 keeps out a 1 mm wire; 2 drops on a tilted case, 4 splashed
water. Which digits a place needs is common practice, no source."""


def users(view: View) -> Iterator[Finding]:
    """More users than a controller has places."""
    told: set[str] = set()
    at_site = view.plan.job.site.facts.get("users")
    for door, _ in view.doors():
        controller = view.device(door, "controller")
        if controller is None or controller.id in told:
            continue
        people = door.door.facts.get("users", at_site)
        places = controller.part.facts.get("user_places")
        if isinstance(people, int) and isinstance(places, int) and people > places:
            told.add(controller.id)
            yield Finding(
                "users-over-places",
                controller.id,
                Severity.FAILS,
                "",
                {"users": float(people), "places": float(places)},
                "part",
            )


def keys_out_of_reach(view: View) -> Iterator[Finding]:
    """A controller that people work at its own case, and that hangs beside the supply."""
    for door, _ in view.doors():
        controller = view.device(door, "controller")
        if controller is None or controller.place != "supply" or view.has(door, "reader"):
            continue
        facts = controller.part.facts
        if facts.get("own_credential") is True and facts.get("face_place") is None:
            yield Finding("keys-out-of-reach", controller.id, Severity.FAILS, "", {}, "practice")


def weather(view: View) -> Iterator[Finding]:
    """An indoor part in the weather, or a case whose grade is too low for where it stands."""
    for device in view.plan.devices.values():
        stands = view.exposure(device)
        made = str(device.part.facts.get("made_for", "inside"))
        if RANK[stands] > RANK[made]:
            yield Finding(
                "indoor-in-weather",
                device.id,
                Severity.WEAK,
                "",
                {"made": made, "stands": stands},
                "practice",
            )
            continue
        grade = _GRADE.fullmatch(str(device.part.facts.get("ingress", "")).strip())
        needs = NEEDS_GRADE.get(stands)
        if grade is None or needs is None:
            continue
        if any(
            digit != "X" and int(digit) < need
            for digit, need in zip(grade.groups(), needs, strict=True)
        ):
            yield Finding(
                "enclosure-grade",
                device.id,
                Severity.WEAK,
                "",
                {
                    "grade": grade[0].upper(),
                    "need": f"IP{needs[0]}{needs[1]}",
                    "stands": stands,
                },
                "ip",
            )


def temperature(view: View) -> Iterator[Finding]:
    """A part whose data sheet ends short of the site's coldest or hottest. Indoors somebody may
    know that it is never so cold there; that is a question."""
    ambient = view.plan.job.site.ambient_c
    if ambient is None:
        return
    for device in view.plan.devices.values():
        figures = device.part.figures
        severity = Severity.NOTE if view.exposure(device) == "inside" else Severity.WEAK
        for side, past in (("coldest", -1.0), ("hottest", 1.0)):
            made = figures.get(f"{side}_c")
            if made is None:
                continue
            site_c = ambient.low if side == "coldest" else ambient.high
            if past * site_c > past * made.value:
                said: dict[str, float | str] = {"made_c": made.value, "site_c": site_c}
                yield Finding(
                    "temperature-range", device.id, severity, side, {**said, "side": side}, "part"
                )


def beyond(view: View) -> Iterator[Finding]:
    """Delayed egress, interlocks and anti-passback: told, and given no answer.

    A contact of another door in a door's circuit is an interlock, whatever is written: no situation
    has that other door open.
    """
    for door in view.plan.doors:
        for what in beyond_model(view.site.wiring, door):
            yield Finding("beyond-model", door, Severity.WEAK, what, {"what": what}, "model")


def look_up(view: View) -> Iterator[Finding]:
    """Figures of the rule set that nobody here has looked up: told, never held against anybody."""
    limits = view.limits
    height = limits.release_height_m
    fitted = any(view.has(d, "release") for d in view.plan.doors.values())
    if height is not None and not height.usable and fitted:
        yield _to_look_up("release height", height.source)
    if limits.standby_h is not None and any(s.battery_blocks for s in view.plan.supplies.values()):
        yield _to_look_up("hours on battery", limits.standby_h.source)


def _to_look_up(what: str, source: str) -> Finding:
    return Finding("look-up", SITE, Severity.NOTE, what, {"what": what}, source)


RULES: tuple[Rule, ...] = (
    Rule(("users-over-places",), "part", users),
    Rule(("keys-out-of-reach",), "practice", keys_out_of_reach),
    Rule(("indoor-in-weather", "enclosure-grade"), "practice", weather),
    Rule(("temperature-range",), "part", temperature),
    Rule(("beyond-model",), "model", beyond),
    Rule(("look-up",), "practice", look_up),
)
