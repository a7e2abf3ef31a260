"""Pages for those who use the doors: a guide a door, and the emergency card."""

from __future__ import annotations

from latchwork.answers.schedules import DoorRow
from latchwork.papers.content.drawings import front_of
from latchwork.papers.content.source import Sheet, Source, by, door_title, lines, words
from latchwork.words import has, say


def guides(source: Source) -> list[Sheet]:
    """A page for every door, for its users."""
    return [_guide(source, row) for row in source.schedules.doors]


def _guide(source: Source, row: DoorRow) -> Sheet:
    slots = source.index.plan.doors[row.id].devices
    kind = "release" if "release" in slots else "plain"
    parts = [
        ("in", _lines_for("enter", row.enter)),
        ("out", _leaving(row, "release" in slots)),
        ("power", _power(source, row)),
        ("fire", lines(f"guide.fire.{'open' if row.open_fire else 'locked'}",
                       {"leave": by(row.leave)})),
        ("trouble", lines(f"guide.trouble.{kind}")),
        ("care", lines(f"guide.care.{kind}")),
    ]  # fmt: skip
    return {
        "kind": "guide",
        "title": words("sheet.guide", {"door": door_title(row)}),
        "about": words("about.guide", {"site": source.job_name}),
        **front_of(source, row),
        "parts": [{"title": words(f"guide.{k}.title"), "lines": told} for k, told in parts],
        "blanks": [words(f"blank.{k}") for k in ("grants", "call", "visit")],
    }


def _lines_for(part: str, key: str) -> list[str]:
    named = f"guide.{part}.{key}"
    return lines(named if has(f"papers.{named}") else f"guide.{part}.other", {"by": by(key)})


def _leaving(row: DoorRow, release: bool) -> list[str]:
    told = _lines_for("leave", row.leave)
    return [*told, *lines("guide.leave.release")] if release else told


def _power(source: Source, row: DoorRow) -> list[str]:
    supply = row.supply.partition(".")[0]
    battery = next((s.battery for s in source.schedules.supplies if s.id == supply), None)
    told = []
    if battery is not None:
        told += lines("guide.power.battery", {"hours": f"{battery.losses[0].hours:.0f}"})
    key = "open" if row.open_power_lost else "locked"
    return told + lines(f"guide.power.{key}", {"leave": by(row.leave_power_lost)})


def emergency(source: Source) -> Sheet:
    """One page for whoever stands there when something is wrong."""
    doors = []
    for row in source.schedules.doors:
        release = words("emergency.release") if row.release else words("emergency.no release")
        doors.append({"id": row.id, "name": row.name, "out": by(row.leave), "release": release})
    return {
        "kind": "emergency",
        "title": words("sheet.emergency"),
        "about": source.job_name,
        "parts": [
            {"title": words(f"emergency.{k}.title"), "lines": lines(f"emergency.{k}.lines")}
            for k in ("trapped", "open")
        ],
        "heads": [say("schedules.column.door"), say("schedules.column.name"),
                  words("emergency.out"), words("emergency.without")],
        "doors": doors,
        "blanks": [words(f"blank.{k}") for k in ("call", "fire", "keys")],
    }  # fmt: skip
