"""From a plan to its wiring: which terminal is joined to which, through which core."""

from latchwork.wiring.joined import merged
from latchwork.wiring.wire import wire

__all__ = ["merged", "wire"]
