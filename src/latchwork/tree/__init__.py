"""YAML texts as plain trees: every value the text that was written, with its place."""

from latchwork.tree.nodes import Entries, Items, Node, Refused, Scalar, shown
from latchwork.tree.read import MAX_BYTES, MAX_PROBLEMS, read_tree, too_large

__all__ = [
    "MAX_BYTES",
    "MAX_PROBLEMS",
    "Entries",
    "Items",
    "Node",
    "Refused",
    "Scalar",
    "read_tree",
    "shown",
    "too_large",
]
