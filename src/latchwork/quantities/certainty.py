"""How a figure is known. It stands here because facts of a job and figures of a part share it."""

from __future__ import annotations

from enum import StrEnum


class Certainty(StrEnum):
    """How a figure is known, best first."""

    MEASURED = "measured"
    DATA_SHEET = "data sheet"
    CATALOGUE = "catalogue"
    ASSUMED = "assumed"
    GUESSED = "guessed"
    UNKNOWN = "unknown"


GUESSES = (Certainty.ASSUMED, Certainty.GUESSED, Certainty.UNKNOWN)
"""How what nobody has measured or read in a data sheet is known."""
