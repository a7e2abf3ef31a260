"""Peukert's law as handbooks write it, for what is reckoned otherwise in the package."""

from __future__ import annotations

from latchwork.power.battery import PEUKERT, RATE_H


def peukert_hours(current_a: float, capacity_ah: float, exponent: float = PEUKERT) -> float:
    """Hours to the end of discharge at a steady current, t = H (C / (I H))^k; no credit below the
    rated current."""
    share = capacity_ah / (current_a * RATE_H)
    return RATE_H * (share if share >= 1.0 else share**exponent)
