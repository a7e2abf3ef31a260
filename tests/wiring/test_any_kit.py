"""Any kit that can be written down is wired or refused, and what is wired holds together."""

from __future__ import annotations

from collections import Counter

from hypothesis import given, settings
from hypothesis import strategies as st

from latchwork.job import LEGS, SLOTS, JobErrors
from latchwork.parts import catalogue
from latchwork.plan.fit import misfit
from latchwork.wiring import Wiring, merged
from tests.wiring.sites import wired

HEAD = """
latchwork: 1
supplies:
  S1: {part: supply 24 V, outputs: {1: {fuse: 1.0 A}, 2: {fuse: 1.0 A}}}
  S2: timed supply 12 V
  S3: transformer 12 V AC
  S4: network port, class 4
devices: {F1: fire relay, C1: "controller, two doors", R1: "release, double pole"}
"""

FITTING = {
    slot: sorted(spec.name for spec in catalogue().specs() if not misfit(slot, spec.resolve()))
    for slot in SLOTS
}
SHARED = {"fire": ["F1"], "controller": ["C1 way 1", "C1 way 2"], "release": ["R1"]}

PARTS = {
    slot: st.sampled_from(SHARED.get(slot, []) * 12 + parts) for slot, parts in FITTING.items()
}


def kits(*always: str) -> st.SearchStrategy[dict[str, str]]:
    """Parts by slot, with those slots filled always."""
    return st.fixed_dictionaries(
        {slot: PARTS[slot] for slot in always},
        optional={slot: parts for slot, parts in PARTS.items() if slot not in always},
    )


slots = st.one_of(kits("lock", "controller"), kits("lock", "controller"), kits("lock"), kits())
runs = st.dictionaries(
    st.sampled_from(LEGS),
    st.sampled_from(
        ["20 m of 2 x 1.0 mm²", "unknown of 4 x 0.22 mm²", "about 9 m of category cable"]
    ),
)
FULL = {
    "lock": "magnet 24 V",
    "controller": "controller, reader outside",
    "reader": "reader",
    "exit": "button",
    "release": "release, double pole",
    "diode": "diode",
}
FULL_RUNS = dict.fromkeys(("power", "lock", "exit", "release", "reader"), "9 m of 4 x 1.0 mm²")
REFERENCES = ["S1.1", "S1.-", "open", "lock.+", "controller.NO", "controller.GND", "exit.COM"]
CORES = [f"{leg} {colour}" for leg in FULL_RUNS for colour in ("brown", "blue", "black", "grey")]
reference, core = st.sampled_from(REFERENCES), st.sampled_from(CORES)
screw = reference.filter(lambda name: name != "open")
place = st.sampled_from(["2 m", "2 m from controller", "3 m", "9 m", "40 m"])
deviations = st.one_of(
    st.builds("{{moved: {}, from: open, to: {}}}".format, core, reference),
    st.builds("{{moved: lock brown, from: {}, to: {}}}".format, reference, reference),
    st.builds("{{swapped: [{}, {}]}}".format, core, core),
    st.builds("{{swapped: [{}, {}], at: from controller}}".format, core, core),
    st.builds("{{swapped: [{}, {}]}}".format, screw, screw),
    st.builds("{{short: [{}, {}], at: {}}}".format, core, core, place),
    st.builds("{{short: [{}, {}]}}".format, core, screw),
    st.builds("{{leak: [{}, earth], at: {}, resistance: 5 kohm, when: wet}}".format, core, place),
    st.builds("{{break: {}, at: {}}}".format, core, place),
    st.builds("{{added: lead, from: {}, to: {}}}".format, screw, screw),
    st.builds("{{added: {}, from: {}, to: {}}}".format, core, reference, reference),
    st.builds("{{missing: {}}}".format, st.one_of(core, st.sampled_from(sorted(FULL)))),
)


def door(
    name: str,
    supply: str,
    at: str,
    devices: dict[str, str],
    cables: dict[str, str],
    found: list[str],
) -> str:
    """One door as text."""
    lines = [f"  {name}:", f"    supply: {supply}", f"    controller at: {at}"]
    lines += [f'    {slot}: "{part}"' for slot, part in devices.items()]
    if cables:
        lines += ["    runs:", *(f"      {leg}: {run}" for leg, run in cables.items())]
    if found:
        lines += ["    found:", *(f"      - {deviation}" for deviation in found)]
    return "\n".join(lines) + "\n"


doors = st.tuples(
    st.sampled_from(["S1 out 1", "S1 out 2", "S2", "S3", "S4"]),
    st.sampled_from(["door", "supply", "outside", "the cupboard"]),
    slots,
    runs,
)


def holds_together(wiring: Wiring) -> None:
    """Every end is a screw that is there, a joint or an open end; each core stands once."""
    screws = {
        f"{device.id}.{terminal.name}"
        for device in wiring.plan.devices.values()
        for terminal in device.part.terminals
    }
    nodes = merged(wiring)
    joints = Counter(end for row in wiring.planned_rows for end in (row.start, row.end))
    for end, times in joints.items():
        joint = end.rpartition(".")[2].startswith("X")
        assert end in screws or end == "open" or (joint and times > 1), end
    cores = Counter(core for row in wiring.planned_rows for core in row.cores)
    assert not cores or max(cores.values()) == 1
    for conductor in wiring.conductors:
        assert nodes[conductor.start]
        assert 0 <= conductor.ohm.low <= conductor.ohm.high
    lengths: dict[str, float] = {}
    for conductor in wiring.conductors:
        whole = f"{conductor.cable}.{conductor.core}"
        lengths[whole] = lengths.get(whole, 0.0) + conductor.length_m.value
    for whole, metres in lengths.items():
        planned = wiring.plan.cables[whole.rpartition(".")[0]].length_m.value
        assert abs(metres - planned) < 1e-9


@settings(max_examples=150, deadline=None)
@given(st.lists(doors, min_size=1, max_size=3))
def test_any_kit_is_wired_and_holds_together(
    kits: list[tuple[str, str, dict[str, str], dict[str, str]]],
) -> None:
    text = "".join(door(f"D{n}", *kit, []) for n, kit in enumerate(kits, 1))
    holds_together(wired("doors:\n" + text, HEAD))


@settings(max_examples=150, deadline=None)
@given(st.sampled_from(["door", "supply"]), st.lists(deviations, max_size=4))
def test_any_deviation_is_laid_over_or_refused_at_its_place(at: str, found: list[str]) -> None:
    text = "doors:\n" + door("D1", "S1 out 1", at, FULL, FULL_RUNS, found)
    try:
        wiring = wired(text, HEAD)
    except JobErrors as errors:
        lines = (HEAD + text).splitlines()
        refused = [lines[problem.line - 1] for problem in errors.problems]
    else:
        refused = []
        holds_together(wiring)
    # Only what is said of a place or an end that is not there, or of cores of two cables without
    # the end at which they are, may be refused.
    assert all("moved" in line or "40 m" in line or "swapped" in line for line in refused)
