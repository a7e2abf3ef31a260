"""What a controller does with credentials, exit requests, tamper and power."""

from __future__ import annotations

from latchwork.elements import Sense, Timer, TimerMode
from latchwork.parts import Part, catalogue
from tests.parts.deciding import closed, settled, timer

# A live unit whose inputs are open: EXIT and CONTACT stand high.
LIVE = {"powered": True, "EXIT_high": True, "CONTACT_high": True}


def named(name: str) -> Part:
    return catalogue().find(name).resolve()


def test_at_rest_its_relay_rests() -> None:
    flags = settled(named("controller"), **LIVE)
    assert not flags["granted"]
    assert closed(named("controller"), flags) == {"NC", "TAMPER"}


def test_a_code_grants() -> None:
    part = named("controller")
    flags = settled(part, **LIVE, credential=True)
    assert flags["granted"]
    assert closed(part, flags) == {"NO", "TAMPER"}


def test_an_exit_request_grants_when_exit_is_closed_to_ground() -> None:
    part = named("controller")
    assert settled(part, **{**LIVE, "EXIT_high": False})["relay"]


def test_an_exit_that_acts_on_open() -> None:
    part = named("controller, exit acts on open")
    assert not settled(part, **{**LIVE, "EXIT_high": False})["relay"]
    assert settled(part, **LIVE)["relay"]


def test_without_power_nothing_grants_and_the_relay_drops() -> None:
    for name in ("controller", "controller, relay energised when idle"):
        part = named(name)
        flags = settled(part, credential=True)
        assert not flags["granted"]
        assert closed(part, flags) == {"NC", "TAMPER"}


def test_an_inverted_relay_is_energised_at_rest() -> None:
    part = named("controller, relay energised when idle")
    assert "NO" in closed(part, settled(part, **LIVE))
    assert "NC" in closed(part, settled(part, **LIVE, credential=True))


def test_what_an_open_case_refuses() -> None:
    pressed = {**LIVE, "EXIT_high": False}
    nothing, codes, everyone = (
        named("controller"),
        named("keypad, outdoor"),
        named("controller, tamper refuses everyone"),
    )
    for part, code, leaving in (
        (nothing, True, True),
        (codes, False, True),
        (everyone, False, False),
    ):
        assert settled(part, **LIVE, case_open=True, credential=True)["relay"] is code
        assert settled(part, **pressed, case_open=True)["relay"] is leaving
        assert "TAMPER" not in closed(part, settled(part, **LIVE, case_open=True))


def test_what_a_lock_out_refuses() -> None:
    pressed = {**LIVE, "EXIT_high": False}
    part = named("controller")
    assert not settled(part, **LIVE, locked_out=True, credential=True)["relay"]
    assert settled(part, **pressed, locked_out=True)["relay"]
    part = named("controller, lock-out refuses everyone")
    assert not settled(part, **pressed, locked_out=True)["relay"]


# The second half of a frame: D0 was low while D1 was high, now it is the other way round.
SENT = {**LIVE, "zeros": True, "D0_high": True, "D1_high": False}


def test_a_reader_port_reads_when_each_line_is_low_while_the_other_is_high() -> None:
    """A frame is pulses on one of two lines, never on both (SIA AC-01)."""
    part = named("controller, reader outside")
    idle = {**LIVE, "D0_high": True, "D1_high": True}
    assert not settled(part, **idle)["relay"]
    first = settled(part, **{**idle, "D0_high": False})
    assert first["zeros"]
    assert not first["relay"]
    assert settled(part, **SENT)["relay"]
    assert not settled(part, **{**idle, "D1_high": False})["relay"]
    assert not settled(part, **{**idle, "D0_high": False, "D1_high": False})["relay"]
    over = settled(part, **{**SENT, "ones": True, "D1_high": True})
    assert not over["zeros"]
    assert not over["ones"]


def test_a_tamper_loop_through_the_reader() -> None:
    part = named("controller, reader outside, tamper loop")
    read = SENT
    assert settled(part, **read, TAMPER_high=False)["relay"]
    assert not settled(part, **read, TAMPER_high=True)["relay"]


def test_two_ways_work_apart() -> None:
    part = named("controller, two doors")
    idle = {"powered": True} | {
        f"{line}_high": True for line in ("EXIT", "EXIT2", "D0", "D1", "D0_2", "D1_2")
    }
    first = settled(part, **{**idle, "zeros": True, "D1_high": False})
    assert closed(part, first) == {"NO", "NC2"}
    second = settled(part, **{**idle, "EXIT2_high": False})
    assert closed(part, second) == {"NC", "NO2"}


def test_a_timed_unlock_holds_and_may_be_forgotten() -> None:
    part = named("controller")
    assert settled(part, **LIVE, timed_unlock=True)["relay"]
    part = named("controller, forgets timed unlock")
    assert settled(part, **LIVE, timed_unlock=True)["relay"]
    assert settled(part, timed_unlock=True)["forgot_timed"]
    assert not settled(part, **LIVE, timed_unlock=True, forgot_timed=True)["relay"]


def test_edge_and_level_exit() -> None:
    assert timer(named("controller"), "exit_grant") is TimerMode.ON_RISE
    assert timer(named("controller, level exit"), "exit_grant") is TimerMode.WHILE


def test_a_stuck_exit_button_does_not_spoil_codes() -> None:
    part = named("controller")
    starts = {r.flag: r.start for r in part.rules if isinstance(r, Timer)}
    assert starts.keys() == {"code_grant", "exit_grant"}


def test_a_unit_starts_above_where_it_stops() -> None:
    for spec in catalogue().specs():
        for rule in spec.resolve().rules:
            if isinstance(rule, Sense) and rule.flag == "powered":
                assert rule.off_v.value < rule.on_v.value, spec.name


def test_a_bell_key_closes_the_bell_contact() -> None:
    part = named("controller")
    assert "BELL" in closed(part, settled(part, **LIVE, door_bell_pressed=True))
    assert "BELL" not in closed(part, settled(part, door_bell_pressed=True))


def test_relay_time_said_in_a_job() -> None:
    from tests.parts.test_locks import said

    part = catalogue().find("controller").resolve({"relay time": said(8.0, "s")})
    assert {r.seconds.value for r in part.rules if isinstance(r, Timer)} == {8.0}
