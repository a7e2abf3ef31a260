"""The questions of a site and of a supply, and a whole new job made of all answers."""

from __future__ import annotations

from collections.abc import Mapping

from latchwork.answers.interview.asking import Answers, Ask, Known, WrongAnswer
from latchwork.answers.interview.door import (
    ENTRIES,
    LIKE_NONE,
    NONE,
    current_locks,
    lock_of,
    read_part,
)
from latchwork.answers.interview.lines import door_value, lean, like, usual_of
from latchwork.job.changes import Lines, Value
from latchwork.job.changes.writing import entry
from latchwork.power.battery import BLOCKS_AH, plain_method
from latchwork.power.converters import most_w
from latchwork.quantities import CHARGE, TIME, VOLTAGE, QuantityError, System, parse, parse_pieces

RULE_SETS = ("general", "US model codes", "UK and Europe")
CHARGE_SHARE = 0.1
"""Charge current in A, of a block's Ah (common practice, no source)."""
LIMITS_A = (1, 2, 5, 10)
"""Ordinary sizes (common practice, no source)."""
COLD_C = 0.0
MARGIN = 1.25
FLOAT_AND_COLD = 1.4
RELAY_A = 0.05
"""Shares and amperes to choose an ordinary size by (common practice, no source)."""
HOURS = "4 h"


def _read_hours(known: Known, text: str) -> str:
    del known
    if text.casefold() == NONE:
        return NONE
    try:
        parse(text, TIME)
    except QuantityError as error:
        raise WrongAnswer(error.found, f"{error.expected}, or none") from None
    return text


def _read_battery(known: Known, text: str) -> str:
    del known
    if text.casefold() == NONE:
        return NONE
    count, cross, block = text.replace("×", "x").partition("x")
    try:
        parse_pieces((block if cross and count.strip().isdecimal() else text), VOLTAGE, CHARGE)
    except QuantityError:
        raise WrongAnswer(
            text, "blocks, volts and amp-hours, such as 2 x 12 V 7 Ah, or none"
        ) from None
    return text


def _load_a(known: Known, volts: float, only_at_rest: bool) -> float:
    """About what the doors described so far draw, in amperes: locks at float voltage and cold,
    electronics at work, at their most."""
    total = 0.0
    for answers in known.said.values():
        whole = known.said.get(answers.get("like", ""), answers)
        lock = lock_of(known, whole)
        devices = [known.part(name, slot) for slot, name in ENTRIES[_entry_of(whole)].items()]
        if current_locks(lock) or not only_at_rest:
            coil = [lock.figures[n].value for n in ("current_a", "motor_a") if n in lock.figures]
            total += FLOAT_AND_COLD * max(coil, default=0.0)
        total += sum(most_w(part, volts) / volts for part in devices)
        if whole.get("fire", NONE) != NONE:
            total += RELAY_A
    return total


def _entry_of(answers: Answers) -> str:
    return answers.get("entry", "code")


def _supply_volts(known: Known) -> int:
    twelve = [a for a in known.said.values() if "12 V" in a.get("lock", "")]
    return 12 if known.said and twelve else 24


def _supply(known: Known, answers: Answers) -> str:
    volts = _supply_volts(known)
    if not known.said:
        return f"supply {volts} V, {LIMITS_A[2]} A"
    charge_a = (
        0.0 if answers.get("standby") == NONE else CHARGE_SHARE * _block_ah(known, answers, volts)
    )
    wanted = MARGIN * (_load_a(known, volts, only_at_rest=False) + charge_a)
    limit = next((a for a in LIMITS_A if a >= wanted), LIMITS_A[-1])
    return f"supply {volts} V, {limit} A"


def _battery(known: Known, answers: Answers) -> str:
    volts = 12 if "12 V" in answers["supply-part"] else 24
    return f"{volts // 12} x 12 V {_block_ah(known, answers, volts)} Ah"


def _block_ah(known: Known, answers: Answers, volts: int) -> int:
    """Blocks by the plain amp-hour method for what draws at rest."""
    asked = answers.get("standby", HOURS)
    hours = parse(HOURS if asked == NONE else asked, TIME)
    load = _load_a(known, volts, only_at_rest=True) or 0.5
    need = plain_method(load, (hours.value if hours else 4 * 3600.0) / 3600.0, COLD_C).needed_ah
    return next((ah for ah in BLOCKS_AH if ah >= need), BLOCKS_AH[-1])


SITE = (
    Ask("site"),
    Ask(
        "rules",
        default=lambda known, answers: RULE_SETS[0],
        offers=lambda known, answers: RULE_SETS,
        closed=True,
    ),
    Ask("standby", default=lambda known, answers: HOURS, read=_read_hours),
)
"""The questions of a site."""

SUPPLY = (
    Ask(
        "supply-part",
        default=_supply,
        offers=lambda known, answers: [f"supply {_supply_volts(known)} V, {a} A" for a in LIMITS_A],
        read=read_part("supply", needed=True),
    ),
    Ask(
        "battery",
        needed=lambda known, answers: (
            "battery_v" in known.part(answers["supply-part"], "supply").figures
            or "battery_block_v" in known.part(answers["supply-part"], "supply").figures
        ),
        default=lambda known, answers: (
            NONE if answers.get("standby") == NONE else _battery(known, answers)
        ),
        read=_read_battery,
    ),
)
"""The questions of a supply."""


def supply_value(answers: Answers) -> dict[str, Value]:
    """A supply as it is written."""
    value: dict[str, Value] = {"part": answers["supply-part"]}
    if answers.get("battery", NONE) != NONE:
        value["battery"] = answers["battery"]
    return value


def job_text(known: Known, site: Answers, supply: Answers) -> str:
    """A whole job file: the site, its supply, and the doors described, the first one's values as
    the usual ones."""
    head: dict[str, Value] = {"name": site["site"]}
    if site["standby"] != NONE:
        head["standby"] = site["standby"]
    if site["rules"] != RULE_SETS[0]:
        head["rule set"] = site["rules"]
    if known.us:
        head["units"] = System.US.value
    doors: dict[str, dict[str, Value]] = {}
    usual: dict[str, Value] = {}
    for name, answers in known.said.items():
        other = answers.get("like", LIKE_NONE)
        if other != LIKE_NONE:
            doors[name] = like(answers, doors[other], usual, "S1")
            continue
        whole = door_value(known, answers, "S1")
        usual = usual or usual_of(whole)
        doors[name] = lean(whole, usual)
    sections: dict[str, Value] = {"latchwork": "1", "site": head}
    if len(doors) > 1:
        sections["usual"] = Lines(usual)
    elif doors:
        (only,) = doors
        doors[only] = door_value(known, known.said[only], "S1")
    sections["supplies"] = Lines({"S1": supply_value(supply)})
    if doors:
        sections["doors"] = Lines({name: Lines(door) for name, door in doors.items()})
    return _spaced(sections)


def _spaced(sections: Mapping[str, Value]) -> str:
    """Sections with an empty line between those that take several lines, doors apart too."""
    blocks: list[str] = []
    for name, value in sections.items():
        if name == "doors" and isinstance(value, Lines) and isinstance(value.value, Mapping):
            doors = [entry(k, v, "  ", "  ", "\n") for k, v in value.value.items()]
            blocks.append("doors:\n" + "\n\n".join(doors))
        else:
            blocks.append(entry(name, value, "", "  ", "\n"))
    first, rest = "\n".join(blocks[:2]), blocks[2:]
    return "\n\n".join([first, *rest]) + "\n"
