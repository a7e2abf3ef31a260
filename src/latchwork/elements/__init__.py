"""Primitive electrical elements and contact rules, with figures.

A part is a handful of these. Names of terminals and flags are local to the part; placing a part
on a site puts the device's id before them. Nothing here knows doors, files or solving.
"""

from latchwork.elements.electrical import (
    Contact,
    Diode,
    Element,
    Fuse,
    Load,
    LoadLaw,
    Rail,
    Resistor,
    ResistorRole,
    Source,
    SourceShape,
    joining_ohm,
)
from latchwork.elements.figures import Figure, exactly
from latchwork.elements.rules import (
    FALSE,
    TRUE,
    All,
    Any_,
    Bolt,
    Const,
    Expr,
    Flag,
    Input,
    Latch,
    Not,
    Rule,
    Sense,
    Speed,
    StateRule,
    Timer,
    TimerMode,
    expr_flags,
)
from latchwork.quantities.certainty import GUESSES, Certainty

__all__ = [
    "FALSE",
    "GUESSES",
    "TRUE",
    "All",
    "Any_",
    "Bolt",
    "Certainty",
    "Const",
    "Contact",
    "Diode",
    "Element",
    "Expr",
    "Figure",
    "Flag",
    "Fuse",
    "Input",
    "Latch",
    "Load",
    "LoadLaw",
    "Not",
    "Rail",
    "Resistor",
    "ResistorRole",
    "Rule",
    "Sense",
    "Source",
    "SourceShape",
    "Speed",
    "StateRule",
    "Timer",
    "TimerMode",
    "exactly",
    "expr_flags",
    "joining_ohm",
]
