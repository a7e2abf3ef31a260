"""Which moves are tried for which rule, the nearest to the cause first."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from latchwork.findings import Finding
from latchwork.remedies.candidate import Move
from latchwork.remedies.moves import cables, devices, facts, locks, supplies, wiring
from latchwork.rules.cabling import READER_M

_WIRED = (wiring.put_right, wiring.other_contact, wiring.standard_leg)
_LOCKING = (*_WIRED, locks.other_lock, devices.other_controller)
_LEAVING = (
    *_WIRED,
    devices.secure_side,
    devices.other_controller,
    devices.reader_outside,
    devices.exit_device,
    devices.bar_switch,
    devices.own_release,
    locks.lever_lock,
    locks.other_lock,
    supplies.other_feed,
)
_FIRE = (
    *_WIRED,
    devices.fire_contact,
    locks.other_lock,
    locks.lever_lock,
    devices.exit_device,
    cables.more_cores,
    wiring.site_row,
)
_VOLTS = (
    *_WIRED,
    cables.thicker_cores,
    supplies.higher_limit,
    locks.like_lock,
    cables.lock_and_cores,
)
_MADE_FOR = (devices.linked, devices.as_catalogued, devices.other_controller, supplies.other_feed)
_RELEASE = (*_WIRED, devices.own_release, locks.lever_lock, devices.bar_switch)
_JOINED = (wiring.site_row, wiring.put_right, wiring.leg_between, supplies.other_feed)
_SUPPLY = (supplies.higher_limit, supplies.bigger_battery, *_WIRED)

BY_RULE: Mapping[str, tuple[Move, ...]] = {
    "not-locked": _LOCKING,
    "no-entry": (
        *_VOLTS,
        cables.reader_cores,
        *_MADE_FOR,
        locks.other_lock,
        devices.without,
        devices.reader_outside,
        cables.more_cores,
    ),
    "power-lost-unlocks": (locks.other_lock, locks.lever_lock, *_WIRED),
    "power-lost-stays-locked": (locks.other_lock, *_WIRED),
    "power-lost-keeps-in": (locks.lever_lock, locks.other_lock, *_WIRED),
    "power-lost-latch-free": (locks.other_lock, *_WIRED),
    "unlocks-on-battery": (*_VOLTS, supplies.bigger_battery),
    "no-way-out": _LEAVING,
    "exit-needs-key": _LEAVING,
    "bar-frees-one": (devices.bar_switch, *_LEAVING),
    "bar-frees-none": (devices.bar_switch, *_LEAVING),
    "exit-request-dead": (*_WIRED, devices.exit_device),
    "exit-dies": (*_LEAVING, cables.cores_for_battery),
    "exit-dies-with-unit": _LEAVING,
    "exit-dies-with-controller": _LEAVING,
    "no-release": (devices.own_release, devices.bar_switch, locks.lever_lock, *_WIRED),
    "sensor-loses-power": (devices.exit_device, locks.lever_lock),
    "release-dead": _RELEASE,
    "release-signals": _RELEASE,
    "release-frees-one": (*_RELEASE, locks.other_lock),
    "release-one-pole": _RELEASE,
    "release-pole-welded": (wiring.put_right,),
    "release-height": (facts.release_moved,),
    "release-distance": (facts.release_moved,),
    "release-sign": (facts.sign,),
    "release-hold": (devices.own_release,),
    "closer-fast": (facts.closer,),
    "opening-force": (facts.closer,),
    "fire-alarm-unlocks": _FIRE,
    "fire-alarm-stays-locked": _FIRE,
    "fire-alarm-keeps-in": _FIRE,
    "fire-alarm-latch-free": _FIRE,
    "fire-ahead-of-battery": _FIRE,
    "fire-door-fail-safe": (locks.other_lock,),
    "fire-door-energised": _FIRE,
    "fire-door-magnet-alone": (locks.latch_beside, locks.lever_lock, locks.other_lock),
    "fire-door-unlisted": (locks.other_lock,),
    "relocks-in-fire": _FIRE,
    "relocks-by-itself": (facts.reset_by_hand,),
    "relay-outside": (
        devices.secure_side,
        devices.other_controller,
        devices.reader_outside,
        devices.set_inside,
    ),
    "exit-from-outside": (devices.set_inside, facts.unseen, devices.exit_device),
    "supply-outside": (supplies.inside,),
    "isolator-outside": (facts.isolator_inside, supplies.bigger_battery),
    "installer-code": (facts.code_changed,),
    "installer-code-unsaid": (facts.code_changed,),
    "magnet-alone": (supplies.bigger_battery,),
    "contact-missing": (wiring.standard_leg, devices.door_contact),
    "wrong-voltage": (*_MADE_FOR, *_WIRED, locks.other_lock, devices.like_part),
    "port-feeds-lock": (*_MADE_FOR, *_WIRED, locks.other_lock, supplies.own_supply),
    "volts-low": (*_VOLTS, devices.as_catalogued),
    "no-relock": (*_VOLTS, devices.as_catalogued),
    "pull-low": (*_VOLTS, devices.as_catalogued),
    "volts-high": (*_MADE_FOR, *_VOLTS, devices.like_part),
    "restarts": _VOLTS,
    "feed-low": _VOLTS,
    "unpowered": (*_VOLTS, *_MADE_FOR),
    "wrong-current": (locks.other_lock, devices.like_part, supplies.other_current),
    "polarity": _WIRED,
    "suppression-missing": (wiring.put_right, locks.own_diode, locks.other_lock),
    "suppression-reversed": (wiring.put_right, wiring.standard_leg),
    "suppression-forbidden": (locks.no_diode,),
    "duty": (facts.not_held, locks.other_lock, devices.as_catalogued, devices.other_controller),
    "supply-overload": (*_SUPPLY, supplies.smaller_battery),
    "transformer-overload": (supplies.higher_rating,),
    "relock-overload": _SUPPLY,
    "port-overload": (supplies.stronger_port, *_WIRED, locks.other_lock),
    "fuse-blows": (*_WIRED, supplies.bigger_fuse),
    "fuse-overload": (supplies.bigger_fuse, *_WIRED),
    "contact-overload": (
        *_WIRED,
        devices.linked,
        locks.other_lock,
        devices.as_catalogued,
        devices.other_controller,
        cables.thicker_cores,
    ),
    "core-overload": (cables.named_cable, cables.thicker_cores),
    "joint-hot": (wiring.joint_made_anew, wiring.standard_leg),
    "copper-clad": (cables.plain_copper,),
    "reader-cable": (cables.named_cable,),
    "bell-low": (cables.named_cable, cables.thicker_cores),
    "pluses-joined": _JOINED,
    "panel-zero-joined": _JOINED,
    "no-common-zero": (wiring.common_zero, wiring.standard_leg),
    "data-swapped": (wiring.put_right, wiring.standard_leg),
    "fuse-over-cable": (supplies.smaller_fuse, cables.thicker_cores),
    "wiring-too-few-cores": (cables.more_cores,),
    "wiring-no-such-contact": (devices.exit_device, devices.like_part),
    "wiring-no-such-terminal": (devices.without, devices.other_controller),
    "wiring-nothing-to-join-to": (
        wiring.standard_leg,
        locks.lock_that_can_be_joined,
        devices.bell_button,
        devices.door_contact,
        devices.without,
    ),
    "wiring-left-open": (wiring.standard_leg,),
    "wiring-in-no-row": (devices.without,),
    "wiring-one-contact-for-several-locks": (
        devices.fire_contact,
        cables.more_cores,
        devices.without,
    ),
    "wiring-supply-unsaid": (supplies.other_feed,),
    "wiring-output-unsaid": (supplies.other_feed,),
    "chatter": (*_VOLTS, devices.without),
    "users-over-places": (devices.other_controller, devices.reader_outside),
    "keys-out-of-reach": (devices.at_the_door, devices.reader_outside),
    "indoor-in-weather": (devices.like_part, supplies.inside),
    "enclosure-grade": (devices.like_part,),
    "standby-short": (supplies.bigger_battery, supplies.higher_limit),
    "standby-margin": (supplies.bigger_battery,),
    "battery-weak": (wiring.put_right,),
    "steady-leak": (wiring.put_right,),
    "supply-dead": (wiring.put_right,),
    "no-battery": (supplies.bigger_battery,),
    "battery-volts": (supplies.other_battery,),
    "returns-by-hand": (supplies.returns_alone,),
    "may-not-restart": (supplies.returns_alone, supplies.higher_limit),
}  # fmt: skip
"""Rules that are not here have no remedy that a Change could make: they ask somebody to look."""


NEVER: Mapping[str, Callable[[Finding], bool]] = {
    # No bar of the catalogue is made for weather.
    "indoor-in-weather": lambda f: f.subject.endswith(".bar"),
    # A way out for all is what the file does not want.
    "exit-needs-key": lambda f: f.figures.get("freed") == "kept in",
    "no-way-out": lambda f: f.figures.get("freed") == "kept in",
    # Which lock the door has, or whether a mechanical one alone, somebody has to say.
    "not-locked": lambda f: f.figures.get("how") == "unwritten",
    # No cores carry data further.
    "reader-cable": lambda f: float(f.figures["length_m"]) > READER_M,
}
"""By rule, which of its findings no Change answers."""


def may_mend(finding: Finding) -> bool:
    """Whether there may be a remedy for a finding; nothing is tried for the answer."""
    never = NEVER.get(finding.rule)
    return finding.rule in BY_RULE and not (never is not None and never(finding))
