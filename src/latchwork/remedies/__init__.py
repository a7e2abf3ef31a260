"""Changes that remove a finding, tried before they are told."""

from latchwork.remedies.guessing import Doubt, Settled, doubts, settled
from latchwork.remedies.scene import Scene
from latchwork.remedies.search import Remedy, Walk, remedies, walk
from latchwork.remedies.sizing import Sized, Sizing, smallest_sizes
from latchwork.remedies.table import may_mend

__all__ = [
    "Doubt",
    "Remedy",
    "Scene",
    "Settled",
    "Sized",
    "Sizing",
    "Walk",
    "doubts",
    "may_mend",
    "remedies",
    "settled",
    "smallest_sizes",
    "walk",
]
