"""Supplies and batteries with the working shown, and the sheet for the inside of each lid."""

from __future__ import annotations

from latchwork.answers.schedules.model import BatteryRow, SupplyRow
from latchwork.drawing.index import Index, ends
from latchwork.papers.content.source import (
    Sheet,
    Source,
    amps,
    band,
    door_title,
    figure,
    lines,
    situation_text,
    volts,
    words,
)
from latchwork.power.battery import CHARGE_BACK, PEUKERT
from latchwork.power.keys import EVERYBODY
from latchwork.quantities import System, show
from latchwork.wiring import Bridge
from latchwork.words import say

Line = dict[str, object]
ENOUGH = 1.25
"""A supply's limit over its highest load and charge (common practice, no source)."""
NO_ORDINARY_WAY = (
    "nothing", "locked", "marginal", "chatter", "release only", "out of reach", "one leaf only",
)  # fmt: skip
"""By what one leaves where no one ordinary action surely lets people out."""
NEW_C = 25.0
"""At what a new battery's hours hold."""
LONG_H = 1000.0
"""From then on a battery ends by what it loses by itself (common practice, no source)."""


def power_sheets(source: Source) -> list[Sheet]:
    """A sheet for every supply."""
    return [_power(source, row) for row in source.schedules.supplies]


def _power(source: Source, row: SupplyRow) -> Sheet:
    head = say("schedules.column.device"), say("schedules.column.part")
    sums = [sum(getattr(d, k) for d in row.devices) for k in ("idle_a", "most_a", "battery_a")]
    battery = row.battery
    return {
        "kind": "power",
        "title": words("sheet.power", {"supply": row.id}),
        "about": words("about.power", {"part": row.part, "doors": ", ".join(row.doors) or "–"}),
        "loads_title": words("power.loads"),
        "load_heads": [*head, *(words(f"power.{k}") for k in ("idle", "use", "battery"))],
        "loads": [
            {
                "device": d.device,
                "part": d.part,
                "amps": [amps(d.idle_a), amps(d.most_a), amps(d.battery_a)],
            }
            for d in row.devices
        ],
        "totals": ["", words("power.total"), *map(amps, sums)],
        "supply_title": words("power.supply"),
        "supply": _supply(row),
        "locks_title": words("power.locks"),
        "lock_heads": [
            say("schedules.column.lock"),
            say("schedules.column.part"),
            words("power.least"),
            words("power.need"),
            words("power.when"),
        ],
        "locks": [
            {
                "device": k.device,
                "part": k.part,
                "least": words("dash") if k.least_v is None else volts(k.least_v),
                "need": volts(k.need_v),
                "when": situation_text(k.when),
            }
            for k in row.locks
        ],
        "battery_title": words("power.battery title"),
        "no_battery": _no_battery(row),
        "battery": _battery(battery, source.system) if battery else [],
        "losses_title": words("power.losses"),
        "losses": [
            _line("loss line", _hours(x.hours), device=x.device, what=words(f"loss.{x.what}"),
                  volts_v=x.volts_v)
            for x in (battery.losses if battery else ())
        ],
        "method": words("power.method", {"k": f"{PEUKERT:g}", "back": f"{CHARGE_BACK:g}"}),
    }  # fmt: skip


def _line(key: str, value: str, strong: bool = False, **figures: float | str) -> Line:
    return {"text": words(f"power.{key}", figures), "value": _pieces(value), "strong": strong}


def _pieces(value: str) -> tuple[str, str, str]:
    """A figure before its decimal point, from there on, and its unit: "0", ".651", "A"."""
    number, _, unit = value.rpartition(" ") if value[-1:].isalpha() else (value, "", "")
    whole, point, rest = number.partition(".")
    return whole, point + rest, unit


def _supply(row: SupplyRow) -> list[Line]:
    together = row.most_a + row.charge_a
    found = [_line("at rest", figure(row.loads_a.get("mains/normal"), "A"))]
    for key in ("mains/fire alarm", "power returns/normal", "battery/normal", EVERYBODY):
        if key in row.loads_a:
            found.append(_line(f"load.{key}", figure(row.loads_a[key], "A")))
    if row.dead:
        return [*found, _line("dead", "", True)]
    found.append(_line("most", figure(row.most_a, "A"), when=situation_text(row.most_when)))
    found.append(_line("charge", figure(row.charge_a, "A")))
    found.append(_line("together", figure(together, "A"), True))
    found.append(_line("wanted", figure(together * ENOUGH, "A"), factor=f"{ENOUGH:g}"))
    found.append(_line("limit", figure(row.limit_a, "A"), True))
    if row.margin is not None:
        found.append(_line("margin", f"{row.margin:.2f}"))
    return found


