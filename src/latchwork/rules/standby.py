"""Batteries: the hours asked for, and whether everything comes back after a flat one."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour import Event, Mode, Power
from latchwork.findings import Finding, Severity
from latchwork.parts import DEAD
from latchwork.plan import PlannedSupply
from latchwork.power.backed import backed_by_another
from latchwork.power.loads import SupplyLoad
from latchwork.power.nets import Contacts, feeds
from latchwork.power.standby import blows_its_fuse, found_gone, left_ah
from latchwork.quantities import YEAR_S
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View

NOTHING_A = 1e-3
"""A battery that gives no more loses as much by itself (common practice, no source)."""
CHANGED_Y = 4.0
"""A battery is changed after so many years, well or not (common practice, no source)."""
CHANGED_S = CHANGED_Y * YEAR_S
FLOAT = 1.05
"""Over so many times its nominal volts a supply is made to float a battery: 2.25 V a cell of
nominal 2 V is 1.125 times (trade handbook, from memory)."""


def standby_short(view: View) -> Iterator[Finding]:
    """Something is lost before the hours that the site asks for.

    With a battery at the end of its life in the cold it is weak; with a new one at 25 °C it fails,
    or with one that was found weak, as it stands there today.
    """
    for battery in view.batteries:
        if battery.asked_h is None or battery.holds_h >= battery.asked_h or battery.plain is None:
            continue
        first = battery.losses[0]
        new_too = battery.new_holds_h < battery.asked_h
        figures: dict[str, float | str] = {}
        if battery.worn_ah is not None:
            figures = {"also": "worn", "worn_ah": battery.worn_ah}
            figures |= {} if new_too else {"freed": "worn"}
        elif battery.left < 1.0:
            figures = {"also": "part", "left_share": battery.left}
        worn = battery.worn_ah is not None
        yield Finding(
            "standby-short",
            battery.supply,
            Severity.FAILS if new_too or worn else Severity.WEAK,
            f"{Power.BATTERY}/{Mode.NORMAL}/{Event.NOBODY}",
            {
                "holds_h": battery.holds_h,
                "new_h": battery.new_holds_h,
                "asked_h": battery.asked_h,
                "lost": first.device,
                "what": "cuts off" if first.what == "cut off" else first.what,
                "mean_a": battery.mean_a,
                "fitted_ah": battery.capacity_ah,
                "plain_ah": battery.plain.needed_ah,
                **figures,
            },
            "battery",
        )


def battery_weak(view: View) -> Iterator[Finding]:
    """A battery that was found weak, where it still lasts the hours asked, or none are."""
    for battery in view.batteries:
        if battery.worn_ah is not None and battery.holds_h >= (battery.asked_h or 0.0):
            yield Finding(
                "battery-weak",
                battery.supply,
                Severity.WEAK,
                f"{Power.BATTERY}/{Mode.NORMAL}/{Event.NOBODY}",
                {
                    "holds_h": battery.holds_h,
                    "new_h": battery.new_holds_h,
                    "worn_ah": battery.worn_ah,
                    "fitted_ah": battery.capacity_ah,
                },
                "practice",
            )


def battery_old(view: View) -> Iterator[Finding]:
    """A battery past the years in which one is changed, whatever hours it is reckoned to last: age
    shows in no figure of it."""
    for device in view.plan.devices.values():
        age = device.part.figures.get("battery_age_s")
        if age is not None and age.low > CHANGED_S and view.plan.battery_blocks(device.id):
            figures: dict[str, float | str] = {"age_y": age.value / YEAR_S, "most_y": CHANGED_Y}
            yield Finding("battery-old", device.id, Severity.WEAK, "", figures, "practice")


def standby_margin(view: View) -> Iterator[Finding]:
    """The hours asked are there, and the battery is smaller than one would fit for them: the
    amp-hour method has a design margin, which the power sheet shows."""
    for battery in view.batteries:
        asked_h, plain = battery.asked_h or 0.0, battery.plain
        if plain is None or not asked_h <= battery.holds_h or battery.mean_a <= NOTHING_A:
            continue
        if battery.capacity_ah < plain.needed_ah:
            yield Finding(
                "standby-margin",
                battery.supply,
                Severity.NOTE,
                f"{Power.BATTERY}/{Mode.NORMAL}/{Event.NOBODY}",
                {
                    "asked_h": asked_h,
                    "holds_h": battery.holds_h,
                    "fitted_ah": battery.capacity_ah,
                    "plain_ah": plain.needed_ah,
                    "margin": plain.margin,
                },
                "battery",
            )


def standby_by_cut_off(view: View) -> Iterator[Finding]:
    """The hours asked are held against the cut-off only, for doors hang on several supplies."""
    for battery in view.batteries:
        drawn = battery.mean_a > NOTHING_A
        asked_h = battery.asked_h or 0.0
        if drawn and not battery.alone and 0.0 < asked_h <= battery.holds_h:
            yield Finding(
                "standby-by-cut-off",
                battery.supply,
                Severity.NOTE,
                f"{Power.BATTERY}/{Mode.NORMAL}/{Event.NOBODY}",
                {"holds_h": battery.holds_h, "asked_h": asked_h},
                "battery",
            )


def standby_unreckoned(view: View) -> Iterator[Finding]:
    """Hours are asked of a battery that is a part of its own: no discharge is worked out for it.

    Its capacity by the least that it gives with nobody about is the most hours; they fail where
    even those are too few and no other battery carries on, or where all of its circuit together
    hold less than they are asked to give: then one of them is flat before the hours are over.
    """
    asked = view.plan.job.site.standby_h
    gone = {*found_gone(view.site), *blows_its_fuse(view.site)}
    if asked is None or asked.value <= 0.0:
        return
    for load in view.loads:
        battery_ah = left_ah(view.site, load.id)
        if view.part(load.id).kind != "battery" or battery_ah is None or load.id in gone:
            continue
        idle_a = _least_a(load)
        if idle_a <= NOTHING_A:
            continue
        most_h = _charged_ah(view, load.id) / idle_a
        group = view.group_with(load.id)
        beside = [s for s in group.supplies if view.plan.battery_blocks(s)] if group else []
        near = [each for each in view.loads if each.id in beside and each.id not in gone]
        all_ah = sum(_charged_ah(view, each.id) for each in near)
        too_few = len(beside) < 2 or all_ah < asked.value * sum(map(_least_a, near))
        yield Finding(
            "standby-unreckoned",
            load.id,
            Severity.FAILS if most_h < asked.value and too_few else Severity.NOTE,
            f"{Power.BATTERY}/{Mode.NORMAL}/{Event.NOBODY}",
            {
                "asked_h": asked.value,
                "most_h": most_h,
                "idle_a": idle_a,
                "left_ah": battery_ah,
            },
            "model",
        )


def _least_a(load: SupplyLoad) -> float:
    """The least that it gives on battery with nobody about."""
    on_battery = (f"{power}/{Mode.NORMAL}" for power in (Power.BATTERY, Power.BATTERY_END))
    return min(load.loads_a.get(key, 0.0) for key in on_battery)


def _charged_ah(view: View, device: str) -> float:
    """The amp-hours in a device's battery as it takes over."""
    left = view.part(device).figures.get("battery_charge_share")
    return (left_ah(view.site, device) or 0.0) * (left.value if left is not None else 1.0)


