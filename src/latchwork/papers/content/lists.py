"""Schedules as sheets: doors, connections by where one stands, cables, what to order."""

from __future__ import annotations

from collections import Counter
from itertools import groupby

from latchwork.answers.schedules.model import ConnectionRow, DoorRow, OrderRow
from latchwork.drawing.colours import PAINT, core_colour
from latchwork.drawing.notes import state_words
from latchwork.papers.content.room import on_one_line
from latchwork.papers.content.source import (
    Sheet,
    Source,
    band,
    by,
    door_title,
    leave_by,
    with_beyond,
    words,
)
from latchwork.papers.content.wired import Wired
from latchwork.papers.tables import (
    MINUTE_S,
    in_units,
    plan_words,
    to_words,
    word,
)
from latchwork.quantities import FOOT_M, System, show
from latchwork.words import say

LOOP_C = 20.0
"""At what a loop's ohms hold."""
COPPER_SHARE, DEGREES_F_A_C = 0.393, 1.8
"""What copper reads more for each °C, in per cent (IEC 60028)."""
SIZE_PT, TERMINAL_MM, CORE_MM, TO_MM = 8.4, 14.6, 53.5, 41.6
"""Size of the texts of a connection, and their room in the template."""


def sentence(row: DoorRow) -> str:
    """What the door does, in one plain sentence each for use, power cut and fire."""
    if not row.leave:
        return words("sentence.nothing")
    told = [words("sentence.use", {"enter": by(row.enter), "leave": leave_by(row, row.leave)})]
    state = words("sentence.open" if row.open_power_lost else "sentence.locked")
    told.append(
        words("sentence.lost", {"state": state, "leave": leave_by(row, row.leave_power_lost)})
    )
    state = words("sentence.open" if row.open_fire else "sentence.locked")
    told.append(words("sentence.fire", {"state": state, "leave": leave_by(row, row.leave_fire)}))
    if row.leave_panel_lost != row.leave_fire:
        told.append(words("sentence.panel", {"leave": leave_by(row, row.leave_panel_lost)}))
    return with_beyond(" ".join(told), row)


def doors_sheet(source: Source) -> Sheet:
    """The door schedule."""
    return {
        "kind": "doors",
        "title": words("sheet.doors"),
        "about": words("about.doors"),
        "doors": [
            {
                "id": row.id,
                "name": row.name,
                "severity": row.worst,
                "sentence": sentence(row),
                "note": _note(source, row.id),
                "facts": _facts(row),
            }
            for row in source.schedules.doors
        ],
    }


def _note(source: Source, door: str) -> str:
    note = source.index.plan.doors[door].door.facts.get("note")
    return words("door note", {"note": str(note)}) if note else ""


def _facts(row: DoorRow) -> list[list[str]]:
    said = {
        "lock": row.lock,
        "out by": row.out_by,
        "controller": row.controller,
        "reader": row.reader,
        "exit": row.exit,
        "release": row.release,
        "fire": row.fire,
        "contact": row.contact,
        "supply": row.supply,
        "outside": row.outside,
        "power lost": word("duty", row.power_lost),
        "fire alarm": word("duty", row.fire_alarm),
        "fire rating": f"{row.fire_rating_s / MINUTE_S:g} min" if row.fire_rating_s else "",
    }
    return [[say(f"schedules.column.{key}"), text] for key, text in said.items() if text]


def connections_sheet(wired: Wired) -> Sheet:
    """Every end of every wire by where one stands, with a box to tick."""
    stands = []
    found = any(row.changed for row in wired.connections) or wired.index.wiring.states
    for (kind, at), rows in groupby(wired.connections, lambda r: (r.stand, r.at)):
        stands.append({"title": stand_title(wired, kind, at), "rows": _ends(wired, list(rows))})
    return {
        "kind": "connections",
        "title": words("sheet.connections"),
        "about": words("about.connections")
        + (f" {words('about.connections found')}" if found else ""),
        "heads": [
            say(f"schedules.column.{key}")
            for key in ("device", "terminal", "letters", "core", "to")
        ]
        + [words("done")],
        "stands": stands,
    }


def stand_title(wired: Wired, kind: str, at: str) -> str:
    """Where one stands, in words: "D3 Stair · Inside"."""
    place = word("stand", kind)
    place = place[:1].upper() + place[1:]
    if at in wired.index.plan.doors:
        return f"{door_title(wired.index.plan.doors[at].door)} · {place}"
    return f"{place} {at}".strip()


