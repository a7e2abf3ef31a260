"""Changes that remove a finding, tried before they are told."""

from latchwork.remedies.scene import Scene
from latchwork.remedies.search import Remedy, Walk, remedies, walk
from latchwork.remedies.table import may_mend

__all__ = ["Remedy", "Scene", "Walk", "may_mend", "remedies", "walk"]
