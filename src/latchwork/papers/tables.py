"""Schedules as tables: headings, units, widths, and rows of text and numbers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from latchwork.answers.schedules.model import (
    CableRow,
    ConnectionRow,
    DoorRow,
    OrderRow,
    SchedulesAnswer,
    SupplyRow,
    TerminalReadings,
)
from latchwork.power.keys import EVERYBODY
from latchwork.quantities import FOOT_M
from latchwork.words import has, say

MINUTE_S = 60.0

Cell = str | float | None
"""Text, a number in the column's unit, or nothing to say."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column. ``unit`` "" and ``decimals`` None: text. ``width`` in characters."""

    key: str
    width: int
    unit: str = ""
    decimals: int | None = None

    @property
    def title(self) -> str:
        """The heading without its unit."""
        return say(f"schedules.column.{self.key}")

    @property
    def heading(self) -> str:
        """The heading with its unit."""
        return f"{self.title}, {self.unit}" if self.unit else self.title


@dataclass(frozen=True, slots=True)
class Table:
    """One schedule."""

    key: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Cell, ...], ...]

    @property
    def title(self) -> str:
        """What it is called."""
        return say(f"schedules.table.{self.key}")


def tables(answer: SchedulesAnswer) -> tuple[Table, ...]:
    """Every schedule."""
    us = answer.us_units
    return (
        _doors(answer.doors),
        _connections(answer.connections),
        cables_table(answer.cables, us),
        order_table(answer.order, us),
        _supplies(answer.supplies),
        _loads(answer.supplies),
        _locks(answer.supplies),
        _readings(answer),
    )


def length_column(key: str, us: bool) -> Column:
    """A length in the site's units."""
    return Column(key, 9, "ft" if us else "m", 1)


def in_units(length_m: float | None, us: bool) -> float | None:
    """A length in the site's units."""
    return length_m / FOOT_M if us and length_m is not None else length_m


def word(group: str, key: str) -> str:
    """The word for a key of an answer; a name of the job's own stands for itself."""
    text = f"schedules.{group}.{key}"
    return say(text) if has(text) else key


def joined(names: Iterable[str]) -> str:
    """Names in a row, or a dash."""
    return ", ".join(names) or say("schedules.none")


def _doors(rows: Sequence[DoorRow]) -> Table:
    widths = {"door": 7, "name": 28, "outside": 10, "out by": 18, "supply": 8}
    keys = (
        *("door", "name", "outside", "out by", "lock", "controller", "reader", "exit", "release"),
        *("fire", "contact", "supply", "power lost", "fire alarm"),
    )
    columns = [Column(key, widths.get(key, 22)) for key in keys]
    columns += [Column("fire rating", 11, "min", 0), Column("finding", 13)]
    return Table(
        "doors",
        tuple(columns),
        tuple(
            (
                *(r.id, r.name, r.outside, r.out_by, r.lock, r.controller, r.reader, r.exit),
                *(r.release, r.fire, r.contact, r.supply),
                word("duty", r.power_lost),
                word("duty", r.fire_alarm),
                None if r.fire_rating_s is None else r.fire_rating_s / MINUTE_S,
                say(f"severity.{r.worst}") if r.worst else "",
            )
            for r in rows
        ),
    )


def reading_words(row: TerminalReadings) -> str:
    """Where a reading is taken."""
    if row.terminal != f"{row.device}~":
        return row.terminal
    return f"{row.device} {say('papers.test.beyond')}"


def to_words(row: ConnectionRow) -> str:
    """Where a wire goes: a terminal, or in words what is none."""
    return say(f"schedules.far.{row.far}") if row.far else row.to


def spare_words(row: CableRow) -> str:
    """A cable's spare cores, and what is the matter with those that are none to be used."""
    return joined(
        [
            *row.spare,
            *(say("schedules.core.faulty", {"core": core}) for core in row.faulty),
            *(say("schedules.core.missing", {"core": core}) for core in row.missing),
        ]
    )


def plan_words(row: ConnectionRow) -> str:
    """Of a core that differs from the plan, what the plan has."""
    start, end = row.planned
    return say("schedules.planned", {"start": start, "end": end}) if start else ""


def _connections(rows: Sequence[ConnectionRow]) -> Table:
    keys = {
        **{"stand": 16, "at": 7, "device": 18, "part": 28, "terminal": 11, "wire": 12},
        **{"cable": 16, "core": 14, "letters": 10, "to": 22, "changed": 10},
        "planned": 40,
    }
    return Table(
        "connections",
        tuple(Column(key, width) for key, width in keys.items()),
        tuple(
            (
                word("stand", r.stand),
                r.at,
                r.device,
                word("joined", r.part),
                r.terminal,
                say(f"schedules.wire.{r.wire}"),
                r.cable,
                r.core,
                r.letters,
                to_words(r),
                say("schedules.yes") if r.changed else "",
                plan_words(r),
            )
            for r in rows
        ),
    )


