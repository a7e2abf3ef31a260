"""What can be measured, and the units people write for it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

STANDARD_GRAVITY = 9.80665
"""m/s²; the kilogram and the pound that people write for a holding force are weights."""

INCH_M = 0.0254
FOOT_M = 0.3048
YEAR_S = 31557600.0
"""365.25 days."""
_POUND_FORCE = 4.4482216152605


@dataclass(frozen=True, slots=True)
class Unit:
    """SI value = number * ``factor`` + ``offset``."""

    factor: float
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Dimension:
    """One kind of quantity. ``symbol`` is the unit it is kept in, ``units`` every spelling taken.

    ``example`` is what an error message shows; ``wanted`` names the units in words.
    """

    name: str
    symbol: str
    example: str
    units: Mapping[str, Unit]
    folded: Mapping[str, Unit]
    """Spellings without regard to case, where that leaves no doubt."""

    def unit(self, spelling: str) -> Unit | None:
        """The unit spelled so, or None."""
        return self.units.get(spelling) or self.folded.get(spelling.casefold())


def _dimension(
    name: str, symbol: str, example: str, spellings: Mapping[str, float | Unit]
) -> Dimension:
    units: dict[str, Unit] = {}
    for names, size in spellings.items():
        unit = size if isinstance(size, Unit) else Unit(size)
        units.update(dict.fromkeys(names.split("|"), unit))
    folded: dict[str, Unit] = {}
    doubtful: set[str] = set()
    for spelling, unit in units.items():
        if folded.setdefault(spelling.casefold(), unit) != unit:
            doubtful.add(spelling.casefold())
    folded = {k: v for k, v in folded.items() if k not in doubtful}
    return Dimension(name, symbol, example, units, folded)


VOLTAGE = _dimension("voltage", "V", "12 V", {"V|volt|volts": 1.0, "mV": 1e-3, "kV": 1e3})
CURRENT = _dimension(
    "current", "A", "0.25 A or 250 mA", {"A|amp|amps": 1.0, "mA": 1e-3, "µA|μA|uA": 1e-6}
)
RESISTANCE = _dimension(
    "resistance",
    "Ω",
    "2.2 ohm",
    {
        "Ω|\u2126|ohm|ohms": 1.0,
        "mΩ|m\u2126|mohm|milliohm|milliohms": 1e-3,
        "kΩ|k\u2126|kohm|kilohm|kilohms": 1e3,
        "MΩ|M\u2126|Mohm|megohm|megohms": 1e6,
    },
)
POWER = _dimension("power", "W", "3 W", {"W|watt|watts": 1.0, "mW": 1e-3, "kW": 1e3})
APPARENT_POWER = _dimension("apparent power", "VA", "20 VA", {"VA": 1.0, "kVA": 1e3})
LENGTH = _dimension(
    "length",
    "m",
    "18 m or 60 ft",
    {
        "m|metre|metres|meter|meters": 1.0,
        "mm": 1e-3,
        "cm": 1e-2,
        "km": 1e3,
        "ft|foot|feet|'|′|’": FOOT_M,
        'in|inch|inches|"|″|”': INCH_M,
        "yd|yard|yards": 0.9144,
    },
)
AREA = _dimension("area", "m²", "0.75 mm² or 18 AWG", {"mm²|mm2|mm^2|sq mm": 1e-6})
TIME = _dimension(
    "time",
    "s",
    "5 s or 4 h",
    {
        "ms": 1e-3,
        "s|sec|second|seconds": 1.0,
        "min|minute|minutes": 60.0,
        "h|hr|hrs|hour|hours": 3600.0,
        "day|days": 86400.0,
        "week|weeks": 604800.0,
        "month|months": YEAR_S / 12.0,
        "year|years": YEAR_S,
    },
)
TEMPERATURE = _dimension(
    "temperature",
    "°C",
    "-10 to 35 °C",
    {"°C|℃|C|degC": 1.0, "°F|℉|F|degF": Unit(5.0 / 9.0, -160.0 / 9.0)},
)
FREQUENCY = _dimension("frequency", "Hz", "50 Hz", {"Hz": 1.0, "kHz": 1e3})
CHARGE = _dimension("battery capacity", "Ah", "7 Ah", {"Ah": 1.0, "mAh": 1e-3})
FORCE = _dimension(
    "force",
    "N",
    "22 N, 5 lbf or 280 kg",
    {"N": 1.0, "kN": 1e3, "kg|kgf": STANDARD_GRAVITY, "lbf|lb|lbs": _POUND_FORCE},
)
FRACTION = _dimension("share", "1", "15 %", {"%|percent|per cent": 0.01})
RESISTANCE_PER_LENGTH = _dimension(
    "resistance per length",
    "Ω/m",
    "85 ohm/km",
    {
        "Ω/m|ohm/m": 1.0,
        "Ω/km|\u2126/km|ohm/km": 1e-3,
        "Ω/100 m|ohm/100 m": 1e-2,
        "Ω/kft|ohm/kft|Ω/1000 ft|ohm/1000 ft": 1.0 / (1000.0 * FOOT_M),
    },
)

DIMENSIONS: tuple[Dimension, ...] = (
    VOLTAGE,
    CURRENT,
    RESISTANCE,
    POWER,
    APPARENT_POWER,
    LENGTH,
    AREA,
    TIME,
    TEMPERATURE,
    FREQUENCY,
    CHARGE,
    FORCE,
    FRACTION,
    RESISTANCE_PER_LENGTH,
)
"""Every dimension. No spelling belongs to two of them."""

BY_SYMBOL: Mapping[str, Dimension] = {d.symbol: d for d in DIMENSIONS}