def no_battery(view: View) -> Iterator[Finding]:
    """Hours on battery are asked, and a supply that feeds a lock has no battery.

    One that gives a battery's float voltage was meant to have one; a plain one was chosen so, and
    is told as a note. A battery that was found to carry nothing on is none, nor is one whose fuse
    blows with what its doors take.
    """
    asked = view.plan.job.site.standby_h
    if asked is None or asked.value <= 0.0:
        return
    gone = found_gone(view.site)
    blows = blows_its_fuse(view.site)
    for supply in view.plan.supplies.values():
        fed = [g for g in view.site.groups if g.doors and supply.id in g.supplies]
        takes_one = supply.device.part.kind in ("supply", "timed supply")
        # Its own, or one beside it that is a part of its own; not another supply's.
        near = {s for g in fed for s in g.supplies if view.part(s).kind == "battery"}
        having = [s for s in (supply.id, *near) if view.plan.battery_blocks(s)]
        if not fed or not takes_one or any(s not in gone and s not in blows for s in having):
            continue
        if not having and all(backed_by_another(view.plan, g, supply.id) for g in fed):
            # Its hours are those of that battery.
            continue
        figures: dict[str, float | str] = {"asked_h": asked.value}
        if having and having[0] in gone:
            figures |= {"also": "found", "freed": "found", "state": gone[having[0]]}
        elif having:
            figures |= {"also": "blows", "freed": "blows"}
        yield Finding(
            "no-battery",
            supply.id,
            Severity.FAILS if having else Severity.WEAK if _floats(supply) else Severity.NOTE,
            f"{Power.NO_BATTERY}/{Mode.NORMAL}/{Event.NOBODY}",
            figures,
            "asked",
        )


def _floats(supply: PlannedSupply) -> bool:
    figures = supply.device.part.figures
    gives, nominal = figures.get("output_v"), figures.get("nominal_v")
    return gives is not None and nominal is not None and gives.value > FLOAT * nominal.value


