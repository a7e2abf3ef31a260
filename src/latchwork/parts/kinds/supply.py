"""Low-voltage supplies with their battery and output fuses, and supplies with a door timer."""

from __future__ import annotations

import re
from collections.abc import Mapping

from latchwork.elements import (
    Contact,
    Element,
    Expr,
    Figure,
    Flag,
    Input,
    Latch,
    Load,
    LoadLaw,
    Rule,
    Sense,
    Source,
    SourceShape,
    Speed,
    StateRule,
    Timer,
    TimerMode,
)
from latchwork.parts.arithmetic import not_below, times
from latchwork.parts.given import Given, Unfit
from latchwork.parts.kinds.battery import BATTERY_WORDS, battery_figures, battery_source
from latchwork.parts.kinds.fuse import FUSE_LAW_WORDS, fuse_of
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import (
    ANY_WORDS,
    CONTACT_WORDS,
    ELECTRONICS_WORDS,
    INPUT_WORDS,
    RELAY_SENSES,
    contact,
    dry_input,
    track,
)
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Least, Word, choice, figure, text, yes_no

SUPPLY_WORDS: Mapping[str, Word] = {
    **ANY_WORDS,
    **BATTERY_WORDS,
    **CONTACT_WORDS,
    **FUSE_LAW_WORDS,
    "volts": figure("nominal_v", "V", "nominal voltage"),
    "gives": figure("output_v", "V", "output on mains; the float voltage where it has a battery"),
    "limit": figure("limit_a", "A", "most current it gives on mains"),
    "past its limit": choice(
        "shape", ("constant current", "folds back"), "what it does when asked for more"
    ),
    "folds back to": figure(
        "fold_a", "A", "current into a short circuit, where it folds back", Least.ZERO
    ),
    "inner resistance": figure(
        "source_ohm", "Ω", "how far the output sags with current", Least.ZERO
    ),
    "cut-off": figure("cut_off_v", "V", "battery voltage at which it cuts itself off"),
    "reconnects at": figure("reconnect_v", "V", "battery voltage above which it counts as charged"),
    "charge current": figure("charge_a", "A", "current that charges an empty battery", Least.ZERO),
    "charge share": figure(
        "charge_share", "1", "charge current in A, of the capacity in Ah", Least.ZERO
    ),
    "trickle share": figure(
        "trickle_share", "1", "float current in A, of the capacity in Ah", Least.ZERO
    ),
    "charging": choice(
        "charging", ("common", "separate"), "battery on the output, or on a leg of its own"
    ),
    "returns by itself": yes_no("returns_by_itself", "whether it returns after a flat battery"),
    "tells of its fault": yes_no(
        "tells_of_its_fault",
        "whether a sounder, or somebody it is wired to, tells that it gives nothing, mains on",
    ),
    "minus earthed": yes_no("minus_earthed", "whether its minus is tied to earth"),
    "battery fuse": figure("battery_fuse_a", "A", "rating of the battery's fuse"),
    "outputs": text("outputs", "names of its outputs, each behind a fuse: 1, 2, 3"),
    "output fuse": figure("output_fuse_a", "A", "rating of every output's fuse"),
    "output * fuse": figure("output_*_fuse_a", "A", "rating of one output's fuse"),
    "self-resetting": yes_no("self_resetting", "whether its output fuses come back by themselves"),
    "track resistance": figure("track_ohm", "Ω", "resistance of its inner tracks", Least.ZERO),
}
SUPPLY_ALTERNATIVES = (("charge current", "charge share"),)

MAINS, BATTERY_IN, CUT_OFF = Flag("mains"), Flag("battery_present"), Flag("cut_off")


_SCREWS = ("-", "IN", "GND", "NO", "NC")
"""What an output cannot be called: a supply has such screws besides."""


def _bus(given: Given) -> str:
    """The node that outputs hang on: the plus screw itself, or inside where each has a fuse."""
    return "_bus" if "outputs" in given.settings else "+"


def _mains_side(given: Given, bus: str, on: Expr) -> Piece:
    shape = given.settings.get("shape")
    # Whoever says what it folds back to says that it does.
    folds = shape == "folds back" or (shape is None and given.find("fold_a") is not None)
    source = Source(
        "mains supply",
        bus,
        "-",
        given.figure("output_v"),
        given.figure("source_ohm"),
        given.figure("limit_a"),
        SourceShape.FOLD_BACK if folds else SourceShape.CONSTANT,
        fold_a=given.figure("fold_a").value if folds else 0.0,
        on=on,
    )
    facts = {"current_kind": "dc", "shape": "folds back" if folds else "constant current"}
    return Piece((source,), (Input("mains", rest=True),), facts=facts)


def _charging(given: Given, bus: str) -> Piece:
    """The charger as a load: full current after a flat battery, a trickle else."""
    ah = given.figure("battery_ah")
    charge = given.share("charge_a", "charge_share", "battery_ah")
    trickle = times(given.figure("trickle_share"), ah)
    floor_v = 0.5 * given.figure("output_v").value
    fed = MAINS & BATTERY_IN
    empty = Flag("battery_end")
    loads = (
        Load("charger", bus, "-", LoadLaw.CURRENT, charge, floor_v, on=fed & empty),
        Load("trickle", bus, "-", LoadLaw.CURRENT, trickle, floor_v, on=fed & ~empty),
    )
    return Piece(loads, figures={"charge_a": charge, "trickle_a": trickle})


