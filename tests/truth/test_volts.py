"""Volts at the lock, from a job file through the whole chain, against worked examples.

Sources: IEC 60228 table 3 (class 5, plain copper at 20 °C: 39.0, 26.0, 19.5, 13.3 ohm/km, seen in
copies); R(t) = R20 (1 + 0.00393 (t - 20)) of IEC 60028 (from memory); the examples are computed by
V = V0 R / (R + 2 L r) for a coil and V = V0 - I 2 L r for a constant current. A job says its own
figures where the example has none: contacts, tracks and the source itself take nothing.
"""

from __future__ import annotations

import pytest

from latchwork.behaviour import Case, DoorOutcome, Event, LockState, Mode, Power, behave
from latchwork.behaviour.outcomes import HELD
from tests.truth.solved import wired

CLOSE_V = 0.01
CLASS_5 = {"0.5": 39.0, "0.75": 26.0, "1.0": 19.5, "1.5": 13.3}
"""mm² -> ohm/km."""
MAGNET, STRIKE = "magnet 12 V", "strike 12 V fail-secure"
EXACT = "contact resistance: 0 ohm, track resistance: 0 ohm"

JOB = """
latchwork: 1
supplies:
  S1:
    part: supply {nominal}
    gives: {gives}
    inner resistance: 0 ohm
    contact resistance: 0 ohm
{battery}doors:
  D1:
    supply: S1
    out by: lever
    controller at: supply
    controller: {{part: "controller, reader outside", {exact}}}
    lock: {lock}
    reader: {reader}
    runs: {{{runs}}}
"""


BATTERY = "    battery fuse: 100 A\n    battery: {blocks: 12 V 17 Ah, resistance: 0.1 mohm}\n"


def _run(
    leg: str, metres: float, area: str, cores: int = 2, ohm_per_km: float | None = None
) -> str:
    said = "" if ohm_per_km is None else f", resistance: {ohm_per_km} ohm/km"
    return f"{leg}: {{length: {metres} m, cable: {cores} x {area} mm²{said}}}"


def _coil(part: str, ohm: float, more: str = "") -> str:
    return f"{{part: {part}, resistance: {ohm} ohm{more}}}"


def _door(
    lock: str,
    runs: str,
    gives: str = "13.8 V",
    nominal: str = "12 V",
    reader: str = "{part: reader, current: 0.01 A}",
    battery: str = BATTERY,
    cases: tuple[Case, ...] = (Case.NOMINAL,),
) -> dict[Case, DoorOutcome]:
    job = JOB.format(
        nominal=nominal,
        gives=gives,
        battery=battery,
        exact=EXACT,
        lock=lock,
        reader=reader,
        runs=runs,
    )
    return dict(behave(wired(job), cases).outcomes["D1"])


def _lock_v(outcome: DoorOutcome, power: Power, event: Event = Event.NOBODY) -> float:
    """Volts at the lock as the event begins."""
    column = outcome.at(power, Mode.NORMAL, event)
    assert column is not None
    return float(outcome.locks[0].volts[column, 0])


def _lock_state(outcome: DoorOutcome, power: Power, event: Event) -> LockState:
    """The lock as the event begins."""
    column = outcome.at(power, Mode.NORMAL, event)
    assert column is not None
    return LockState(int(outcome.locks[0].state[column, 0]))


@pytest.mark.parametrize(
    ("part", "ohm", "metres", "area", "power", "event", "volts"),
    [
        # [X] loop 4.68 ohm: 13.8 V x 24 / 28.68 = 11.55 V, 0.481 A.
        (MAGNET, 24.0, 60.0, "0.5", Power.MAINS, Event.NOBODY, 11.55),
        # [X] the same at the battery's end, 10.5 V.
        (MAGNET, 24.0, 60.0, "0.5", Power.BATTERY_END, Event.NOBODY, 8.79),
        # [X] loop 0.78 ohm: 0.557 A.
        (MAGNET, 24.0, 15.0, "0.75", Power.MAINS, Event.NOBODY, 13.37),
        # [X] loop 1.56 ohm: 0.278 A; a strike takes it when somebody shows a card.
        (STRIKE, 48.0, 20.0, "0.5", Power.MAINS, Event.CREDENTIAL, 13.37),
    ],
)
def test_voltage_drop_to_a_coil(
    part: str, ohm: float, metres: float, area: str, power: Power, event: Event, volts: float
) -> None:
    runs = _run("lock", metres, area, ohm_per_km=CLASS_5[area])
    outcome = _door(_coil(part, ohm), runs)[Case.NOMINAL]
    assert _lock_v(outcome, power, event) == pytest.approx(volts, abs=CLOSE_V)


