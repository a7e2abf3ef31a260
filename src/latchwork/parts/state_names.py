"""States of what feeds doors, by name, and what of a supply they are about."""

from __future__ import annotations

DEAD = "supply dead"
"""What a supply is that gives nothing of its own."""
DEAD_AND_FLAT = "supply dead with its battery flat"
"""What a supply that dies comes to: its battery carries on for some hours, and nothing charges it
though the mains are on."""
GIVE_NOTHING = (DEAD, DEAD_AND_FLAT, "transformer dead", "port dead")
"""States of what feeds doors, and gives nothing of its own in them."""
CHARGER_DEAD = "charger dead"
"""What a supply is that carries its doors and no longer charges its battery: weeks later that is
flat, and nobody knows before the mains fail."""
GIVES_LESS = "regulator low"
"""What a supply is that gives less than a full battery has: that carries the doors until it has no
more volts than the supply, and is as good as flat then."""
WORN = "battery weak"
"""What a battery is that has more resistance than a sound one, and less capacity with it."""
BATTERY_JOINT = "contact battery"
"""What joins a battery to its supply's plus."""
NO_BATTERY = (
    "battery dead",
    "battery fuse blown",
    f"{BATTERY_JOINT} stuck open",
    CHARGER_DEAD,
    DEAD_AND_FLAT,
)
"""States of a supply, or of a battery by itself, in which its battery carries nothing on."""
BATTERY_FUSE = "battery fuse"
"""The fuse of a battery inside a supply."""
CHARGING = ("charger", "trickle")
"""The loads of a supply that are its own battery's."""
