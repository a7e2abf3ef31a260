"""Every text people read, by code and parameters."""

from latchwork.words.catalogue import has, say, sources

__all__ = ["has", "say", "sources"]
