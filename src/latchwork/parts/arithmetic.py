"""Figures worked out from figures, spread and certainty carried along."""

from __future__ import annotations

from latchwork.elements import Certainty, Figure

_WORSE = {certainty: rank for rank, certainty in enumerate(Certainty)}


def least_certain(*figures: Figure) -> Certainty:
    """The weakest certainty among figures."""
    return max((f.certainty for f in figures), key=_WORSE.__getitem__)


def _sources(*figures: Figure) -> str:
    return "; ".join(dict.fromkeys(f.source for f in figures))


def times(a: Figure, b: Figure) -> Figure:
    """a × b, both zero or more."""
    return Figure(
        a.value * b.value, a.low * b.low, a.high * b.high, _sources(a, b), least_certain(a, b)
    )


def over(a: Figure, b: Figure) -> Figure:
    """a ÷ b, a zero or more, b above zero."""
    return Figure(
        a.value / b.value, a.low / b.high, a.high / b.low, _sources(a, b), least_certain(a, b)
    )


def less(a: Figure, b: Figure) -> Figure:
    """a − b, never below zero."""
    return Figure(
        max(a.value - b.value, 0.0),
        max(a.low - b.high, 0.0),
        max(a.high - b.low, 0.0),
        _sources(a, b),
        least_certain(a, b),
    )


def scaled(a: Figure, factor: float) -> Figure:
    """a × a plain number, zero or more."""
    return Figure(
        a.value * factor, a.low * factor, a.high * factor, a.source, a.certainty, a.condition
    )


def not_below(a: Figure, b: Figure) -> Figure:
    """``a``, raised to ``b`` wherever it would be lower."""
    if a.value >= b.value and a.low >= b.low and a.high >= b.high:
        return a
    return Figure(
        max(a.value, b.value),
        max(a.low, b.low),
        max(a.high, b.high),
        _sources(a, b),
        least_certain(a, b),
    )
