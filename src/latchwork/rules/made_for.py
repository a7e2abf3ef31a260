"""Parts on another voltage or another kind of current than they are made for."""

from __future__ import annotations

from collections.abc import Iterator

from latchwork.elements import Source
from latchwork.findings import Finding, Severity
from latchwork.parts.model import Part
from latchwork.power.nets import Contacts, feeds
from latchwork.rules.rule import Rule, Uses
from latchwork.rules.view import View

ALWAYS_FED = ("controller", "reader", "radio", "exit sensor", "delay module", "motor")
"""Kinds that are fed all the time; a bell is fed only while it rings."""
MISMATCH_HIGH, MISMATCH_LOW = 1.5, 0.75
"""Shares of a rating past which volts are not a drop or a float but another voltage (common
practice, no source)."""


def mismatched(view: View) -> dict[str, tuple[float, float]]:
    """Devices on quite another voltage than theirs: id -> volts made for, volts fed with."""
    return view.kept("mismatched", lambda: _mismatched(view))


def _mismatched(view: View) -> dict[str, tuple[float, float]]:
    out: dict[str, tuple[float, float]] = {}
    for group in view.site.groups:
        nets = view.nets(group, Contacts.ALL)
        sources = [f for f in feeds(group) if f.device in view.plan.supplies]
        for device in dict.fromkeys(e.device for e in group.things.elements):
            part = view.part(device)
            low, high = part.figures.get("rated_low_v"), part.figures.get("rated_high_v")
            own = next((t.name for t in part.terminals if t.name in ("+", "A1")), None)
            if device in view.plan.supplies or low is None or high is None or own is None:
                continue
            plus = view.node(f"{device}.{own}")
            given = [_volts(view, f.device) for f in sources if nets.joined(plus, f.plus)]
            if given and all(
                v > MISMATCH_HIGH * high.value or v < MISMATCH_LOW * low.value for v in given
            ):
                made = part.figures.get("nominal_v", low)
                out[device] = made.value, given[0]
    return out


def _volts(view: View, source: str) -> float:
    figures = view.part(source).figures
    names = (name for name in ("output_v", "nominal_v") if name in figures)
    if (name := next(names, "")) == "":
        return view.plan.battery_blocks(source) * figures["battery_block_v"].value
    return figures[name].value


def strange(view: View) -> frozenset[str]:
    """Devices on another voltage or kind of current than theirs: told once, as that."""
    return view.kept(
        "strange",
        lambda: frozenset(mismatched(view)) | {device for device, _, _ in _wrong_kind(view)},
    )


def wrong_voltage(view: View) -> Iterator[Finding]:
    """A part made for, or linked for, quite another voltage than it is fed with."""
    for device, (made, fed) in mismatched(view).items():
        group = view.group_with(device)
        ports = group is not None and all(view.part(s).kind == "poe port" for s in group.supplies)
        code, source = ("port-feeds-lock", "poe") if ports else ("wrong-voltage", "part")
        yield Finding(code, device, Severity.FAILS, "", {"made_v": made, "fed_v": fed}, source)


def wrong_current(view: View) -> Iterator[Finding]:
    """An AC part on direct current, or the reverse."""
    for device, made, fed in _wrong_kind(view):
        figures = {"made": made, "fed": fed}
        yield Finding("wrong-current", device, Severity.FAILS, "", figures, "part")


def _wrong_kind(view: View) -> Iterator[tuple[str, str, str]]:
    """Device, the kind of current it is made for, the kind it is fed with."""
    for group in view.site.groups:
        kinds = {
            "ac" if e.what.alternating else "dc"
            for e in group.things.elements
            if isinstance(e.what, Source)
        }
        for device in dict.fromkeys(e.device for e in group.things.elements):
            made = made_for(view.part(device))
            fed = next(iter(kinds)) if len(kinds) == 1 else _fed_with(view, device)
            if kinds and made and made != fed and device not in group.supplies:
                yield device, made, fed


def _fed_with(view: View, device: str) -> str:
    """The kind of current a device's own terminals are on, where the group has both."""
    names = (t.name for t in view.part(device).terminals)
    own = next((name for name in names if name in ("+", "A1")), "")
    return "ac" if view.alternating(view.node(f"{device}.{own}")) else "dc"


def made_for(part: Part) -> str:
    """The one kind of current a part is made for; "" where it takes both, or none of its own."""
    kind = str(part.facts.get("current_kind", ""))
    if kind in ("ac", "dc"):
        return kind
    return "dc" if part.kind in ALWAYS_FED else ""


RULES: tuple[Rule, ...] = (
    Rule(("wrong-voltage", "port-feeds-lock"), "part", wrong_voltage, Uses.FEED),
    Rule(("wrong-current",), "part", wrong_current),
)
