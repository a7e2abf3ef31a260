"""Expected readings: what a meter should show, with the band that the worst cases give."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import msgspec

from latchwork.answers.schedules.model import (
    DoorReadings,
    LockReadings,
    Reading,
    TerminalReadings,
)
from latchwork.answers.schedules.stands import Stands
from latchwork.behaviour import Case, Event, LockState, Power, SiteOutcome, Situation
from latchwork.behaviour.meter import Metered
from latchwork.behaviour.outcomes import BEGINS, HELD
from latchwork.drawing.index import Index, Sort
from latchwork.plan import Plan

_EVENTS = {Event.CREDENTIAL: "granted", Event.EXIT: "exit pressed", Event.RELEASE: "released"}


def readings(
    site: SiteOutcome,
    index: Index,
    stands: Stands,
    metered: Mapping[str, Mapping[Case, Metered]],
) -> tuple[DoorReadings, ...]:
    """Every door that has anything electrical, in the order of the job."""
    return tuple(
        _door(site, index, stands, door, metered[door])
        for door in site.plan.doors
        if metered.get(door)
    )


def situation_key(situation: Situation) -> str:
    """A word key for what the fitter does: "idle", "granted", "exit pressed", "exit pressed bar",
    "released", "mains off"."""
    if situation.power is Power.BATTERY:
        return "mains off"
    key = _EVENTS.get(situation.event, "idle")
    return f"{key} {situation.which}" if situation.which else key


def _door(
    site: SiteOutcome, index: Index, stands: Stands, door: str, cases: Mapping[Case, Metered]
) -> DoorReadings:
    nominal = cases[Case.NOMINAL]
    wired = [n for n in nominal.volts if n in index.owners and _belongs(site, index, door, n)]
    wired.sort(key=stands.order)
    terminals = []
    for node in wired:
        owner = index.owners[node]
        device = site.plan.devices.get(owner.id) if owner.sort is Sort.DEVICE else None
        terminals.append(
            TerminalReadings(
                node,
                owner.id,
                device.part.name if device else owner.sort.value,
                stands.of(node).kind,
                nominal.against[node],
                _band({case: m.volts[node] for case, m in cases.items()}),
            )
        )
    return DoorReadings(
        door,
        tuple(situation_key(s) for s in nominal.situations),
        nominal.alternating,
        tuple(_between_bits(site.plan, terminals, nominal.situations)),
        _locks(site, door, cases),
        all(m.solved for m in cases.values()),
    )


def _between_bits(
    plan: Plan, terminals: Sequence[TerminalReadings], situations: Sequence[Situation]
) -> Iterator[TerminalReadings]:
    """Readings as a meter shows data lines while a card is read: at rest, as a bit is over in some
    50 µs (SIA AC-01, from memory). The model sends ones last: D0 is at rest by then, D1 is not."""
    found = {each.terminal: each for each in terminals}
    for each in terminals:
        name = each.terminal.removeprefix(f"{each.device}.")
        rest = found.get(f"{each.device}.D0{name[2:]}")
        if rest is None or not _is_data_1(plan, each.device, name):
            yield each
            continue
        pairs = zip(situations, each.volts_v, rest.volts_v, strict=True)
        volts = tuple(r if s.event is Event.CREDENTIAL else v for s, v, r in pairs)
        yield msgspec.structs.replace(each, volts_v=volts)


def _is_data_1(plan: Plan, device: str, name: str) -> bool:
    terminals = plan.devices[device].part.terminals if device in plan.devices else ()
    return any(t.name == name and t.does == "data_1" for t in terminals)


def _belongs(site: SiteOutcome, index: Index, door: str, node: str) -> bool:
    """Whether a node is this door's: its own device, a shared one's terminal that it is wired to,
    or a joint or tap on its wires."""
    owner = index.owners[node]
    if owner.sort in (Sort.OPEN, Sort.CUT, Sort.EARTH):
        return False
    if owner.sort is Sort.DEVICE:
        whose = site.plan.devices[owner.id].door
        if whose:
            return whose == door
    return any(wire.door == door for wire in index.at.get(node, ()))


def _band(by_case: Mapping[Case, object]) -> tuple[Reading, ...]:
    rows = [list(map(float, volts)) for volts in by_case.values()]  # type: ignore[call-overload]  # rows of numbers
    middle = rows[list(by_case).index(Case.NOMINAL)]
    return tuple(
        Reading(value, min(each), max(each))
        for value, each in zip(middle, zip(*rows, strict=True), strict=True)
    )


def _locks(site: SiteOutcome, door: str, cases: Mapping[Case, Metered]) -> tuple[LockReadings, ...]:
    nominal = cases[Case.NOMINAL]
    outcome = site.outcomes[door][Case.NOMINAL]
    found = []
    for lock in outcome.locks:
        part = site.plan.devices[lock.device].part
        across, through = {}, {}
        for case, shown in cases.items():
            across[case] = shown.locks[lock.device]
            through[case] = sum(
                (abs(a) for name, a in shown.amps.items() if name.startswith(lock.device + ".")),
                start=0.0 * across[case],
            )
        states = []
        for s in nominal.situations:
            column = outcome.column[s]
            moment = HELD if s.event is Event.NOBODY else BEGINS
            states.append(LockState(int(lock.state[column, moment])).name.lower())
        found.append(
            LockReadings(lock.device, part.name, _band(across), _band(through), tuple(states))
        )
    return tuple(found)