def supply_dead(view: View) -> Iterator[Finding]:
    """A supply that was found dead: its battery, or one beside it, carries the doors though the
    mains are on, and nothing charges it. Its capacity by what the doors take with nobody about is
    the most hours."""
    for found in view.site.wiring.states:
        if found.state != DEAD or found.device not in view.plan.supplies:
            continue
        gives = {
            load.id: (load.loads_a.get(f"{Power.MAINS}/{Mode.NORMAL}", 0.0), ah)
            for load in view.loads
            if (ah := _capacity(view, found.device, load.id)) is not None
        }
        idle_a = sum(amps for amps, _ in gives.values())
        if idle_a > NOTHING_A:
            yield Finding(
                "supply-dead",
                found.device,
                Severity.FAILS,
                f"{Power.MAINS}/{Mode.NORMAL}/{Event.NOBODY}",
                {"idle_a": idle_a, "flat_h": sum(ah for _, ah in gives.values()) / idle_a},
                "model",
            )


def _capacity(view: View, dead: str, device: str) -> float | None:
    """What a battery holds that is the dead supply's own, or one of its own part in its circuit."""
    part = view.part(device)
    with_it = any({dead, device} <= set(group.supplies) for group in view.site.groups)
    own = device == dead or (part.kind == "battery" and with_it)
    return left_ah(view.site, device) if own else None


def battery_volts(view: View) -> Iterator[Finding]:
    """The blocks in series are not the supply's voltage: of its own battery, or of one that is a
    part of its own and lies across it."""
    for supply in view.plan.supplies.values():
        nominal = supply.device.part.figures.get("nominal_v")
        for source in (supply.id, *_across(view, supply.id)):
            block = view.part(source).figures.get("battery_block_v")
            volts = view.plan.battery_blocks(source) * (block.value if block is not None else 0.0)
            if nominal is not None and volts not in (0.0, nominal.value):
                yield Finding(
                    "battery-volts",
                    source,
                    Severity.FAILS,
                    "",
                    {"battery_v": volts, "supply_v": nominal.value},
                    "part",
                )


def _across(view: View, supply: str) -> Iterator[str]:
    """Batteries of their own whose plus and minus copper joins to a supply's; a diode between them
    or a battery in series with another one is none of that."""
    group = view.group_with(supply)
    if group is None or view.part(supply).kind == "battery":
        return
    nets, found = view.nets(group, Contacts.REST), feeds(group)
    own = [feed for feed in found if feed.device == supply and not feed.alternating]
    for feed in found:
        if view.part(feed.device).kind == "battery" and any(
            nets.joined(feed.plus, its.plus) and nets.joined(feed.minus, its.minus) for its in own
        ):
            yield feed.device


def may_not_restart(view: View) -> Iterator[Finding]:
    """What runs on mains does not start again when power returns, or waits for a hand."""
    for battery in view.batteries:
        if not battery.returns_by_itself:
            yield Finding(
                "returns-by-hand",
                battery.supply,
                Severity.WEAK,
                f"{Power.RETURNS}/{Mode.NORMAL}/{Event.NOBODY}",
                {},
                "part",
            )
    told: set[str] = set()
    for _, nominal in view.doors():
        mains = nominal.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
        back = nominal.at(Power.RETURNS, Mode.NORMAL, Event.NOBODY)
        if mains is None or back is None:
            continue
        for sense in nominal.powered:
            device = sense.flag.rsplit(".", 1)[0]
            if sense.on[mains, 1] and not sense.on[back, 1] and device not in told:
                told.add(device)
                yield Finding(
                    "may-not-restart",
                    device,
                    Severity.FAILS,
                    nominal.situations[back].key,
                    {"need_v": sense.on_v},
                    "model",
                )


RULES: tuple[Rule, ...] = (
    Rule(("standby-short",), "battery", standby_short, Uses.SUPPLY),
    Rule(("battery-weak",), "practice", battery_weak, Uses.SUPPLY),
    Rule(("battery-old",), "practice", battery_old),
    Rule(("standby-margin",), "battery", standby_margin, Uses.SUPPLY),
    Rule(("standby-by-cut-off",), "battery", standby_by_cut_off, Uses.SUPPLY),
    Rule(("standby-unreckoned",), "model", standby_unreckoned, Uses.SUPPLY),
    Rule(("no-battery",), "asked", no_battery),
    Rule(("battery-volts",), "part", battery_volts),
    Rule(("supply-dead",), "model", supply_dead, Uses.SUPPLY),
    Rule(("returns-by-hand", "may-not-restart"), "model", may_not_restart, Uses.SUPPLY),
)
