"""Plain facts of a site and of a door, with what each takes."""

from __future__ import annotations

import zoneinfo
from dataclasses import dataclass

from latchwork.job.fields import Field, read_table, table, table_schema
from latchwork.job.model import Fact
from latchwork.job.notes import Place
from latchwork.job.values import (
    Checked,
    Count,
    Day,
    Measure,
    OrNone,
    Schema,
    Text,
    YesNo,
    text_of,
    words,
)
from latchwork.quantities import (
    FORCE,
    FREQUENCY,
    LENGTH,
    POWER,
    TEMPERATURE,
    TIME,
    VOLTAGE,
    QuantityError,
    System,
    parse_pieces,
)
from latchwork.tree.nodes import Items, Node


def _is_time_zone(text: str) -> bool:
    try:
        zoneinfo.ZoneInfo(text)
    except (zoneinfo.ZoneInfoNotFoundError, ValueError, OSError):
        return False
    return True


@dataclass(frozen=True, slots=True)
class Mains:
    """Volts and frequency of the mains: "230 V 50 Hz"."""

    def read(self, node: Node, place: Place) -> tuple[Fact, Fact] | None:
        text = text_of(node, place, "such as 230 V 50 Hz")
        if text is None:
            return None
        try:
            volts, hertz = parse_pieces(text, VOLTAGE, FREQUENCY)
            known = min(volts.low, hertz.low) > 0.0
        except QuantityError:
            known = False
        if not known:
            place.wrong(node, "volts and frequency, such as 230 V 50 Hz", "quantity.pieces")
            return None
        return volts, hertz

    def schema(self) -> Schema:
        return {"type": "string"}


@dataclass(frozen=True, slots=True)
class Waivers:
    """A list of findings that somebody has agreed to live with."""

    def read(self, node: Node, place: Place) -> tuple[dict[str, str], ...]:
        if not isinstance(node, Items):
            place.wrong(node, "a list, each line starting with - ", "field.shape")
            return ()
        numbered = enumerate(node.nodes, start=1)
        return tuple(read_table(n, _WAIVER, place.at(str(number))) for number, n in numbered)

    def schema(self) -> Schema:
        return {"type": "array", "items": table_schema(_WAIVER)}


_WAIVER = table(
    Field("finding", Text(), "The finding's id.", "F3A90C", required=True),
    Field("reason", Text(), "Why it may stay.", "Porter on duty day and night.", required=True),
    Field("by", Text(), "Who agreed.", "the site manager", required=True),
    Field("date", Day(), "When.", "2026-02-11", required=True),
    Field("until", Day(), "When it ends.", "2027-02-11"),
)

WAIVERS = Field(
    "waivers",
    Waivers(),
    "Findings agreed to be left as they are.",
    "[{finding: F3A90C, reason: Porter on duty., by: the site manager, date: 2026-02-11}]",
)

KEPT = "Kept for whoever reads the file; nothing is reckoned with it."
"""Said of facts that no rule and no paper uses."""

_BOTH = (
    Field("users", Count(), "How many people hold a code or card.", "40"),
    Field("grants an hour", Count(), "Grants in the busiest hour.", "60"),
    Field("installer code changed", YesNo(), "Whether the code it came with was changed.", "yes"),
    Field("note", Text(), "Anything else.", "Ladder needed."),
)

SITE_FACTS = table(
    *_BOTH,
    Field("client", Text(), "Who it is for.", "the boatyard company"),
    Field("address", Text(), "Where it is.", "12 Alder Lane"),
    Field("authority", Text(), "Who decides on life safety there.", "the county fire officer"),
    Field("edition", Text(), "The edition of the rules adopted.", "2021"),
    Field("fire contact", Text(), "Who looks after the fire panel.", "the caretaker"),
    Field(
        "fire contact resets",
        words("by hand", "by itself"),
        "Whether the panel's contact returns by hand only, after an alarm.",
        "by hand",
    ),
    Field("fire panel supply", Text(), "The supply that feeds the fire panel.", "S2"),
    Field("isolator at", words("inside", "outside"), "Where the mains can be cut.", "inside"),
    Field("port budget", Measure(POWER), "What all network ports together may give.", "65 W"),
)
"""Facts of the site, kept by name in ``Site.facts``."""

