"""What stands at the front of a pack: facts in the reader's units, notes, what was asked for."""

from __future__ import annotations

from latchwork.papers.asked import COVER, Paper, Stamp
from latchwork.papers.pack import pack_pdf
from latchwork.papers.tables import cables_table
from tests.papers.made import DAY, source_from, text_of

CLINIC = """
latchwork: 1
site: {name: Clinic, units: US, ambient: 40 to 95 °F, standby: 4 h, note: Sign the book first.}
supplies: {S1: {part: supply 24 V, battery: 2 x 12 V 7 Ah, outputs: {1: {fuse: 1.0 A}}}}
devices: {F1: fire relay}
doors:
  D1:
    note: The right leaf drags when wet.
    fire rating: 90 min
    fire alarm: unlocks
    out by: panic bar
    bar: "panic bar with switch, fire-listed"
    lock: strike 24 V fail-secure, fire-listed
    second lock: magnet 24 V, weather
    controller: controller
    controller at: door
    fire: F1
    supply: S1 out 1
    runs: {power: 60 ft of 3 x 16 AWG}
"""


def pages(part: str) -> str:
    source, version = source_from(CLINIC)
    return " ".join(text_of(pack_pdf(source, Paper.LETTER, Stamp(DAY, version), [part])))


def test_temperatures_are_those_of_the_site() -> None:
    """It said "4.44444 to 35 °C" of a site that counts in °F."""
    assert "Ambient 40 °F to 95 °F" in pages(COVER)
    power = pages("power")
    assert "Cold, at 40 °F" in power
    assert "Holds when new, at 77 °F" in power


def test_ohms_are_told_at_a_temperature_of_the_site() -> None:
    """20 °C is 68 °F; copper's 0.393 % a °C (IEC 60028) is 0.22 % a °F."""
    cables = pages("cables")
    assert "two cores in series at 68 °F" in cables
    assert "Copper reads 0.2 % more for each degree above." in cables
    table = cables_table(source_from(CLINIC)[0].schedules.cables, us=True)
    assert "Loop at 68 °F, Ω" in [column.heading for column in table.columns]


def test_notes_are_printed() -> None:
    assert "Note Sign the book first." in pages(COVER)
    assert "Note: The right leaf drags when wet." in pages("doors")


def test_unlocks_on_a_fire_rated_door_is_told_in_words() -> None:
    """There it asks for people to leave with the latch thrown (NFPA 80: positive latching)."""
    assert "Fire alarm people can leave, the latch stays thrown" in pages("doors")


def test_parts_with_commas_in_their_names_are_told_apart() -> None:
    assert "strike 24 V fail-secure, fire-listed; magnet 24 V, weather" in pages("doors")
