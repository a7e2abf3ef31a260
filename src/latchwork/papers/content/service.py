"""The service plan as a sheet: what to test and how often, and what to expect."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import TYPE_CHECKING

from latchwork.papers.content.source import Sheet, Source, band, few, volts, words
from latchwork.papers.content.tests import before
from latchwork.words import say

if TYPE_CHECKING:
    from latchwork.answers.service import ServiceLine
    from latchwork.answers.service_batteries import BatteryLine


def service_sheets(source: Source) -> list[Sheet]:
    """The plan, the most frequent tests first, of these what one power and mode shows at all doors,
    a supply's together, as it is switched once for them; none where no run of faults was asked
    for."""
    answer = source.faults
    if answer is None:
        return []
    rank = {row.id: n for n, row in enumerate(source.schedules.doors)}
    untried = {door.id: door.untried for door in answer.doors if door.untried}
    plan = sorted(
        (line for door in answer.doors for line in door.service),
        key=lambda line: (line.every_months, line.stage, line.supply, rank[line.door]),
    )
    return [
        {
            "kind": "service",
            "title": words("sheet.service"),
            "about": words("about.service"),
            # Where faults are left untried, none is not what was found.
            "none": "" if untried or answer.batteries else words("service.none"),
            "heads": [
                say("schedules.column.door"),
                *(words(f"service.{k}") for k in ("do", "lock", "meter", "volts", "seen")),
                words("done"),
            ],
            "parts": [
                {"title": words("service.every", {"months": str(months)}), "rows": rows}
                for months, rows in sorted(_by_months(plan, answer.batteries).items())
            ],
            "before": before("/fire " in line.situation for line in plan) if plan else "",
            "foot": _foot(plan),
            "beyond": [
                *_unseen(answer.unseen),
                *(note for line in answer.batteries for note in _notes(line)),
                *(
                    _untested(r.id, r.beyond.text if r.beyond else "", untried.get(r.id, ()))
                    for r in source.schedules.doors
                    if r.beyond or r.id in untried
                ),
            ],
        }
    ]


def _by_months(
    plan: Iterable[ServiceLine], batteries: Iterable[BatteryLine]
) -> dict[int, list[dict[str, str]]]:
    """The rows by how often, batteries behind the doors: the mains are off for these anyway."""
    rows: dict[int, list[dict[str, str]]] = defaultdict(list)
    for line in plan:
        rows[line.every_months].append(_row(line))
    for battery in batteries:
        if battery.minutes:
            rows[battery.every_months].append(_battery(battery))
    return rows


def _battery(line: BatteryLine) -> dict[str, str]:
    from latchwork.answers.service_batteries import battery_do, battery_finds

    return {
        "door": line.supply,
        "do": battery_do(line),
        "finds": words("service.finds", {"list": battery_finds(line)}),
        "lock": "",
        "state": "",
        "terminal": line.supply,
        "against": words("service.across", {"amps_a": line.amps_a}),
        "volts": volts(line.new_v),
        "band": words("service.or more", {"least": volts(line.least_v)}),
    }


def _notes(line: BatteryLine) -> tuple[str, ...]:
    from latchwork.answers.service_batteries import battery_notes

    return battery_notes(line)


def _foot(plan: Iterable[ServiceLine]) -> str:
    told = [words("service.foot")]
    if any(line.by_itself for line in plan):
        told.append(words("service.foot by itself"))
    return " ".join(told)


def _unseen(faults: tuple[str, ...]) -> Iterable[str]:
    """What nobody finds with a meter."""
    if faults:
        yield words("service.unseen", {"faults": ", ".join(faults)})


def _untested(door: str, beyond: str, faults: tuple[str, ...]) -> str:
    """What of a door is beyond the model, and which faults no test finds."""
    # All of them: paper cannot be asked for the rest.
    told = {"faults": ", ".join(faults)}
    why = words(f"service.{'untried' if beyond else 'unsure'}", told) if faults else ""
    return f"{door}: {' '.join(filter(None, (beyond, why)))}"


def _row(line: ServiceLine) -> dict[str, str]:
    state = words(f"expect.{line.expected_state}") if line.lock else ""
    if line.by_itself:
        state = words("service.by itself", {"state": state})
    shown, within = _expected(line)
    return {
        "door": line.door,
        "do": line.do,
        "finds": _finds(line.told),
        "lock": line.lock,
        "state": state,
        "terminal": line.terminal,
        "against": words("service.against", {"terminal": line.against}) if line.terminal else "",
        "volts": shown,
        "band": within,
    }


def _expected(line: ServiceLine) -> tuple[str, str]:
    """What the meter shows, and in which band, where nothing is wrong."""
    if not line.terminal:
        return "", ""
    if line.nothing_v is not None:
        return words("service.nothing"), say("service.less", {"nothing_v": line.nothing_v})
    return volts(line.expected_v), band(line.low_v, line.high_v)


def _finds(found: tuple[str, ...]) -> str:
    """The faults that a test finds."""
    return words("service.finds", {"list": few(found)})
