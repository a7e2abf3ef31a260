"""How chances are told to people."""

from __future__ import annotations


def one_in(chance: float) -> str:
    """ "1 in 370", or per cent from a tenth up."""
    if chance <= 0:
        return "none"
    return f"{100 * chance:.0f} %" if chance >= 0.1 else f"1 in {1 / chance:,.0f}"