def cables_table(rows: Sequence[CableRow], us: bool) -> Table:
    """Cables with length, cut and the ohms to expect."""
    keys = ("loop us" if us else "loop", "loop low", "loop high")
    ohms = tuple(Column(key, 10, "Ω", 2) for key in keys)
    return Table(
        "cables",
        (
            *(Column("cable", 16), Column("from", 18), Column("to", 18), Column("type", 22)),
            *(Column("used", 30), Column("spare", 22), length_column("length", us)),
            *(Column("known", 12), length_column("cut", us), *ohms),
        ),
        tuple(
            (
                r.id,
                r.start or say("schedules.none"),
                r.end or say("schedules.none"),
                r.type,
                joined(r.used),
                spare_words(r),
                in_units(r.length_m, us),
                say(f"schedules.known.{r.length_known}"),
                in_units(r.cut_m, us),
                r.loop_ohm,
                r.loop_low_ohm,
                r.loop_high_ohm,
            )
            for r in rows
        ),
    )


def order_table(rows: Sequence[OrderRow], us: bool) -> Table:
    """What to order and what to cut."""
    return Table(
        "order",
        (
            *(Column("what", 40), Column("figures", 22), Column("kind", 10)),
            Column("count", 8, "", 0),
            *(length_column("length", us), Column("places", 60)),
        ),
        tuple(
            (
                r.what,
                r.figures,
                say(f"schedules.kind.{r.kind}"),
                float(r.count),
                in_units(r.length_m, us),
                ", ".join(r.places),
            )
            for r in rows
        ),
    )


def _supplies(rows: Sequence[SupplyRow]) -> Table:
    amps = [Column(key, 11, "A", 3) for key in ("limit", "idle", "everybody", "most")]
    hours = [Column(key, 11, "h", 1) for key in ("asked", "holds", "recover")]
    return Table(
        "supplies",
        (
            *(Column("supply", 8), Column("part", 30), Column("volts", 10, "V", 2), *amps),
            *(Column("when", 40), Column("charge", 11, "A", 3), Column("margin", 13, "", 2)),
            *(Column("battery", 12, "Ah", 1), Column("needed", 12, "Ah", 1), *hours),
            Column("first", 26),
        ),
        tuple(_supply(r) for r in rows),
    )


def _supply(r: SupplyRow) -> tuple[Cell, ...]:
    b = r.battery
    return (
        *(r.id, r.part, *((None, None) if r.dead else (r.volts_v, r.limit_a))),
        *(r.loads_a.get("mains/normal"), r.loads_a.get(EVERYBODY)),
        *((None, say("check.dead")) if r.dead else (r.most_a, r.most_when)),
        *(r.charge_a, r.margin),
        *(b.capacity_ah if b else None, b.needed_ah if b else None, b.asked_h if b else None),
        *(b.losses[0].hours if b else None, b.recover_h if b else None),
        f"{b.losses[0].device}: {say(f'papers.loss.{b.losses[0].what}')}" if b else "",
    )


def _loads(rows: Sequence[SupplyRow]) -> Table:
    amps = tuple(Column(key, 12, "A", 3) for key in ("idle", "most a", "on battery"))
    return Table(
        "loads",
        (Column("supply", 8), Column("device", 20), Column("part", 34), *amps),
        tuple(
            (r.id, d.device, d.part, d.idle_a, d.most_a, d.battery_a)
            for r in rows
            for d in r.devices
        ),
    )


def _locks(rows: Sequence[SupplyRow]) -> Table:
    return Table(
        "locks",
        (
            *(Column("supply", 8), Column("lock", 20), Column("part", 34)),
            *(Column("least", 10, "V", 2), Column("need", 10, "V", 2), Column("does", 10)),
            Column("when", 40),
        ),
        tuple(
            (r.id, k.device, k.part, k.least_v, k.need_v, say(f"papers.does.{k.does}"), k.when)
            for r in rows
            for k in r.locks
        ),
    )


def situation_words(key: str) -> str:
    """What the fitter does, in words."""
    return word("situation", key)


def _readings(answer: SchedulesAnswer) -> Table:
    volts = tuple(Column(key, 10, "V", 2) for key in ("expected", "low", "high"))
    return Table(
        "readings",
        (
            *(Column("door", 7), Column("stand", 16), Column("device", 20), Column("part", 28)),
            *(Column("terminal", 22), Column("against", 12), Column("situation", 20), *volts),
        ),
        tuple(
            (
                *(door.door, word("stand", t.stand), t.device, word("joined", t.part)),
                *(reading_words(t), t.against, situation_words(key), v.value, v.low, v.high),
            )
            for door in answer.readings
            for t in door.terminals
            for key, v in zip(door.situations, t.volts_v, strict=True)
        ),
    )
