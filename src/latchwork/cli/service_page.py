"""The service plan on the page that ``faults`` prints: a supply's tests, and a door's own."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from latchwork.answers.service import ServiceLine
from latchwork.answers.service_batteries import (
    BatteryLine,
    battery_do,
    battery_finds,
    battery_notes,
)
from latchwork.answers.service_together import Together
from latchwork.cli.page import Page, joined, printable
from latchwork.words import say

FEW = 3
"""Groups of one effect, and names of a list, that are shown where all doors are."""
_IN, _FAR = 4, 7


def show_supplies(
    page: Page, shared: Sequence[Together], batteries: Sequence[BatteryLine], whole: bool
) -> None:
    """The tests that are one for all doors of a supply, and that of its battery."""
    by_supply = {name: list(some) for name, some in groupby(shared, key=lambda test: test.supply)}
    by_battery = {line.supply: line for line in batteries}
    for supply in {**by_battery, **by_supply}:
        page.section(printable(supply))
        page.line(say("faults.service"))
        tests, battery = by_supply.get(supply, []), by_battery.get(supply)
        # As often as the mains are off for its doors, and then.
        first = [t for t in tests if battery and t.every_months <= battery.every_months]
        for test in first:
            _together(page, test, whole)
        if battery:
            _battery(page, battery)
        for test in tests[len(first) :]:
            _together(page, test, whole)


def _together(page: Page, test: Together, whole: bool) -> None:
    often = say("service.every", {"months": str(test.every_months)})
    doors = ", ".join(dict.fromkeys(look.door for look in test.looks))
    told = {"supply": test.supply, "given": test.given, "doors": doors}
    page.hang("", joined((say("service.together", told), often)), _IN)
    for look in test.looks:
        page.hang("", f"{look.door}: {test.do(look)}", _FAR)
        page.hang("", service_expects(look), _FAR + len(look.door) + 2)
    _finds(page, test.told, whole)


def _battery(page: Page, line: BatteryLine) -> None:
    """What a battery does under its own load, and what that does not tell."""
    if line.minutes:
        often = say("service.every", {"months": str(line.every_months)})
        told = {"supply": printable(line.supply), "do": battery_do(line)}
        page.hang("", joined((say("service.battery.of", told), often)), _IN)
        figures: dict[str, float | str] = {
            "amps_a": line.amps_a,
            "new_v": round(line.new_v, 2),
            "least_v": round(line.least_v, 2),
        }
        page.hang("", say("service.battery.expect", figures), _FAR)
        page.hang(
            "", say("service.finds", {"count": "1", "faults": battery_finds(line)}), _FAR, "quiet"
        )
    for note in battery_notes(line):
        page.hang("", note, _IN)


def _finds(page: Page, told: Sequence[str], whole: bool) -> None:
    found = {"count": str(len(told)), "faults": a_few(told, whole)}
    page.hang("", say("service.finds", found), _FAR, "quiet")


def show_tests(page: Page, lines: Sequence[ServiceLine], whole: bool) -> None:
    """A door's own tests: what is done once is told once, with all that is then looked at."""
    for (do, months), some in groupby(lines, key=lambda line: (line.do, line.every_months)):
        often = say("service.every", {"months": str(months)})
        page.hang("", joined((do, often)), _IN)
        for line in some:
            page.hang("", service_expects(line), _FAR)
            _finds(page, line.told, whole)


def service_expects(line: ServiceLine) -> str:
    """What a test shows where nothing is wrong."""
    told: dict[str, float | str] = {
        "lock": line.lock,
        "terminal": line.terminal,
        "against": line.against,
        "sound_v": round(line.expected_v, 2),
    }
    parts = []
    if line.lock:
        told["state"] = say(f"state.{line.expected_state}")
        parts.append(say(f"service.expect {'one' if line.by_itself else 'state'}", told))
    if line.terminal:
        if line.nothing_v is not None:
            told["less"] = say("service.less", {"nothing_v": line.nothing_v})
            parts.append(say("service.expect none", told))
        elif line.has_band:
            told |= {"low_v": round(line.low_v, 2), "high_v": round(line.high_v, 2)}
            parts.append(say("service.expect", told))
        else:
            parts.append(say("service.expect just", told))
    return "; ".join(parts)


def a_few(names: Sequence[str], whole: bool) -> str:
    """The first names of a list, and how many more there are; ``whole``: all of them."""
    shown = names if whole else names[:FEW]
    more = len(names) - len(shown)
    return ", ".join(shown) + (f" {say('faults.and more', {'count': str(more)})}" if more else "")
