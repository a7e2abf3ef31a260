"""The catalogue: each kind of device, its terminals, elements and ratings; cables; part states."""

from latchwork.parts.cables import cable_type
from latchwork.parts.catalogue import Catalogue, catalogue
from latchwork.parts.kinds import KINDS, Kind
from latchwork.parts.model import CableType, Core, Part, Terminal
from latchwork.parts.problems import PartNotFound, PartsErrors
from latchwork.parts.spec import PartSpec
from latchwork.parts.states import StateDef, StateNotFound, states_of, with_state
from latchwork.parts.vocabulary import Takes, Word

__all__ = [
    "KINDS",
    "CableType",
    "Catalogue",
    "Core",
    "Kind",
    "Part",
    "PartNotFound",
    "PartSpec",
    "PartsErrors",
    "StateDef",
    "StateNotFound",
    "Takes",
    "Terminal",
    "Word",
    "cable_type",
    "catalogue",
    "states_of",
    "with_state",
]
