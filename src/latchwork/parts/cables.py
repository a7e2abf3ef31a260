"""Cable types by what people write: "2 x 1.0 mm²", "4 x 18 AWG", "category cable"."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from functools import cache
from itertools import combinations

from latchwork.elements import Certainty, Figure
from latchwork.parts.colours import GAUGE, PAIRS, POWER, THIN
from latchwork.parts.model import CableType, Core
from latchwork.parts.problems import PartNotFound
from latchwork.quantities import awg_area_m2

COPPER_OHM_M = 1e-6 / 58.0
"""Resistivity of annealed copper at 20 °C, 1/58 Ω·mm²/m (IEC 60028; from memory)."""

CLAD_FACTOR = 1.5
"""Copper-clad aluminium reads about 1.5 times copper (from memory)."""

CORES = range(2, 13)

CLASS_5_OHM_KM: Mapping[float, float] = {
    0.5: 39.0,
    0.75: 26.0,
    1.0: 19.5,
    1.5: 13.3,
    2.5: 7.98,
    4.0: 4.95,
}
"""Maximum resistance of plain flexible copper at 20 °C by mm² (IEC 60228 class 5)."""

CLASS_2_OHM_KM: Mapping[float, float] = {
    0.5: 36.0,
    0.75: 24.5,
    1.0: 18.1,
    1.5: 12.1,
    2.5: 7.41,
    4.0: 4.61,
}
"""Maximum resistance of plain stranded copper at 20 °C by mm² (IEC 60228 class 2)."""

ALARM_OHM_KM: Mapping[float, tuple[float, float]] = {0.2: (93.5, 105.0), 0.22: (85.0, 95.0)}
"""Working figure and highest of thin alarm cores; IEC 60228 starts at 0.5 mm² (common practice,
no source: 0.22 mm² reads 80 to 95 Ω/km)."""

NEC_75C_OHM_KFT: Mapping[int, float] = {18: 7.95, 16: 4.99, 14: 3.14, 12: 1.98}
"""Seven-strand uncoated copper at 75 °C by gauge (NEC chapter 9 table 8)."""

NEC_ALPHA_75C = 0.00323
"""Temperature coefficient of copper at 75 °C (note under NEC chapter 9 table 8; from memory)."""

STRANDED_SHARE = 1.03
"""What stranding adds to gauges that the table does not hold (common practice, no source)."""

CATEGORY_OHM_M = 0.0938
"""Highest resistance of one conductor of horizontal category cable (TIA-568; from memory)."""

LIMIT_A: Mapping[float, float] = {
    0.2: 1.0,
    0.22: 1.0,
    0.5: 3.0,
    0.75: 6.0,
    1.0: 10.0,
    1.5: 15.0,
    2.5: 20.0,
    4.0: 25.0,
}
"""What a core may carry, by mm²: flexible cords after BS 7671 table 4F3A, from memory; 0.2 and
0.22 mm², which no table holds, common practice, no source."""

GAUGE_LIMIT_A: Mapping[int, float] = {
    12: 20.0,
    14: 15.0,
    16: 10.0,
    18: 7.0,
    20: 5.0,
    22: 3.0,
    23: 2.0,
    24: 1.5,
    26: 1.0,
}
"""What a core may carry, by gauge: 18 and 16 after NEC 725.43, 14 and 12 after NEC 240.4(D), from
memory; thinner ones common practice, no source."""

EXAMPLES = ("2 x 1.0 mm²", "6 x 0.22 mm²", "4 x 18 AWG", "category cable")

_CORES = r"(?P<cores>\d{1,2})\s*[x×*]\s*"
_AREA = re.compile(_CORES + r"(?P<area>\d{1,2}(?:\.\d{1,3})?)\s*(?:mm²|mm2|mm\^2|sq mm)")
_GAUGE = re.compile(_CORES + r"(?:awg\s*(?P<before>\d{1,2})|(?P<after>\d{1,2})\s*awg)")
_CATEGORY = re.compile(r"(?:category|cat)(?:\s*[5678][ae]?)?(?: cable)?")
_OPTIONS = {
    "copper-clad": "clad",
    "copper clad": "clad",
    "screened": "screened",
    "shielded": "screened",
    "solid": "solid",
    "stranded": "stranded",
    "flexible": "flexible",
    "twisted": "twisted",
}


@cache
def cable_type(text: str) -> CableType:
    """The cable people mean by ``text``: cores and size, or "category cable", then options.

    Options behind commas: "copper-clad", "screened", "twisted" (pairs), "stranded" (class 2, or
    seven-strand) and "flexible" (class 5, the usual). Resistance at 20 °C: lowest that of ideal
    copper of the stated size, highest the limit of the table. Raises PartNotFound.
    """
    head, *rest = (piece.strip() for piece in text.casefold().split(","))
    options = {_OPTIONS.get(option, option) for option in rest}
    if options - set(_OPTIONS.values()):
        raise PartNotFound(text, EXAMPLES)
    if _CATEGORY.fullmatch(head):
        return _category(options)
    by_area, by_gauge = _AREA.fullmatch(head), _GAUGE.fullmatch(head)
    match = by_area or by_gauge
    if match is None or int(match["cores"]) not in CORES:
        raise PartNotFound(text, EXAMPLES)
    count = int(match["cores"])
    if by_area:
        area_mm2 = float(by_area["area"])
        if not area_mm2:
            raise PartNotFound(text, EXAMPLES)
        return _metric(text, count, area_mm2, options)
    assert by_gauge is not None
    return _gauge(text, count, int(by_gauge["before"] or by_gauge["after"]), options)


def _finish(
    name: str,
    cores: tuple[Core, ...],
    ohm_m: Figure,
    limit_a: float,
    area_m2: float,
    options: set[str],
) -> CableType:
    clad = "clad" in options
    if clad:
        low, value, high = (CLAD_FACTOR * x for x in (ohm_m.low, ohm_m.value, ohm_m.high))
        ohm_m = Figure(
            value, low, high, f"{ohm_m.source}; copper-clad about 1.5 times, from memory"
        )
    suffix = "".join(
        f", {word}"
        for word, option in (
            ("stranded", "stranded"),
            ("solid", "solid"),
            ("twisted", "twisted"),
            ("screened", "screened"),
            ("copper-clad", "clad"),
        )
        if option in options and not (option == "twisted" and name == "category cable")
    )
    return CableType(
        name=name + suffix,
        cores=cores,
        ohm_per_m=ohm_m,
        limit_a=limit_a,
        area_m2=area_m2,
        material="copper-clad aluminium" if clad else "copper",
        screened="screened" in options,
        neighbours=_neighbours(cores),
    )


def _neighbours(cores: tuple[Core, ...]) -> tuple[tuple[str, str], ...]:
    """Which cores touch: the two of a pair; up to four untwisted cores all of them, more in a ring
    round the last, as they lie in the lay."""
    if cores[0].pair is not None:
        return tuple(
            (a.name, b.name)
            for a, b in combinations(cores, 2)
            if a.pair == b.pair or _next_pairs(a, b)
        )
    names = [core.name for core in cores]
    if len(names) <= 4:
        return tuple(combinations(names, 2))
    ring, centre = names[:-1], names[-1]
    around = list(zip(ring, [*ring[1:], ring[0]], strict=True))
    return tuple(around + [(name, centre) for name in ring])


def _next_pairs(a: Core, b: Core) -> bool:
    """Whether two cores are the first of pairs that lie next to each other."""
    if a.pair is None or b.pair is None or "white" in (a.colour + b.colour):
        return False
    return abs(a.pair - b.pair) == 1


def _cores(colours: tuple[str, ...], count: int, options: set[str]) -> tuple[Core, ...]:
    twisted = "twisted" in options
    return tuple(
        Core(colour, colour, index // 2 + 1 if twisted else None)
        for index, colour in enumerate(colours[:count])
    )


def _metric(text: str, count: int, area_mm2: float, options: set[str]) -> CableType:
    ideal = COPPER_OHM_M / (area_mm2 * 1e-6)
    alarm = ALARM_OHM_KM.get(area_mm2)
    certainty = Certainty.CATALOGUE
    table = CLASS_2_OHM_KM if options & {"stranded", "solid"} else CLASS_5_OHM_KM
    if alarm is not None:
        value, high = (x * 1e-3 for x in alarm)
        source, certainty = "common practice, no source", Certainty.ASSUMED
    elif area_mm2 in table:
        high = table[area_mm2] * 1e-3
        value = 0.5 * (ideal + high)
        number = 2 if table is CLASS_2_OHM_KM else 5
        source = f"IEC 60228 class {number}, highest; IEC 60028, lowest, from memory"
    else:
        near = _either_side(area_mm2, LIMIT_A)
        raise PartNotFound(text, tuple(f"{count} x {_size(known)} mm²" for known in near))
    cores = _cores(THIN if alarm else POWER, count, options)
    name = f"{count} x {_size(area_mm2)} mm²"
    ohm_m = Figure(value, ideal, high, source, certainty)
    return _finish(name, cores, ohm_m, LIMIT_A[area_mm2], area_mm2 * 1e-6, options)


def _either_side(size: float, known: Iterable[float]) -> tuple[float, ...]:
    """The known sizes just below and just above one that is not known."""
    below = [each for each in known if each < size]
    above = [each for each in known if each > size]
    return (*([max(below)] if below else []), *([min(above)] if above else []))


def _size(area_mm2: float) -> str:
    return f"{area_mm2:.1f}" if area_mm2 in (0.5, 1.0, 1.5, 2.5, 0.2) else f"{area_mm2:g}"


def _gauge(text: str, count: int, gauge: int, options: set[str]) -> CableType:
    if gauge not in GAUGE_LIMIT_A:
        near = _either_side(gauge, GAUGE_LIMIT_A)
        raise PartNotFound(text, tuple(f"{count} x {known:g} AWG" for known in near))
    area_m2 = awg_area_m2(gauge)
    ideal = COPPER_OHM_M / area_m2
    if gauge in NEC_75C_OHM_KFT:
        at_20c = 1.0 - NEC_ALPHA_75C * (75.0 - 20.0)
        high = NEC_75C_OHM_KFT[gauge] / 304.8 * at_20c
        source = (
            "NEC chapter 9 table 8 at 20 °C, highest; ASTM B258, IEC 60028, lowest, from memory"
        )
    else:
        high = ideal * STRANDED_SHARE
        source = "ASTM B258, IEC 60028, lowest, from memory; stranding common practice, no source"
    high = max(high, ideal)
    cores = _cores(GAUGE, count, options)
    ohm_m = Figure(0.5 * (ideal + high), ideal, high, source)
    return _finish(f"{count} x {gauge} AWG", cores, ohm_m, GAUGE_LIMIT_A[gauge], area_m2, options)


def _category(options: set[str]) -> CableType:
    area_m2 = awg_area_m2(24)
    ideal = COPPER_OHM_M / area_m2
    cores = tuple(
        Core(name, name, pair)
        for pair, colour in enumerate(PAIRS, 1)
        for name in (colour, f"{colour}-white")
    )
    ohm_m = Figure(
        0.5 * (ideal + CATEGORY_OHM_M),
        ideal,
        CATEGORY_OHM_M,
        "TIA-568, highest, from memory; 24 AWG by ASTM B258 and IEC 60028, lowest",
    )
    return _finish("category cable", cores, ohm_m, GAUGE_LIMIT_A[24], area_m2, options)
