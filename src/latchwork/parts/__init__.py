"""The catalogue: each kind of device, its terminals, elements and ratings; cables; part states."""

from latchwork.parts.cables import cable_type
from latchwork.parts.catalogue import Catalogue, catalogue
from latchwork.parts.kinds import KINDS, Kind
from latchwork.parts.model import (
    CableType,
    Core,
    Part,
    Terminal,
    lever_frees,
    moved_at_rest,
    sees_who_comes,
)
from latchwork.parts.pins import Difference, Pinned, differences, from_pin, pin
from latchwork.parts.problems import PartNotFound, PartsErrors
from latchwork.parts.spec import PartSpec
from latchwork.parts.state_names import (
    BATTERY_FUSE,
    CHARGER_DEAD,
    CHARGING,
    DEAD,
    DEAD_AND_FLAT,
    GIVE_NOTHING,
    GIVES_LESS,
    NO_BATTERY,
    WORN,
)
from latchwork.parts.states import (
    StateDef,
    StateNotFound,
    in_every_state,
    states_of,
    with_state,
)
from latchwork.parts.vocabulary import Takes, Word

__all__ = [
    "BATTERY_FUSE",
    "CHARGER_DEAD",
    "CHARGING",
    "DEAD",
    "DEAD_AND_FLAT",
    "GIVES_LESS",
    "GIVE_NOTHING",
    "KINDS",
    "NO_BATTERY",
    "WORN",
    "CableType",
    "Catalogue",
    "Core",
    "Difference",
    "Kind",
    "Part",
    "PartNotFound",
    "PartSpec",
    "PartsErrors",
    "Pinned",
    "StateDef",
    "StateNotFound",
    "Takes",
    "Terminal",
    "Word",
    "cable_type",
    "catalogue",
    "differences",
    "from_pin",
    "in_every_state",
    "lever_frees",
    "moved_at_rest",
    "pin",
    "sees_who_comes",
    "states_of",
    "with_state",
]
