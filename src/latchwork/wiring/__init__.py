"""From a plan to its wiring: which terminal is joined to which, through which core."""

from latchwork.wiring.joined import merged
from latchwork.wiring.model import (
    Bridge,
    Conductor,
    Lead,
    PartState,
    Trouble,
    WiredRow,
    Wiring,
)
from latchwork.wiring.text import rows_text
from latchwork.wiring.wire import wire

__all__ = [
    "Bridge",
    "Conductor",
    "Lead",
    "PartState",
    "Trouble",
    "WiredRow",
    "Wiring",
    "merged",
    "rows_text",
    "wire",
]