def test_a_hot_cable_at_its_limit() -> None:
    """[X] least volts: table maximum at 40 °C, 4.68 x 1.0786 = 5.048 ohm; coil at 20 °C:
    13.8 x 24 / 29.048 = 11.402 V. The cable's own figures, nothing said of its resistance."""
    door = _door(_coil(MAGNET, 24.0), _run("lock", 60.0, "0.5"), cases=tuple(Case))
    assert _lock_v(door[Case.LEAST_VOLTS], Power.MAINS) == pytest.approx(11.402, abs=CLOSE_V)


def test_a_cold_cable_of_ideal_copper() -> None:
    """[X] most volts: 1/(58 x 0.5 mm²) = 34.48 ohm/km at 0 °C, 60 m out and back: 4.138 x 0.9214 =
    3.813 ohm; 13.8 x 24 / 27.813 = 11.908 V."""
    door = _door(_coil(MAGNET, 24.0), _run("lock", 60.0, "0.5"), cases=tuple(Case))
    assert _lock_v(door[Case.MOST_VOLTS], Power.MAINS) == pytest.approx(11.908, abs=CLOSE_V)


def _reader_v(outcome: DoorOutcome) -> float:
    column = outcome.at(Power.MAINS, Mode.NORMAL, Event.NOBODY)
    (sense,) = (s for s in outcome.powered if s.flag == "D1.reader.powered")
    assert column is not None
    return float(sense.low_volts[column, HELD])


def test_a_constant_current_drops_by_the_plain_sum() -> None:
    """[X] 0.5 A over 4.68 ohm: 2.34 V."""
    outcome = _door(
        MAGNET,
        _run("reader", 60.0, "0.5", cores=4, ohm_per_km=39.0),
        reader="{part: reader, current: 0.5 A}",
    )[Case.NOMINAL]
    assert _reader_v(outcome) == pytest.approx(13.8 - 2.34, abs=CLOSE_V)


@pytest.mark.parametrize(
    ("nominal", "amps", "area", "metres"),
    [
        ("12 V", 0.5, "0.5", 15.4),
        ("12 V", 0.5, "0.75", 23.1),
        ("12 V", 0.5, "1.0", 30.8),
        ("12 V", 0.5, "1.5", 45.1),
        ("24 V", 0.25, "0.5", 61.5),
        ("24 V", 0.25, "0.75", 92.3),
        ("24 V", 0.25, "1.0", 123.1),
        ("24 V", 0.25, "1.5", 180.5),
    ],
)
def test_the_longest_run_for_five_per_cent(
    nominal: str, amps: float, area: str, metres: float
) -> None:
    """[X] 2 L r I = 0.05 V0, class 5 at its table maximum."""
    volts = float(nominal.split()[0])
    outcome = _door(
        f"magnet {nominal}",
        _run("reader", metres, area, cores=4, ohm_per_km=CLASS_5[area]),
        gives=nominal,
        nominal=nominal,
        reader=f"{{part: reader, current: {amps} A}}",
        battery="",
    )[Case.NOMINAL]
    assert _reader_v(outcome) == pytest.approx(0.95 * volts, abs=CLOSE_V)


def test_no_lock_of_ten_per_cent_surely_works_at_the_batterys_end() -> None:
    """[X] 10.5 V is under 12 V - 10 % = 10.8 V, with no cable to speak of. End of discharge at
    1.75 V a cell: trade handbook, from memory."""
    strike = _coil(STRIKE, 48.0, ", works from: 10.8 V, works up to: 13.2 V")
    outcome = _door(strike, _run("lock", 0.1, "1.5"))[Case.NOMINAL]
    assert outcome.locks[0].picks_v == pytest.approx(10.8)
    assert _lock_v(outcome, Power.BATTERY_END, Event.CREDENTIAL) == pytest.approx(10.5, abs=CLOSE_V)
    assert _lock_state(outcome, Power.BATTERY_END, Event.CREDENTIAL) is LockState.MARGINAL
    assert _lock_state(outcome, Power.MAINS, Event.CREDENTIAL) is LockState.UNLOCKED


@pytest.mark.parametrize(("metres", "picks"), [(18.0, True), (19.0, False)])
def test_a_strike_at_85_per_cent_lives_on_three_tenths_of_a_volt(
    metres: float, picks: bool
) -> None:
    """[X] 85 % of 12 V is 10.2 V (ANSI/BHMA A156.31, seen in a copy). From 10.5 V a 48 ohm strike
    has it as long as the loop is at most 48 x (10.5 / 10.2 - 1) = 1.41 ohm: 18.1 m of 0.5 mm²."""
    runs = _run("lock", metres, "0.5", ohm_per_km=39.0)
    outcome = _door(_coil(STRIKE, 48.0), runs)[Case.NOMINAL]
    lock = outcome.locks[0]
    assert lock.picks_v == pytest.approx(10.2)
    assert (_lock_v(outcome, Power.BATTERY_END, Event.CREDENTIAL) >= 10.2) is picks
    state = _lock_state(outcome, Power.BATTERY_END, Event.CREDENTIAL)
    assert state is (LockState.UNLOCKED if picks else LockState.MARGINAL)