def _no_battery(row: SupplyRow) -> str:
    if row.battery_gone:
        return words("power.gone", {"state": row.battery_gone})
    return words("power.not worked out" if row.battery_blocks else "power.no battery")


def _battery(b: BatteryRow, system: System) -> list[Line]:
    cold = show(b.cold_c, "°C", system)
    found = [_line("mean", figure(b.mean_a, "A"))]
    if b.asked_h is not None and b.base_ah is not None and b.needed_ah is not None:
        # So many decimals that what stands there multiplies out for who reckons it again.
        found += [
            _line("base", figure(b.base_ah, "Ah", 2), current_a=b.mean_a, hours=f"{b.asked_h:g}"),
            _line("ageing", f"× {b.ageing:.2f}"),
            _line("margin ah", f"× {b.margin:.2f}"),
            _line("cold", f"× {b.cold:.4f}", temperature_c=cold),
            _line("needed", figure(b.needed_ah, "Ah", 2), True),
        ]
    found.append(_line("fitted", _fitted(b), True))
    if b.worn_ah is not None:
        found.append(_line("worn", figure(b.worn_ah, "Ah")))
    found.append(_line("usable", figure(b.usable_ah, "Ah"), temperature_c=cold))
    found.append(_line("holds" if b.alone else "cuts off", _hours(b.losses[0].hours), True))
    new = show(NEW_C, "°C", system)
    found.append(_line("new holds", f"{b.new_holds_h:.1f} h", temperature_c=new))
    found.append(_line("charger", figure(b.charge_a, "A")))
    if b.recover_h is not None:
        found.append(_line("recover", f"{b.recover_h:.1f} h"))
    return found


def _fitted(b: BatteryRow) -> str:
    """The blocks as their label has them: 12 Ah, where a figure worked out has its decimal."""
    return f"{b.blocks} × {b.capacity_ah:g} Ah"


def _hours(hours: float) -> str:
    """Hours on battery: what next to nothing draws on ends by itself long before it is empty."""
    return f"{hours:.1f} h" if hours < LONG_H else words("power.long", {"hours": f"{LONG_H:g} h"})


def lid_sheets(source: Source) -> list[Sheet]:
    """A sheet for the inside of every supply's lid."""
    feeds = _feeds(source)
    return [_lid(source, row, feeds) for row in source.schedules.supplies]


def _feeds(source: Source) -> dict[str, list[str]]:
    """By output what is fed by it: doors and other supplies that its cores lead to, whatever the
    doors are said to hang on; then the locks that its fuse alone does not part from it."""
    feeds: dict[str, list[str]] = {}
    doors = {door.id: door_title(door) for door in source.schedules.doors}
    wired: set[str] = set()
    for row in source.schedules.supplies:
        for output in row.outputs:
            at = f"{row.id}.{output}"
            there = _led_to(source.index, at)
            wired |= there
            feeds[at] = [title for door, title in doors.items() if door in there]
            feeds[at] += sorted(there & source.index.plan.supplies.keys() - {row.id})
    for door in source.schedules.doors:
        if door.id not in wired:
            # Behind a contact that the site shares no core leads there.
            feeds.setdefault(door.supply, []).append(doors[door.id])
    for finding in source.check.findings:
        if finding.rule == "fed-elsewhere":
            lock = words("lid.also", {"lock": finding.subject})
            feeds.setdefault(str(finding.figures["other"]), []).append(lock)
    return feeds


def _led_to(index: Index, output: str) -> set[str]:
    """The doors and supplies that cores and leads join to an output, by joints and taps and by way
    of other supplies; of what doors share their controllers count alone."""
    seen, waiting = {output}, [output]
    while waiting:
        for wire in index.at.get(waiting.pop(), ()):
            new = {*ends(wire)} - seen if not isinstance(wire, Bridge) else set()
            seen |= new
            waiting += new
    plan = index.plan
    met = {index.owners[node].id for node in seen if node in index.owners}
    doors = {plan.devices[name].door for name in met if name in plan.devices} - {""}
    shared = {d for d, door in plan.doors.items() if door.devices.get("controller") in met}
    return doors | shared | (met & plan.supplies.keys())


