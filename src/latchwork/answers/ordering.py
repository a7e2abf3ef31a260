"""The figures that one orders a part or a cable by, in a few words."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.elements import Figure
from latchwork.parts.model import CableType
from latchwork.quantities import System, show
from latchwork.words import say

VOLTS = ("nominal_v", "battery_block_v")
DRAWS = {
    "motor_a": "A",
    "current_a": "A",
    "busy_a": "A",
    "busy_w": "W",
    "idle_a": "A",
    "idle_w": "W",
}
GIVES = {"port_w": "W", "rated_va": "VA", "limit_a": "A", "rating_a": "A", "battery_ah": "Ah"}
MM2_A_M2 = 1e6
WIDE = 1.5
"""Rated so many times over its nominal volts, a part is for more than one of them: a 12 V part of
12 and 24 V takes far more than the 1.2 times of one for 12 V alone (common practice, no source)."""


def part_figures(figures: Mapping[str, Figure], alternating: bool = False) -> str:
    """Volts, then what it draws or gives, else what its contacts switch: "24 V, 0.125 A"."""
    told = [f"{figures[name].value:g} V" for name in VOLTS if name in figures][:1]
    nominal, low, high = (figures.get(f"{n}_v") for n in ("nominal", "rated_low", "rated_high"))
    if nominal and low and high and high.value >= WIDE * nominal.value:
        ends = {"low": f"{low.value:g}", "high": f"{high.value:g}"}
        told = [say("ordering.wide", ends)]
    if told and alternating:
        told = [say("ordering.alternating", {"volts": told[0]})]
    # What a supply gives comes before what its charger or its fuses have to do with.
    sizes = [
        f"{_rounded(figures[name].value)} {unit}"
        for names in (GIVES, DRAWS)
        for name, unit in names.items()
        if name in figures
    ]
    told += sizes[:1]
    if not sizes and "contact_a" in figures:
        told.append(say("ordering.switches", {"amps": f"{_rounded(figures['contact_a'].value)} A"}))
    return ", ".join(told)


def _rounded(value: float) -> str:
    return f"{value:.3g}"


def cable_figures(kind: CableType, system: System) -> str:
    """Cores and what each is thick in the site's units: "4 × 0.75 mm²"; screened, and of what,
    where that counts."""
    thick = f"{_rounded(kind.area_m2 * MM2_A_M2)} mm²"
    if system is System.US:
        thick = show(kind.area_m2, "m²", system)
    told = [f"{len(kind.cores)} × {thick}"]
    told += [say("ordering.screened")] if kind.screened else []
    told += [kind.material] if kind.material != "copper" else []
    return ", ".join(told)
