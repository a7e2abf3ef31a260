"""The demo: an invented site as a first draft with planted mistakes, and put right."""

from latchwork.demo.planted import Planted, planted
from latchwork.demo.writing import DRAFT, MENDED, NotOurs, write_demo

__all__ = ["DRAFT", "MENDED", "NotOurs", "Planted", "planted", "write_demo"]