SITE = table(
    Field("name", Text(), "The site's name.", "Alder Reach boatyard"),
    Field("reference", Text(), "Your own reference.", "2026-014"),
    Field("mains", Mains(), f"Volts and frequency. {KEPT}", "230 V 50 Hz"),
    Field("ambient", Measure(TEMPERATURE), "Coldest to hottest.", "-10 to 35 °C"),
    Field(
        "standby",
        OrNone(Measure(TIME, 3600.0, "h")),
        "Hours on battery; none where none are asked.",
        "4 h",
    ),
    Field(
        "rule set",
        words("general", "US model codes", "UK and Europe"),
        "Whose rules to judge by.",
        "UK and Europe",
    ),
    Field(
        "time zone",
        Checked(_is_time_zone, "a time zone by its place, such as Europe/London"),
        "Its time zone.",
        "Europe/London",
    ),
    Field("units", words(*(s.value for s in System)), "Units to print.", "metric"),
    Field("language", Text(), f"Language of what is printed. {KEPT}", "en"),
    WAIVERS,
    *SITE_FACTS.values(),
)
"""The section ``site``."""

DOOR_FACTS = table(
    *_BOTH,
    Field("fire rating", OrNone(Measure(TIME)), "Minutes of fire resistance.", "30 min"),
    Field(
        "fire label",
        YesNo(),
        "Whether a label was seen on leaf and frame: with one it is a fire door, minutes or not.",
        "yes",
    ),
    Field(
        "inner side",
        words("inside", "outside", "weather"),
        "What the secure side stands in: a yard behind a gate is weather.",
        "weather",
    ),
    Field("leaves", Count(1, 2), "How many leaves.", "2"),
    Field(
        "active leaf",
        words("left", "right", "both"),
        "The leaf people pass by, seen from outside: of two with a lock each, that of lock.",
        "left",
    ),
    Field(
        "second lock on",
        words("same leaf", "other leaf"),
        "Of two leaves, the one it holds; unsaid, two of one kind hold a leaf each.",
        "other leaf",
    ),
    Field(
        "swing",
        words("inward", "outward", "both ways"),
        "Seen from inside: a bar is on a door that opens outward.",
        "outward",
    ),
    Field("hand", words("left", "right"), "The hinges' side, seen from outside.", "left"),
    Field("closer", YesNo(), "Whether it has one, as a fire door must.", "yes"),
    Field("closer speed", Measure(TIME), "From 90° to 12° open.", "6 s"),
    Field("closing force", Measure(FORCE), "To open it against the closer.", "22 N"),
    Field("gap", Measure(LENGTH), f"Between leaf and frame. {KEPT}", "about 3 mm"),
    Field(
        "escape direction",
        words("outward", "inward", "both", "none"),
        "Which way people escape through it; none where nobody leaves by it.",
        "outward",
    ),
    Field(
        "may be kept in",
        Text(),
        "Who may be kept in; nobody where nobody may. For others no remedy adds a way out for all.",
        "nobody",
    ),
    Field("may be kept out", Text(), f"Who may be kept out. {KEPT}", "the public"),
    Field("release height", Measure(LENGTH), "Floor to middle of the release.", "1100 mm"),
    Field("release distance", Measure(LENGTH), "From the door to the release.", "400 mm"),
    Field("sign", OrNone(Text()), "What the sign says.", "PUSH TO EXIT"),
    Field("seals", OrNone(Text()), f"Smoke, fire or acoustic seals. {KEPT}", "smoke"),
    Field(
        "key override",
        words("outside", "inside", "both sides", "none"),
        "Where a key works without power.",
        "outside",
    ),
    Field("held or forced told", YesNo(), "Whether held or forced open must be told.", "yes"),
    Field("held unlocked", YesNo(), "Whether it stands unlocked by the clock.", "no"),
    Field("only lock overnight", YesNo(), "Whether nothing else locks it at night.", "yes"),
    Field(
        "sensor seen from outside",
        YesNo(),
        "Whether somebody outside can set off its exit sensor (glass, a gap, a letter plate).",
        "no",
    ),
    Field(
        "release category",
        words("A", "B", "C"),
        "How its fire release is to fail (BS 7273-4).",
        "B",
    ),
    Field("delayed egress", YesNo(), "Whether leaving is delayed on purpose.", "no"),
    Field("interlock", OrNone(Text()), "The doors that must be shut before it opens.", "D4"),
    Field("anti-passback", YesNo(), "Whether a card must leave before it enters again.", "no"),
)
"""Facts of a door, kept by name in ``Door.facts``."""