def _ends(wired: Wired, rows: list[ConnectionRow]) -> list[dict[str, object]]:
    shown: list[dict[str, object]] = []
    # A cable may be called as a device is: "D1.exit".
    owners = [(row.device, row.part) for row in rows]
    spans = Counter(owners)
    last = (("", ""), "")
    for row, owner, after in zip(rows, owners, [*owners[1:], ("", "")], strict=True):
        first = owner != last[0]
        colours: list[str] = []
        if row.cable:
            kind = wired.index.plan.cables[row.cable].type
            name = next((c.colour for c in kind.cores if c.name == row.core), row.core)
            colours = [PAINT[colour] for colour in core_colour(name).names]
        terminal = row.terminal if first or row.terminal != last[1] else ""
        core = row.core or say(f"schedules.wire.{row.wire}")
        shown.append(
            {
                # The last row of a device grows where its name takes more lines than it has rows.
                "low": owner == after
                and not row.changed
                and on_one_line(terminal, SIZE_PT, TERMINAL_MM)
                and on_one_line(f"{core} {row.cable}", SIZE_PT, CORE_MM, mono=False)
                and on_one_line(to_words(row), SIZE_PT, TO_MM),
                "device": row.device,
                "part": _part(wired, row),
                "span": spans[owner] if first else 0,
                "terminal": terminal,
                "colours": colours,
                "letters": row.letters,
                "core": core,
                "cable": row.cable,
                "to": to_words(row),
                "changed": _changed(row),
            }
        )
        last = (owner, row.terminal)
    return shown


def _part(wired: Wired, row: ConnectionRow) -> str:
    """What stands below a device's name: its part, and the state it was found in."""
    told = [word("joined", row.part)]
    if row.device in wired.index.plan.devices and row.terminal:
        states = wired.index.wiring.states
        told += [state_words(found) for found in states if found.device == row.device]
    return "; ".join(told)


def _changed(row: ConnectionRow) -> str:
    if not row.changed:
        return ""
    if row.wire == "missing":
        return words("changed missing")
    plan = plan_words(row)
    return words("changed plan", {"plan": plan}) if plan else words("changed")


def cables_sheet(wired: Wired) -> Sheet:
    """Cables with what to cut and the ohms to expect, and room for the ohms measured."""
    us = wired.us_units
    unit = "ft" if us else "m"
    rows = []
    for row in wired.cables:
        known = say(f"schedules.known.{row.length_known}")
        rows.append(
            {
                "id": row.id,
                "start": row.start or words("dash"),
                "end": row.end or words("dash"),
                "type": row.type,
                "used": f"{len(row.used)}/{len(row.spare)}",
                "out": [
                    words(f"cables.{why}", {"count": str(len(some))})
                    for why, some in (("faulty", row.faulty), ("missing", row.missing))
                    if some
                ],
                "length": f"{in_units(row.length_m, us):.1f}",
                "about": known if row.length_known in ("assumed", "guessed", "unknown") else "",
                "cut": f"{in_units(row.cut_m, us):.1f}",
                "loop": f"{row.loop_ohm:.2f}",
                "band": band(row.loop_low_ohm, row.loop_high_ohm),
            }
        )
    heads = [say(f"schedules.column.{key}") for key in ("cable",)]
    heads += [words("cables.ends"), say("schedules.column.type"), words("cables.used")]
    heads += [words(f"cables.{key}", {"unit": unit}) for key in ("length", "cut")]
    heads += [words(f"cables.{key}") for key in ("loop", "band", "measured")]
    tail = f"{2.0 / FOOT_M:.1f} ft" if us else "2 m"
    reference = show(LOOP_C, "°C", System.US if us else System.METRIC)
    share = f"{COPPER_SHARE / (DEGREES_F_A_C if us else 1.0):.1f}"
    return {
        "kind": "cables",
        "title": words("sheet.cables"),
        "about": words("about.cables"),
        "heads": heads,
        "rows": rows,
        "foot": words("cables.foot", {"tail": tail, "reference_c": reference, "share": share}),
    }


def _ordered(row: OrderRow, us: bool) -> dict[str, str]:
    """What to order, and how big or how long."""
    length = in_units(row.length_m, us)
    if length is None:
        return {"what": row.what, "figures": row.figures}
    named = ", ".join(filter(None, (row.what, row.figures)))
    return {"what": named, "figures": f"{length:.1f} {'ft' if us else 'm'}"}


def order_sheet(wired: Wired) -> Sheet:
    """Parts to order, then cable to cut by type."""
    us = wired.us_units
    parts = []
    for title, kinds in (("parts", ("part", "battery", "fuse")), ("cable", ("cable",))):
        rows = [
            {
                "count": str(row.count),
                **_ordered(row, us),
                "places": ", ".join(row.places),
            }
            for row in wired.order
            if row.kind in kinds
        ]
        heads = [say(f"schedules.column.{key}") for key in ("count", "what")]
        heads.append(words("order.cut") if title == "cable" else say("schedules.column.figures"))
        heads.append(say("schedules.column.places"))
        if rows:
            parts.append(
                {
                    "title": words(f"order.{title}"),
                    "long": title == "cable",
                    "heads": [*heads, words("done")],
                    "rows": rows,
                }
            )
    return {
        "kind": "order",
        "title": words("sheet.order"),
        "about": words("about.order"),
        "parts": parts,
        "foot": words("order.foot"),
    }
