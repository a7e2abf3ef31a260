"""Latchwork: what every electronically locked door will do, before a cable is pulled."""

__version__ = "0.1.0"