def _lid(source: Source, row: SupplyRow, feeds: dict[str, list[str]]) -> Sheet:
    outputs = row.outputs or {"": None}
    # A door that names none hangs on the first.
    first = next(iter(outputs))
    if first:
        feeds.setdefault(f"{row.id}.{first}", []).extend(feeds.get(row.id, []))
    # What hangs on it though its door names another supply; at which of several outputs it hangs is
    # for the drawing to say.
    here = f"{row.id}.{first}" if first else row.id
    if len(outputs) == 1 and not feeds.get(here):
        feeds[here] = [door_title(door) for door in source.schedules.doors if door.id in row.doors]
    return {
        "kind": "lid",
        "title": words("sheet.lid", {"supply": row.id}),
        "about": words("about.lid", {"part": row.part}),
        "warning": words("lid.warning"),
        "outputs_title": words("lid.outputs"),
        "output_heads": [words(f"lid.{k}") for k in ("output", "fuse", "feeds", "checked")],
        "outputs": [
            {
                "output": f"{row.id}.{name}" if name else row.id,
                "fuse": f"{fuse:g} A" if fuse is not None else words("dash"),
                "feeds": ", ".join(feeds.get(f"{row.id}.{name}" if name else row.id, [])) or "–",
            }
            for name, fuse in outputs.items()
        ],
        "readings_title": words("lid.readings"),
        "reading_heads": [words(f"lid.{k}") for k in ("what", "expect", "band", "measured")],
        "readings": _lid_readings(source, row),
        "battery_title": words("power.battery title"),
        "battery": _lid_battery(row),
        "order_title": words("lid.order"),
        "order": _off_and_on(source, row),
        "caution": say("caution"),
    }


def _off_and_on(source: Source, row: SupplyRow) -> list[str]:
    """How to take it off power: first what is to be held open, as it shuts people in meanwhile; and
    what its screws are live from once it is off."""
    tell, off, *steps = lines("lid.steps" if row.battery_blocks else "lid.steps no battery")
    shut_in = [
        door_title(door)
        for door in source.schedules.doors
        if door.id in row.doors and door.people_leave and door.leave_power_lost in NO_ORDINARY_WAY
    ]
    hold = lines("lid.hold", {"doors": ", ".join(shut_in)}) if shut_in else []
    led = (_led_to(source.index, f"{row.id}.{output}") for output in row.outputs)
    others = set().union(*led) & source.index.plan.supplies.keys() - {row.id}
    live = lines("lid.live", {"supplies": ", ".join(sorted(others))}) if others else []
    return [tell, *hold, off, *live, *steps]


def _lid_readings(source: Source, row: SupplyRow) -> list[dict[str, str]]:
    """Volts at each output, at rest and with mains off, and the amperes at rest."""
    found: dict[str, dict[str, str]] = {}
    for door in source.schedules.readings:
        for terminal in door.terminals:
            if terminal.device != row.id or terminal.terminal == terminal.against:
                continue
            for key in ("idle", "mains off"):
                v = terminal.volts_v[door.situations.index(key)]
                what = words(f"lid.{key}", {"terminal": terminal.terminal,
                                            "against": terminal.against})  # fmt: skip
                unit = "V~" if door.alternating else "V"
                found.setdefault(
                    what,
                    {
                        "what": what,
                        "value": f"{volts(v.value)} {unit}",
                        "band": band(v.low, v.high),
                    },
                )
    rest = row.loads_a.get("mains/normal")
    if rest is not None:
        found["amps"] = {"what": words("lid.amps"), "value": f"{amps(rest)} A", "band": ""}
    return sorted(found.values(), key=lambda r: r["what"])


def _lid_battery(row: SupplyRow) -> list[list[str]]:
    b = row.battery
    if b is None:
        return [[words("lid.battery"), _no_battery(row)]]
    return [
        [words("power.fitted"), _fitted(b)],
        [words("lid.holds" if b.alone else "power.cuts off"), _hours(b.losses[0].hours)],
        [words("lid.fitted on"), ""],
        [words("lid.replace by"), ""],
    ]
