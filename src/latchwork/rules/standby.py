"""Batteries: the hours asked for, and whether everything comes back after a flat one."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.behaviour import Event, Mode, Power
from latchwork.findings import Finding, Severity
from latchwork.power import standbys
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View


def standby_short(view: View) -> Iterator[Finding]:
    """Something is lost before the hours that the site asks for.

    With a battery at the end of its life in the cold it is weak; with a new one at 25 °C it fails.
    """
    for battery in standbys(view.site):
        if battery.asked_h is None or battery.holds_h >= battery.asked_h or battery.plain is None:
            continue
        first = battery.losses[0]
        new_too = battery.new_holds_h < battery.asked_h
        yield Finding(
            "standby-short",
            battery.supply,
            Severity.FAILS if new_too else Severity.WEAK,
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
            },
            "battery",
        )


def may_not_restart(view: View) -> Iterator[Finding]:
    """What runs on mains does not start again when power returns, or waits for a hand."""
    for battery in standbys(view.site):
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
    Rule(("returns-by-hand", "may-not-restart"), "model", may_not_restart, Uses.SUPPLY),
)