def _battery_side(given: Given, bus: str) -> Piece:
    """Battery, its fuse, the cut-off, and the change-over where it has a leg of its own."""
    figures = dict(battery_figures(given))
    fuse = fuse_of(given, "battery fuse", "_cell", "_batt", given.figure("battery_fuse_a"))
    # "At its end" is the last moment before the cut-off trips, under load: the sag of the battery
    # itself, up to what its fuse is made for, must not trip it. Its limit on mains holds no
    # battery back.
    sag_v = given.figure("battery_fuse_a").value * (figures["battery_ohm"].high + fuse.ohm.high)
    trip_v = figures["battery_end_v"].low - sag_v
    trip = Figure(trip_v, trip_v, trip_v, figures["battery_end_v"].source)
    back = not_below(given.find("reconnect_v") or figures["battery_v"], trip)
    healthy = Sense("battery_up", "_batt", "-", back, trip, speed=Speed.CUT_OFF)
    back_again = MAINS if given.yes("returns_by_itself") else Flag("reset")
    rules: tuple[StateRule, ...] = (
        Input("battery_present", rest=True),
        Input("battery_end"),
        Input("reset"),
        healthy,
        # It waits before it trips, so that the fuse of a shorted output is quicker; it closes at
        # once, before the doors' first current is drawn from the mains alone.
        Latch("tripped", ~Flag("battery_up") & ~MAINS, back_again, speed=Speed.CUT_OFF),
        Rule(CUT_OFF.name, Flag("tripped") & ~back_again, Speed.RELAY),
    )
    joined = ~CUT_OFF if given.word("charging") == "common" else ~CUT_OFF & ~MAINS
    ohm = given.figure("contact_ohm")
    joint = Contact("contact battery", "_batt", bus, joined, ohm, at_rest="closed")
    source = battery_source(figures, "_cell", "-", BATTERY_IN)
    return Piece((source, fuse, joint), rules, figures)


def output_names(given: Given) -> tuple[str, ...]:
    """Names of the fused outputs, from a text such as "1, 2, 3"."""
    listed = str(given.settings.get("outputs", ""))
    names = tuple(name.strip() for name in listed.split(",") if name.strip())
    for n, name in enumerate(names):
        if name in (*_SCREWS, *names[:n]) or not re.fullmatch(r"[^\s._][^\s.]*", name):
            raise Unfit("outputs", name, "names of one word, commas between, each of one screw")
    return names


def _outputs(given: Given, bus: str) -> Piece:
    fuses: list[Element] = []
    for name in output_names(given):
        rating = given.find(f"output_{name}_fuse_a") or given.figure("output_fuse_a")
        resets = given.yes("self_resetting")
        fuses.append(fuse_of(given, f"fuse {name}", bus, name, rating, resets=resets))
    return Piece(tuple(fuses))


def _source_pieces(given: Given) -> tuple[Piece, ...]:
    bus = _bus(given)
    fitted = given.find("battery_ah") is not None
    blocked = fitted and not given.yes("returns_by_itself")
    pieces = [_mains_side(given, bus, MAINS & ~CUT_OFF if blocked else MAINS)]
    if fitted:
        pieces += [_battery_side(given, bus), _charging(given, bus)]
    return (*pieces, _outputs(given, bus))


def _source_terminals(given: Given) -> tuple[tuple[str, str], ...]:
    names = output_names(given) or ("+",)
    return (*((name, "output_plus") for name in names), ("-", "output_minus"))


def supply(given: Given) -> Part:
    """A supply: on mains it gives ``output_v`` up to its limit; without, its battery does.

    Flags ``mains``, ``battery_present``, ``battery_end`` (and ``reset`` where it does not return
    by itself) are set from outside. Inner nodes: ``_bus``, ``_cell``, ``_batt``.
    """
    return assemble(given, _source_terminals(given), *_source_pieces(given))


_TIMED_WORDS: Mapping[str, Word] = {
    **SUPPLY_WORDS,
    **INPUT_WORDS,
    "relay time": figure("relay_s", "s", "how long the door is released"),
    "trigger": choice("trigger", ("edge", "level"), "once a closing of IN, or while closed"),
    "relay": choice("relay", RELAY_SENSES, "when its relay is energised"),
    "needs at least": ELECTRONICS_WORDS["needs at least"],
    "restarts at": ELECTRONICS_WORDS["restarts at"],
}


def timed_supply(given: Given) -> Part:
    """A supply with a door timer: closing IN to GND moves its plus from NC to NO for a time."""
    bus = _bus(given)
    powered, granted, relay = Flag("powered"), Flag("granted"), Flag("relay")
    watched, _, closed = dry_input(given, "IN", "GND", powered)
    mode = TimerMode.WHILE if given.word("trigger") == "level" else TimerMode.ON_RISE
    moved = granted if given.word("relay") == "energised on grant" else ~granted
    stops = given.figure("dies_v")
    timer = Piece(
        (
            track("ground track", "GND", "-", given.figure("track_ohm")),
            contact(given, "NO", bus, "NO", relay),
            contact(given, "NC", bus, "NC", ~relay, at_rest="closed"),
        ),
        (
            Sense("powered", bus, "-", not_below(given.figure("restart_v"), stops), stops),
            Timer("granted", closed, given.figure("relay_s"), mode, clear=~powered),
            Rule("relay", powered & moved, Speed.RELAY),
        ),
    )
    terminals = (
        *_source_terminals(given),
        ("IN", "unlock_input"),
        ("GND", "ground"),
        ("NO", "switched_plus_on_grant"),
        ("NC", "switched_plus_at_rest"),
    )
    return assemble(given, terminals, *_source_pieces(given), watched, timer)


SUPPLY = Kind("supply", "low-voltage supply", SUPPLY_WORDS, supply, SUPPLY_ALTERNATIVES)
TIMED_SUPPLY = Kind(
    "timed supply", "supply with a door timer", _TIMED_WORDS, timed_supply, SUPPLY_ALTERNATIVES
)
