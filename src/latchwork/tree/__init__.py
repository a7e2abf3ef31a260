"""YAML texts as plain trees: every value the text that was written, with its place."""

from latchwork.tree.nodes import Entries, Items, Node, Refused, Scalar, shown
from latchwork.tree.read import MAX_BYTES, MAX_PROBLEMS, read_tree, too_large
from latchwork.tree.whole import must_be_file, read_whole

__all__ = [
    "MAX_BYTES",
    "MAX_PROBLEMS",
    "Entries",
    "Items",
    "Node",
    "Refused",
    "Scalar",
    "must_be_file",
    "read_tree",
    "read_whole",
    "shown",
    "too_large",
]
