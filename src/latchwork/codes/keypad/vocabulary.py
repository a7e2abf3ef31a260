"""What can be set on a controller, by names that a grammar and a store share.

A grammar says by which keys; what a name means is said here, once.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Setting:
    """One setting. ``choices`` empty: a whole number in ``unit``."""

    what: str
    choices: tuple[str, ...] = ()
    unit: str = ""


_ON = ("on", "off")

SETTINGS: dict[str, Setting] = {
    "relay 1 time": Setting("how long relay 1 stays on a grant", unit="s"),
    "relay 1 mode": Setting("whether a grant pulses or toggles relay 1", ("pulse", "toggle")),
    "relay 1 sense": Setting(
        "whether relay 1 picks up or drops on a grant", ("normal", "inverted")
    ),
    "relay 2 time": Setting("how long relay 2 stays on a grant", unit="s"),
    "relay 2 mode": Setting("whether a grant pulses or toggles relay 2", ("pulse", "toggle")),
    "relay 2 sense": Setting(
        "whether relay 2 picks up or drops on a grant", ("normal", "inverted")
    ),
    "access mode": Setting(
        "what opens the door", ("card", "PIN", "card or PIN", "card and PIN", "several people")
    ),
    "people needed": Setting("how many people it takes where it takes several"),
    "PIN length": Setting("digits of a PIN", unit="digits"),
    "own PIN": Setting("whether people may change their own PIN", _ON),
    "duress": Setting("whether a duress code raises a silent alarm", _ON),
    "exit time": Setting("how long an exit request releases the door", unit="s"),
    "exit sense": Setting("on which state of its contact the exit input acts", ("closed", "open")),
    "door contact": Setting("whether a door contact is fitted", ("fitted", "none")),
    "forced alarm": Setting("alarm when the door opens without a grant", _ON),
    "held-open time": Setting("how long the door may stand open", unit="s"),
    "wrong attempts": Setting("wrong codes or cards before the controller acts; 0 never"),
    "wrong attempts do": Setting("what it does then", ("lock-out", "alarm", "both")),
    "lock-out time": Setting("how long nothing is taken after wrong attempts", unit="s"),
    "tamper": Setting("alarm when the case is opened", _ON),
    "alarm time": Setting("how long an alarm sounds", unit="min"),
    "bell": Setting("what the bell key drives", ("own sounder", "bell output", "off")),
    "summer time": Setting("whether the clock changes by itself", _ON),
    "first person": Setting("timed unlock waits for the first grant", _ON),
    "anti-passback": Setting("a card that went in must come out before it goes in again", _ON),
    "interlock": Setting("two doors are never open at once", _ON),
    "key sound": Setting("whether keys sound", _ON),
    "light": Setting("when the keys are lit", ("always", "on a key", "off")),
    "reader format": Setting("bits of a card's number on the data wires", unit="bits"),
    "reader parity": Setting("whether a card's parity is checked", ("checked", "ignored")),
    "address": Setting("the unit's address on the bus"),
    "facility code": Setting("which facility's cards are taken; 0 any"),
    "role": Setting("whether the unit decides or only reads", ("controller", "reader")),
    "network": Setting("whether the network port is used", _ON),
    "log": Setting("whether grants are logged", _ON),
}

CODES = ("installer", "manager", "master", "master card")
"""The controller's own codes. A field of such a name must be keyed as the controller has it."""

USER_OPS: dict[str, tuple[str, ...]] = {
    "add PIN": ("place", "pin"),
    "add card": ("place", "card"),
    "add finger": ("place", "finger"),
    "set relay": ("place", "relay"),
    "set times": ("place", "times"),
    "set until": ("place", "date"),
    "set kind": ("place", "kind"),
}
"""What builds up one user, with the fields it needs."""

OPS: dict[str, tuple[str, ...]] = {
    **USER_OPS,
    "add card range": ("place", "count", "card"),
    "delete place": ("place",),
    "delete places": ("place", "last place"),
    "delete card": ("card",),
    "delete PIN": ("pin",),
    "delete all users": (),
    "change own PIN": ("pin", "new pin"),
    "add times": ("times", "day", "from", "to"),
    "clear times": ("times",),
    "add holiday": ("date",),
    "clear holidays": (),
    "set clock": ("clock date", "clock time"),
    "factory reset": (),
    "open": (),
    **{f"change {code}": (f"new {code}",) for code in CODES},
    **{f"set {name}": (name,) for name in SETTINGS},
}
"""Everything a step can mean, with the fields it needs, keyed or said by ``with``.

``run …`` (clear the log, copy users to a second unit, sound the bell) is an action that changes no
user and no setting; any name may follow.
"""

FIELDS = (
    "place",
    "last place",
    "count",
    "pin",
    "new pin",
    "card",
    "card number",
    "finger",
    "relay",
    "times",
    "date",
    "kind",
    "day",
    "last day",
    "from",
    "to",
    "clock date",
    "clock time",
    *CODES,
    *(f"new {code}" for code in CODES),
    *SETTINGS,
)
"""Every name a field may have. ``… again`` repeats one and must be keyed the same."""

SECRET_FIELDS = frozenset({"pin", "new pin", *CODES, *(f"new {c}" for c in CODES)})
RELAYS = ("1", "2", "both")
KINDS = ("normal", "visitor", "single use", "duress")
