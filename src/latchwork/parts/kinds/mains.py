"""Transformers, and ports that feed a unit over its network cable."""

from __future__ import annotations

from latchwork.elements import Figure, Flag, Input, Source, SourceShape
from latchwork.parts.arithmetic import over, scaled, times
from latchwork.parts.given import Given
from latchwork.parts.kinds.kind import Kind, Piece, assemble
from latchwork.parts.kinds.usual import ANY_WORDS
from latchwork.parts.model import Part
from latchwork.parts.vocabulary import Least, count, figure


def transformer(given: Given) -> Part:
    """A transformer's secondary, A1 and A2, in effective values.

    V = V0 - R * I, with V0 the volts unloaded and R such that rated current gives rated volts.
    Flag ``mains`` is set from outside.
    """
    rated_v, rise = given.figure("nominal_v"), given.figure("unloaded_share")
    rated_a = over(given.figure("rated_va"), rated_v)
    over_one = Figure(
        max(rise.value - 1.0, 0.0), max(rise.low - 1.0, 0.0), max(rise.high - 1.0, 0.0), rise.source
    )
    source = Source(
        "secondary",
        "A1",
        "A2",
        times(rated_v, rise),
        over(times(rated_v, over_one), rated_a),
        None,
        SourceShape.BREAKS_DOWN,
        on=Flag("mains"),
        alternating=True,
    )
    piece = Piece(
        (source,),
        (Input("mains", rest=True),),
        {"limit_a": rated_a},
        {"current_kind": "ac"},
    )
    return assemble(given, (("A1", "secondary"), ("A2", "secondary")), piece)


def poe_port(given: Given) -> Part:
    """A switch port that feeds its network unit (IEEE 802.3). Flag ``network``: it is alive.

    The port gives ``port_w`` at its lowest volts, so its limit is I = W / V_low; what it
    promises to the unit at the far end of 100 m is ``unit_w``.
    """
    volts, watts = given.figure("output_v"), given.figure("port_w")
    limit = scaled(watts, 1.0 / volts.low)
    source = Source(
        "port",
        "+",
        "-",
        volts,
        given.figure("source_ohm"),
        limit,
        SourceShape.CONSTANT,
        on=Flag("network"),
    )
    piece = Piece(
        (source,), (Input("network", rest=True),), {"limit_a": limit}, {"current_kind": "dc"}
    )
    return assemble(given, (("+", "output_plus"), ("-", "output_minus")), piece)


TRANSFORMER = Kind(
    "transformer",
    "mains transformer",
    {
        **ANY_WORDS,
        "volts": figure("nominal_v", "V", "volts at rated load"),
        "unloaded share": figure("unloaded_share", "1", "volts without load, of rated volts"),
        "rating": figure("rated_va", "VA", "what it may give for ever"),
    },
    transformer,
)
POE_PORT = Kind(
    "poe port",
    "network port that feeds its unit",
    {
        **ANY_WORDS,
        "class": count("poe_class", "class of power (IEEE 802.3)"),
        "gives": figure("output_v", "V", "volts at the port"),
        "port power": figure("port_w", "W", "power the port gives"),
        "unit power": figure("unit_w", "W", "power promised to the unit at the far end"),
        "inner resistance": figure(
            "source_ohm", "Ω", "how far the port sags with current", Least.ZERO
        ),
    },
    poe_port,
)
