"""The verbs as a new client's manager and as a fitter use them."""

from __future__ import annotations

import datetime as dt
import json
import os
import re
import threading
import time
import zoneinfo
from collections.abc import Callable, Iterator
from importlib.resources import files
from pathlib import Path
from unittest import mock

import click
import openpyxl
import pytest
from click.testing import CliRunner, Result

from latchwork.cli.codes import VERBS, codes
from latchwork.cli.codes.common import told
from latchwork.cli.keypad import keypad
from latchwork.codes.keypad.shelf import shipped_grammars
from latchwork.codes.store.sealed import NAME, open_store
from tests.codes.stores import FITTER, OFFICE, quick_stretch

JOB = """latchwork: 1
site: {name: Fernhill sail loft, time zone: Europe/Berlin}
usual: {power lost: stays locked, fire alarm: stays locked, out by: lever}
supplies: {S1: {part: supply 24 V, limit: 5.0 A}}
doors:
  D1: {name: Street door, supply: S1, lock: strike 24 V fail-secure, controller: controller}
  D2: {name: Archive, supply: S1, lock: strike 24 V fail-secure, controller: controller}
  D3: {name: Loft, supply: S1, lock: strike 24 V fail-secure, controller: controller}
"""
Run = Callable[..., Result]


@pytest.fixture
def job(tmp_path: Path) -> Path:
    folder = tmp_path / "loft"
    folder.mkdir()
    (folder / "job.yaml").write_text(JOB, encoding="utf-8")
    return folder


@pytest.fixture
def run(job: Path) -> Iterator[Run]:
    """Runs a verb; fails the test on any exit code but the one expected."""

    def call(verb: str, *words: str, code: int = 0, secret: str = OFFICE.reveal()) -> Result:
        command = keypad if verb == "keypad" else codes
        arguments = [str(job), *words] if verb == "keypad" else [verb, str(job), *words]
        env = {"LATCHWORK_PASSPHRASE": secret, "LATCHWORK_NEW_PASSPHRASE": FITTER.reveal()}
        result = CliRunner().invoke(command, arguments, env=env)
        assert result.exit_code == code, result.output + repr(result.exception)
        return result

    no_ring = mock.patch("keyring.get_keyring", side_effect=_no_ring)
    with quick_stretch(), no_ring:
        yield call


def _no_ring() -> object:
    from keyring.backends import fail

    return fail.Keyring()  # type: ignore[no-untyped-call]  # the library has no types here


def workbook(path: Path) -> None:
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.append(["Name", "Groups", "PIN", "Card"])
    first = ["Mara", "Tilo", "Enna", "Juro", "Sefa", "Oskin", "Lia", "Brand", "Wenke", "Ruda"]
    names = [f"{f} {last}" for f in first for last in ["Quill", "Harrow", "Stent", "Olm"]]
    for i, name in enumerate(names):
        sheet.append([name, "keepers" if i % 8 == 0 else "staff", "yes", f"45,{12000 + i}"])
    book.save(path)


@pytest.fixture
def furnished(run: Run, job: Path, tmp_path: Path) -> Run:
    """A store with forty people of a workbook and three controllers set up."""
    run("new", "--holder", "Office")
    run("times", "office hours", "mon-fri 07:00-19:00")
    run("group", "staff", "--door", "Street door=office hours", "--door", "D3=office hours")
    run("group", "keepers", "--door", "*")
    workbook(tmp_path / "people.xlsx")
    shown = run("import", str(tmp_path / "people.xlsx"))
    assert "40 new" in shown.output
    assert open_store(job, OFFICE).register.people == {}, "shown first"
    run("import", str(tmp_path / "people.xlsx"), "--write")
    run("controller", "D1", "--grammar", "letter pairs", "--set", "relay 1 time=7")
    run("controller", "Archive", "--grammar", "menus", "--set", "reader format=26")
    run("controller", "D3", "--grammar", "case button", "--master-card", "8123456")
    return run


def secrets_of(job: Path) -> set[str]:
    register = open_store(job, OFFICE).register
    found = {p.reveal() for p in register.pins.values()}
    return found | {c.reveal() for (_, kind), c in register.codes.items() if kind != "master card"}


def test_from_a_spreadsheet_to_sheets_then_a_lost_card_and_two_leavers(
    furnished: Run, job: Path
) -> None:
    run = furnished
    for door, places in (("D1", 40), ("Archive", 5), ("D3", 80)):
        sheet = run("keypad", door, "--show-codes").output
        assert f"({places} taken)" in re.sub(r"\s+", " ", sheet)
        run("keypad", door, "--done")
        assert "Nothing to key in" in run("keypad", door).output
    assert "already" in run("keypad", "D1", "--done", code=2).output

    lost = run("lost", "45,12002", "--new", "45,13001").output
    assert "D1.controller (Street door)" in lost
    left = run("remove", "Tilo Olm", "Mara Quill", "--why", "left the firm").output
    assert left.count("D1.controller") == 4  # named, and in the verb to key it
    assert left.count("D2.controller") == 2
    who = run("who", "Archive", "friday 19:00").output
    assert "Mara Quill · could all the same · still keyed in" in who

    sheet = run("keypad", "D1").output
    steps = re.findall(r"^ +(\d+)  (\S.*)$", sheet, re.MULTILINE)
    assert len(steps) == 6, "opening, two places deleted, the card out and in, leaving"
    run("keypad", "D1", "--stopped-after", "3")
    rest = run("keypad", "D1").output
    assert len(re.findall(r"^ +(\d+)  (\S.*)$", rest, re.MULTILINE)) == 4
    run("keypad", "D1", "--done")
    run("keypad", "Archive")
    run("keypad", "Archive", "--done")
    assert "Mara" not in run("who", "Archive", "friday 19:00").output


def test_steps_are_counted_on_the_sheet_that_was_printed(furnished: Run, job: Path) -> None:
    # Two stops on one sheet of paper: the second number is the paper's too, not the rest's.
    run = furnished
    paper = json.loads(run("keypad", "D1", "--json").output)
    people = [i for i, step in enumerate(paper["steps"], 1) if step["person"]]
    assert people[0] > 4
    run("keypad", "D1", "--stopped-after", "3")
    run("keypad", "D1", "--stopped-after", str(people[0]))
    held = open_store(job, OFFICE).register.programmed["D1.controller"].users
    assert len(held) == 1, "the paper's first step that gives somebody a place"
    rest = json.loads(run("keypad", "D1", "--json").output)
    assert rest["sheet"] == paper["sheet"] + 1, "other steps, so another number"
    assert sum(bool(step["person"]) for step in rest["steps"]) == len(people) - 1
    assert json.loads(run("keypad", "D1", "--json").output)["sheet"] == rest["sheet"]
    run("keypad", "D1", "--done")
    assert "already" in run("keypad", "D1", "--done", code=2).output
    assert "already" in run("keypad", "D1", "--stopped-after", "2", code=2).output


def test_a_leaver_is_found_by_name_as_long_as_anything_stands_somewhere(furnished: Run) -> None:
    """Days after, at the door: is he out? It said that nobody is called so."""
    run = furnished
    run("keypad", "D1")
    run("keypad", "D1", "--done")
    run("remove", "Tilo Olm", "--why", "left")
    told = " ".join(run("find", "tilo olm").output.split())
    assert "Tilo Olm (P" in told
    assert re.search(r"D1\.controller \(Street door\): place \d+ holds their PIN", told)
    run("keypad", "D1")
    run("keypad", "D1", "--done")
    assert "none holds anything of theirs" in run("find", "Tilo Olm").output
    # Another one of that name is shown beside him.
    run("add", "Tilo Olm", "--group", "staff", "--pin")
    told = run("find", "Tilo Olm").output
    assert "in the register no more" in told
    assert "groups: staff" in told


def test_the_list_of_controllers_says_which_want_a_sheet_today(furnished: Run) -> None:
    """Nobody changes anything on the first day of a tenant: only the list can tell of it."""
    run = furnished
    run("keypad", "D1")
    run("keypad", "D1", "--done")

    def wants() -> bool:
        (line,) = [x for x in run("controller").output.splitlines() if x.startswith("D1.")]
        return "a sheet is wanted" in line

    assert not wants()
    first = dt.datetime.now(dt.UTC).date() + dt.timedelta(days=3)
    run("add", "Runa Teal", "--group", "staff", "--pin", "--from", f"{first}")
    assert not wants()
    with mock.patch("latchwork.cli.codes.controllers.today", return_value=first):
        assert wants()


def test_a_sheet_is_confirmed_by_its_number(furnished: Run, job: Path) -> None:
    run = furnished
    run("keypad", "D1")
    run("remove", "Tilo Olm", "--why", "left")
    second = " ".join(run("keypad", "D1").output.split())
    assert "sheet 1 was printed before and nobody said" in second
    assert "sheet 2 was printed" not in second
    assert "printed and not confirmed: sheet 1, 2" in run("controller").output
    who = " ".join(run("who", "D1").output.split())
    assert "Sheet 1 of D1.controller was printed" in who
    assert "Sheet 2 of D1.controller was printed" in who
    assert "--done" in run("keypad", "D1", "--sheet", "1", code=2).output
    both = ("keypad", "D1", "--done", "--stopped-after", "2")
    assert "give one" in run(*both, code=2).output
    assert "expected 1 to 2" in run("keypad", "D1", "--done", "--sheet", "7", code=2).output
    told = " ".join(run("keypad", "D1", "--done", "--sheet", "1").output.split())
    assert "holds what sheet 1 says" in told
    assert "Sheet 2 begins with what D1.controller held before" in told
    # Every controller has a sheet 1: the log says whose it was.
    assert open_store(job, OFFICE).entries[-1].why == "sheet 1 of D1.controller keyed in"
    assert "another sheet was confirmed" in run("keypad", "D1", "--done", code=2).output
    rest = json.loads(run("keypad", "D1", "--json").output)
    assert (rest["sheet"], rest["begins"]) == (3, "confirmed")
    assert [s["person"] for s in rest["steps"] if s["person"]] == ["Tilo Olm"]


def test_no_code_is_shown_unasked(furnished: Run, job: Path, tmp_path: Path) -> None:
    run = furnished
    page = tmp_path / "sheet.html"
    outputs = [
        run("keypad", "D1", "--page", str(page)).output,
        run("keypad", "Archive", "--json").output,
        run("find", "Mara Quill").output,
        run("find", "Mara Quill", "--json").output,
        run("list").output,
        run("log").output,
        run("odds", code=1).output,
        run("who", "Archive", "now").output,
        run("controller").output,
        page.read_text(),
    ]
    for secret in secrets_of(job):
        spaced = re.compile(r"\s*".join(secret))
        for output in outputs:
            # Long figures in the text could hold four digits by chance: codes are 6 or 8 long.
            assert not spaced.search(output)
    shown = run("find", "Mara Quill", "--show-codes").output
    assert open_store(job, OFFICE).register.pins["P1"].reveal() in shown


def test_a_page_to_print_is_for_its_owner_only(furnished: Run, tmp_path: Path) -> None:
    page = tmp_path / "sheet.html"
    furnished("keypad", "D1", "--show-codes", "--page", str(page))
    assert page.stat().st_mode & 0o077 == 0
    text = page.read_text()
    assert text.count("<li><span") == text.count('class="tick"')
    assert "<script" not in text


def test_a_page_fits_a_phone_and_lists_harms_below_their_step(
    furnished: Run, tmp_path: Path
) -> None:
    """Without a viewport a phone lays it out as wide as a desk and shows it small."""
    page = tmp_path / "sheet.html"
    output = furnished("keypad", "D1", "--page", str(page)).output
    text = page.read_text()
    assert '<meta name="viewport" content="width=device-width">' in text
    assert re.search(r"unnoticed:<ul><li>a wrong key", text)
    assert re.search(r"^    – a wrong key", output, re.MULTILINE)


def test_names_are_text_and_nothing_else(furnished: Run, tmp_path: Path) -> None:
    furnished("add", "<b>Zoë</b> \u202eevil", "--group", "keepers", "--pin", code=2)
    furnished("holiday", "2027-12-25", "--name", "x\x1b[2J", code=2)
    furnished("add", "<b>Zoë & 花子</b>", "--group", "keepers", "--pin")
    page = tmp_path / "sheet.html"
    output = furnished("keypad", "D1", "--page", str(page)).output
    assert "<b>Zoë & 花子</b>" in output
    assert "&lt;b&gt;Zoë &amp; 花子&lt;/b&gt;" in page.read_text()


def test_no_option_takes_a_passphrase_as_text() -> None:
    verbs = [codes.get_command(click.Context(codes), name) for name in VERBS]
    options = [p for v in (*verbs, keypad) if v for p in v.params if "passphrase" in (p.name or "")]
    assert options
    for option in options:
        assert isinstance(option.type, type(click.INT)), option.name


def test_a_passphrase_that_comes_in_pieces(job: Path, run: Run) -> None:
    run("new")
    ours, theirs = os.pipe()
    half = len(OFFICE.reveal()) // 2

    def slowly() -> None:
        os.write(theirs, OFFICE.reveal()[:half].encode())
        time.sleep(0.3)
        os.write(theirs, OFFICE.reveal()[half:].encode())
        os.close(theirs)

    writer = threading.Thread(target=slowly)
    writer.start()
    run("list", "--passphrase-fd", str(ours), secret="not this one at all")
    writer.join()
    os.close(ours)


def test_a_passphrase_from_a_descriptor(run: Run, job: Path) -> None:
    run("new")
    ours, theirs = os.pipe()
    os.write(theirs, OFFICE.reveal().encode() + b"\n")
    os.close(theirs)
    output = run("list", "--passphrase-fd", str(ours), secret="not this one at all").output
    os.close(ours)
    assert "Nobody is in the store yet" in output
    assert "no passphrase could be read" in run("list", "--passphrase-fd", "99", code=2).output


def test_the_environment_does_not_pass_it_on(run: Run) -> None:
    run("new")
    seen: dict[str, str] = {}
    with mock.patch("latchwork.codes.store.sealed.open_store") as opening:
        opening.side_effect = lambda *_: (
            seen.update(os.environ) or (_ for _ in ()).throw(SystemExit)
        )
        CliRunner().invoke(codes, ["list", "x"], env={"LATCHWORK_PASSPHRASE": "secret words"})
    assert "LATCHWORK_PASSPHRASE" not in seen


def test_wrong_passphrases_and_missing_stores_are_said(run: Run, job: Path) -> None:
    assert "has no store of codes yet" in run("list", code=2).output
    run("new")
    assert "wrong passphrase" in run("list", code=2, secret="something else").output
    assert "has a store of codes already" in run("new", code=2).output
    (job / NAME).write_bytes((job / NAME).read_bytes()[:-9])
    assert "is torn" in run("list", code=2).output


def test_holders_come_and_go(run: Run, job: Path) -> None:
    run("new")
    run("holder-add", "Fitter", "--why", "keys in")
    assert "H2   Fitter  *" in run("holders", "--as", "Fitter", secret=FITTER.reveal()).output
    (job / "backup.sealed").write_bytes((job / NAME).read_bytes())
    output = run("holder-withdraw", "Fitter", "--why", "left").output
    assert "Removed an earlier copy: backup.sealed" in output
    assert "wrong passphrase" in run("list", code=2, secret=FITTER.reveal()).output
    assert "no key ring" in run("open", code=2).output
    run("passphrase", "--why", "was seen")
    run("list", secret=FITTER.reveal())


def test_every_change_needs_a_reason(furnished: Run) -> None:
    assert "--why" in furnished("remove", "Mara Quill", code=2).output


def test_an_unexpected_error_passes_on_no_text(run: Run, job: Path) -> None:
    run("new")
    with mock.patch("latchwork.cli.codes.look.site_of", side_effect=KeyError("730264")):
        result = CliRunner().invoke(
            codes, ["find", str(job), "x"], env={"LATCHWORK_PASSPHRASE": OFFICE.reveal()}
        )
    assert isinstance(result.exception, RuntimeError)
    assert "730264" not in str(result.exception)
    assert "KeyError in" in str(result.exception)
    assert result.exception.__cause__ is None
    assert result.exception.__suppress_context__


def test_practising(furnished: Run, job: Path) -> None:
    sheet = furnished("keypad", "Archive", "--json", "--show-codes")
    steps = json.loads(sheet.output)["steps"]
    names = {"▲": "a", "▼": "b", "◄": "c", "✓": "d"}
    cards = iter([45 << 16 | 12000 + i for i in (0, 8, 16, 24, 32)])
    lines = []
    for step in steps:
        words = [
            f"card {next(cards)}" if k.startswith("(") else names.get(k, k) for k in step["keys"]
        ]
        lines.append(" ".join(words))
    env = {"LATCHWORK_PASSPHRASE": OFFICE.reveal()}
    right = CliRunner().invoke(
        keypad, [str(job), "Archive", "--practise"], env=env, input="\n".join([*lines, "end", ""])
    )
    assert right.exit_code == 0, right.output
    assert "Exactly as meant" in right.output
    env = {"LATCHWORK_PASSPHRASE": OFFICE.reveal()}
    slip = CliRunner().invoke(
        keypad, [str(job), "Archive", "--practise"], env=env, input="\n".join([*lines[:-2], "end"])
    )
    assert slip.exit_code == 1
    assert "Not as meant: place 5, programming is still open" in slip.output


def test_whoever_has_read_enough_is_no_mistake_of_ours() -> None:
    with pytest.raises(BrokenPipeError), told():
        raise BrokenPipeError
    with pytest.raises(RuntimeError, match="ValueError in"), told():
        raise ValueError("4092")


def test_card_verbs() -> None:
    def card(*words: str, code: int = 0) -> str:
        result = CliRunner().invoke(codes, words)
        assert result.exit_code == code, result.output
        return result.output

    assert "facility 45, number 12345 (26-bit)" in card("card-read", "0x05A6073")
    swapped = card("card-read", "26", "bits", "0x3A59F8C", code=1)
    assert "data wires are swapped: with them put right it reads facility 45" in swapped
    assert "parity is wrong at bit 26" in card("card-read", "0x05A6072", code=1)
    printed = card("card-print", "0x0600BC614E")
    assert "0025782149454" in printed
    assert "FF818005F0C1A7B8" in printed
    pairs = ["45 12345=26 bits 0x05A6073", "45 12377=26 bits 0x05A60B3"]
    assert "26-bit" in card("card-layout", *pairs)
    assert "No layout explains" in card("card-layout", "1=26 bits 9", "3=26 bits 5", code=1)
    assert "the nearest is 26-bit" in card("card-read", "1", "--layout", "26bit", code=2)


def test_grammars_are_listed_and_checked(tmp_path: Path) -> None:
    listed = CliRunner().invoke(codes, ["grammars"]).output
    assert "letter pairs" in listed
    (tmp_path / "g.yaml").write_text("latchwork grammar: 1\nname: x\n")
    result = CliRunner().invoke(codes, ["grammars", str(tmp_path / "g.yaml")])
    assert result.exit_code == 2
    assert "signals.error" in result.output


def test_odds_warn_and_propose(furnished: Run) -> None:
    output = furnished("odds", code=1).output
    assert "D1.controller · the PIN alone opens" in output
    assert "D2.controller · a card comes first" in output
    assert "8 digits and a lock-out of" in output
    assert "6 digits can carry at least" in output


def test_a_setting_that_came_with_another_grammar_is_named(run: Run, job: Path) -> None:
    run("new")
    run("controller", "D1", "--grammar", "letter pairs", "--set", "relay 1 time=60")
    case = ("controller", "D1", "--grammar", "case button", "--master-card", "8123456")
    before = (job / NAME).read_bytes()
    told = run(*case, code=2).output
    # As the two grammars are written: 1 to 99 s, and 1 to 9 s.
    assert "D1.controller" in told
    assert "relay 1 time is 1 to 9 s, not '60'" in told
    assert (job / NAME).read_bytes() == before
    run(*case, "--set", "relay 1 time=9")
    # It opens by card or PIN or both, and has no key for several people.
    told = run("controller", "D1", "--set", "access mode=several people", code=2).output
    assert "access mode is " in told
    assert "not 'several people'" in told
    run("keypad", "D1")


def test_a_name_that_is_there_already_is_told(run: Run) -> None:
    """Two people may be called alike, so it is no mistake; a person entered twice is a ghost that
    keeps a way in (common practice, no source)."""
    run("new")
    assert "before" not in run("add", "Mara Quill").output
    assert "was in the register before, as P1." in run("add", "mara  quill").output


def test_doors_of_one_name_are_told_apart(run: Run, job: Path) -> None:
    """A name that two doors have says nothing of which a group may open."""
    text = JOB.replace("name: Loft", "name: archive")
    (job / "job.yaml").write_text(text, encoding="utf-8")
    run("new")
    run("group", "staff", "--door", "D2", "--door", "D3", "--door", "D1")
    listed = run("group").output
    assert "D2 Archive (always), D3 archive (always), Street door (always)" in listed
    assert "D3 archive, " in run("who", "D3").output


def test_a_sheet_that_cannot_be_made_leaves_the_store_as_it_was(run: Run, job: Path) -> None:
    run("new")
    run("group", "staff", "--door", "D1")
    run("add", "Mara Quill", "--group", "staff", "--pin")
    run("controller", "D1", "--grammar", "letter pairs")
    # The grammar takes 0 to 9 wrong attempts.
    lock_out = "D1: {name: Street door, supply: S1, lock: strike 24 V fail-secure, "
    text = JOB.replace(
        f"{lock_out}controller: controller}}",
        f"{lock_out}controller: {{part: controller, lock-out after: 40, lock-out time: 90 s}}}}",
    )
    assert text != JOB
    (job / "job.yaml").write_text(text, encoding="utf-8")
    before = (job / NAME).read_bytes()
    told = run("keypad", "D1", code=2).output
    assert "D1.controller" in told
    assert "wrong attempts is 0 to 9, not '40'" in told
    assert (job / NAME).read_bytes() == before


def test_a_last_day_that_two_figures_cannot_say_holds_up_nobody(furnished: Run) -> None:
    # "For ever", as lists of staff write it: 2099 is the last year that DDMMYY says.
    furnished("change", "Mara Quill", "--until", "9999-12-31", "--why", "for ever")
    sheet = furnished("keypad", "D1").output
    assert "9999-12-31) is not kept here: Mara Quill" in " ".join(sheet.split())
    assert "(40 taken)" in " ".join(sheet.split())


@pytest.mark.parametrize("name", ["", " ", "a\nb", "a\x1b[31m"])
def test_names_and_reasons_are_one_printable_line(run: Run, job: Path, name: str) -> None:
    run("new")
    before = (job / NAME).read_bytes()
    for words in (
        ("times", name, "mon 08:00-09:00"),
        ("group", name, "--door", "D1"),
        ("holder-add", name, "--why", "a spare key"),
        ("add", name),
    ):
        if "\n" not in name:
            assert "expected 1 to 200 printable" in run(*words, code=2).output
    if "\x1b" in name:
        assert "not a reason" in run("add", "Mara Quill", "--why", name, code=2).output
    assert (job / NAME).read_bytes() == before
    run("add", "Mara Quill", "--why", "joins\n2026-01-01 00:00  Office: all was well")
    assert run("log").output.count("\n") == 2, "two entries, two lines"


def test_no_weekly_times_are_called_always(run: Run, job: Path) -> None:
    # Doors given without hours, or with "always", are open to the group for ever.
    run("new")
    before = (job / NAME).read_bytes()
    for name in ("always", " Always"):
        told = run("times", name, "mon-fri 08:00-18:00", code=2).output
        assert "choose another name" in told
    assert (job / NAME).read_bytes() == before


def test_find_tells_what_keeps_somebody_out_and_what_is_keyed_in(run: Run, job: Path) -> None:
    text = JOB.replace("controller: controller", "controller: {part: controller, user places: 1}")
    (job / "job.yaml").write_text(text, encoding="utf-8")
    run("new")
    run("group", "staff", "--door", "D1")
    run("controller", "D1", "--grammar", "letter pairs")
    run("add", "Mara Quill", "--group", "staff", "--pin")
    run("keypad", "D1")
    assert "place 1 · not keyed in yet" in run("find", "Mara").output
    run("keypad", "D1", "--done")
    assert "place 1\n" in run("find", "Mara").output
    run("remove", "Mara Quill", "--why", "left")
    run("add", "Tilo Olm", "--group", "staff", "--pin", "--from", "2026-01-05")
    run("keypad", "D1")
    # The one place there is holds Mara's PIN still.
    assert "place 1 · not keyed in yet" in run("find", "Tilo").output
    run("suspend", "Tilo", "--why", "trouble")
    assert "P2 Tilo Olm · from 2026-01-05 · suspended\n" in run("find", "Tilo").output
    assert "from 2026-01-05 · suspended" in run("list").output


def test_a_number_that_two_cards_bear_finds_both(run: Run) -> None:
    run("new")
    run("add", "Mara Quill", "--card", "45,12002")
    run("add", "Tilo Olm", "--card", "46,12002")
    told = run("find", "12002", code=2).output
    assert "45,12002 (Mara Quill), 46,12002 (Tilo Olm)" in told
    run("lost", "45,12002")
    assert "Mara Quill has no card" in run("lost", "Mara Quill", code=2).output
    told = run("find", "12002").output
    assert "45,12002 was lost; Mara Quill had it.\n  no controller: none holds anything" in told
    assert "P2 Tilo Olm" in told


def test_where_it_takes_several_people_who_says_so(run: Run) -> None:
    run("new")
    run("group", "staff", "--door", "D1")
    run("add", "Mara Quill", "--group", "staff", "--pin")
    run("add", "Tilo Olm", "--group", "staff", "--pin")
    several = ("--set", "access mode=several people", "--set", "people needed=2")
    run("controller", "D1", "--grammar", "letter pairs", *several)
    # Nothing is confirmed yet: what it asks for is not known.
    assert "together" not in run("who", "D1").output
    run("keypad", "D1")
    run("keypad", "D1", "--done")
    told = " ".join(run("who", "D1").output.split())
    assert "to open for 2 people together only: nobody named here opens it alone" in told
    assert json.loads(run("who", "D1", "--json").output)["answers"][0]["together"] == 2
    run("controller", "D1", "--set", "people needed=1")
    run("keypad", "D1")
    run("keypad", "D1", "--done")
    assert "together" not in run("who", "D1").output


def test_of_a_full_controller_a_lost_card_is_keyed_out_all_the_same(run: Run, job: Path) -> None:
    text = JOB.replace("controller: controller", "controller: {part: controller, user places: 1}")
    (job / "job.yaml").write_text(text, encoding="utf-8")
    run("new")
    run("group", "staff", "--door", "D1")
    run("controller", "D1", "--grammar", "letter pairs")
    (job / "two.csv").write_text("name,groups,pin\nMara Quill,staff,yes\nTilo Olm,staff,yes\n")
    shown = " ".join(run("import", str(job / "two.csv")).output.split())
    assert "none is left for Tilo Olm" in shown, "before anything is done"
    run("add", "Mara Quill", "--group", "staff", "--pin", "--card", "45,12001")
    told = " ".join(run("add", "Tilo Olm", "--group", "staff", "--pin").output.split())
    assert "D1.controller is full (places 1 to 1): none is left for Tilo Olm" in told
    run("keypad", "D1")
    run("keypad", "D1", "--done")
    run("lost", "45,12001")
    assert "whoever has the card they lost" in run("who", "D1").output
    sheet = " ".join(run("keypad", "D1").output.split())
    assert "of the places 1 to 1 none is left for Tilo Olm" in sheet
    run("keypad", "D1", "--done")
    told = run("who", "D1").output
    assert "whoever has the card they lost" not in told
    assert "Tilo Olm · may · left out of the sheet, as no place is left" in told
    assert "D2.controller: no grammar" in run("odds", code=1).output, "told of every controller"


@pytest.mark.parametrize("broken", ["job.yaml", "grammars/mine.yaml", "layouts.yaml"])
def test_nothing_is_saved_where_a_file_of_the_job_cannot_be_read(
    furnished: Run, job: Path, broken: str
) -> None:
    if broken.startswith("grammars"):
        (job / "grammars").mkdir()
        shipped = files("latchwork.codes.data") / "grammars" / "case-button.yaml"
        text = shipped.read_text(encoding="utf-8").replace("name: case button", "name: mine")
        (job / broken).write_text(text, encoding="utf-8")
        furnished("controller", "D3", "--grammar", "mine")
    (job / broken).write_text("doors: [", encoding="utf-8")
    before = (job / NAME).read_bytes()
    for words in (
        ("add", "Ruda Stent", "--group", "staff"),
        ("change", "Mara Quill", "--group", "staff", "--why", "moves"),
        ("suspend", "Mara Quill", "--why", "trouble"),
        ("times", "office hours", "mon-fri 08:00-18:00"),
        ("holiday", "2026-12-25"),
    ):
        told = furnished(*words, code=2).output
        assert Path(broken).name in told
        assert "Saved" not in told
        assert "in the register" not in told
        assert (job / NAME).read_bytes() == before


def test_a_card_that_is_found_after_its_owner_left_tells_whose_it_was(run: Run) -> None:
    run("new")
    run("add", "Mara Quill", "--card", "45,12001")
    told = run("remove", "Mara Quill", "P1", "--why", "left").output
    assert told.count("is removed") == 1
    assert "was Mara Quill's, who left" in run("find", "45,12001").output
    run("add", "Tilo Olm", "--card", "45,12001")
    told = run("find", "45,12001").output
    assert "Tilo Olm" in told
    assert "who left" not in told


def test_settings_are_checked(furnished: Run) -> None:
    assert "1 to 99 s" in furnished("controller", "D1", "--set", "relay 1 time=0", code=2).output
    assert "the nearest is" in furnished("controller", "D1", "--set", "relay time=1", code=2).output
    assert (
        "one of pulse, toggle"
        in furnished("controller", "D1", "--set", "relay 1 mode=x", code=2).output
    )
    assert "no controller is called" in furnished("keypad", "D9", code=2).output


def test_the_programming_card_is_one_that_nobody_has(furnished: Run, job: Path) -> None:
    """The open 26-bit layout: facility in the upper 8 of 24 bits, number in the lower 16."""
    refused = furnished("controller", "D3", "--master-card", "45,12000", code=2).output
    assert "45,12000 belongs to Mara Quill" in refused
    furnished("lost", "45,12001")
    furnished("controller", "D3", "--master-card", str(45 << 16 | 12001), code=2)
    for text in ("99,50001", str(99 << 16 | 50001), "0x63C351"):
        furnished("controller", "D3", "--master-card", text)
        code = open_store(job, OFFICE).register.codes["D3.controller", "master card"]
        assert code.reveal() == "6538065"
    assert (
        "not a received number"
        in furnished("controller", "D3", "--master-card", "x", code=2).output
    )


@pytest.mark.parametrize(
    ("printing", "value"),
    [
        ("hex, 5 bytes", 0x0100AABBCC),
        ("hex, nibbles bit-reversed", 0x080055DD33),
        ("hex, bytes bit-reversed", 0x800055DD33),
    ],
)
def test_a_print_that_could_be_several(run: Run, job: Path, printing: str, value: int) -> None:
    """Turned round by hand: of 1, A, B, C the nibbles backwards are 8, 5, D, 3."""
    run("new")
    read = ("--layout", "40-bit identifier", "--printing", printing)
    asked = run("add", "Mara", *read[:2], "--card", "0100AABBCC", code=2).output
    assert f'"{printing}"' in asked
    assert "--printing" in asked
    run("add", "Mara", "--card", "0100AABBCC", *read)
    assert open_store(job, OFFICE).register.cards["K1"].value == value
    run("change", "Mara", "--card", "0100AABBDD", *read, "--why", "one for the car")
    run("lost", "0100AABBDD", "--new", "0100AABBEE", *read)
    assert open_store(job, OFFICE).register.cards.keys() == {"K1", "K3"}


def test_the_jobs_own_layouts_count_on_a_sheet(furnished: Run, job: Path) -> None:
    club = "{bits: 37, fields: {number: 2-36}, parity: [{bit: 37, odd over: 2-36}]}"
    (job / "layouts.yaml").write_text(f"latchwork layouts: 1\nlayouts: {{club: {club}}}\n")
    furnished("add", "Ruda", "--group", "keepers", "--layout", "club", "--card", "123456789")
    sheet = " ".join(furnished("keypad", "Archive").output.split())
    assert "cards of 37 bits are not read as this controller is set, and no new one" in sheet
    assert '--set "reader format=37"' in sheet


def test_hours_a_clock_change_repeats_and_leaves_out(furnished: Run) -> None:
    assert "shows this time twice" in furnished("who", "D1", "2090-10-29 02:30").output
    assert "not on the clock" in furnished("who", "D1", "2090-03-26 02:30", code=2).output
    facts = json.loads(furnished("who", "D1", "2090-10-29 02:30", "--json").output)
    assert [a["at"] for a in facts["answers"]] == [
        "2090-10-29T02:30:00+02:00",
        "2090-10-29T02:30:00+01:00",
    ]


def test_a_past_night_is_told_as_it_was(furnished: Run) -> None:
    refused = furnished("who", "Archive", "yesterday 22:00", code=2).output
    assert "before that is not known here" in refused
    furnished("keypad", "Archive")
    later = dt.datetime.now(dt.UTC) + dt.timedelta(days=2)
    furnished("lost", "45,12000")
    with mock.patch("latchwork.cli.codes.who.now", return_value=later):
        for when, known in (("yesterday 22:00", True), ("yesterday", True), ("now", False)):
            told = " ".join(furnished("who", "Archive", when).output.split())
            assert ("stood then" in told) == known
            assert "Sheet 1 of D2.controller was printed by then and not confirmed" in told
        (answer,) = json.loads(furnished("who", "Archive", "now", "--json").output)["answers"]
        assert all(line in told for line in answer["besides"])
        assert "printed by then and not confirmed" in " ".join(answer["besides"])
    before = dt.datetime.now(dt.UTC) + dt.timedelta(minutes=1)
    with mock.patch("latchwork.cli.codes.who.now", return_value=before):
        day = f"{before.astimezone(zoneinfo.ZoneInfo('Europe/Berlin')):%Y-%m-%d}"
        assert "at some time of the day" in furnished("who", "Archive", day).output


def test_a_card_that_was_reported_lost_later_is_named(furnished: Run) -> None:
    today = dt.datetime.now(dt.UTC)
    with mock.patch("latchwork.cli.codes.common.now", return_value=today + dt.timedelta(days=3)):
        furnished("lost", "45,12000")
    with mock.patch("latchwork.cli.codes.who.now", return_value=today + dt.timedelta(days=4)):
        for days, named in ((1, True), (5, False)):
            noon = f"{today + dt.timedelta(days=days):%Y-%m-%d} 12:00"
            told = furnished("who", "Archive", noon).output
            assert ("Card 45,12000 of Mara Quill was reported lost later" in told) == named


def confirmed_street_door(run: Run) -> None:
    run("keypad", "D1")
    run("keypad", "D1", "--done")


def test_another_unit_begins_from_the_factory(furnished: Run, job: Path) -> None:
    """The factory's installer code opens it, not the one that was keyed into the unit before."""
    confirmed_street_door(furnished)
    factory = shipped_grammars()["letter pairs"].factory_codes["installer"]

    def opens_with_the_factorys() -> bool:
        shown = furnished("keypad", "D1", "--from-reset", "--json", "--show-codes").output
        return factory in "".join(json.loads(shown)["steps"][0]["keys"])

    assert not opens_with_the_factorys()
    assert "reset it before" in furnished("controller", "D1", "--new-unit").output
    assert "no sheet was made" in furnished("keypad", "D1", "--done", code=2).output
    assert opens_with_the_factorys()
    assert "nothing was ever confirmed" in furnished("who", "D1").output
    assert "sheet 4" in furnished("keypad", "D1").output
    changes = open_store(job, OFFICE).entries
    assert "ControllerReplaced" in {type(x).__name__ for e in changes for x in e.changes}


def test_a_changed_grammar_asks_which_unit(furnished: Run, job: Path) -> None:
    shipped = files("latchwork.codes.data") / "grammars" / "letter-pairs.yaml"
    text = shipped.read_text(encoding="utf-8").replace("name: letter pairs", "name: pairs again")
    (job / "grammars").mkdir()
    (job / "grammars" / "again.yaml").write_text(text, encoding="utf-8")
    confirmed_street_door(furnished)
    furnished("remove", "Tilo Olm", "--why", "left")
    furnished("keypad", "D1")
    again = ("controller", "D1", "--grammar", "pairs again")
    assert "--new-unit" in furnished(*again, code=2).output
    furnished(*again, "--same-unit")
    assert (
        "keyed in by the grammar letter pairs" in furnished("keypad", "D1", "--done", code=2).output
    )
    same = json.loads(furnished("keypad", "D1", "--json").output)
    assert same["begins"] == "confirmed"
    assert [s["person"] for s in same["steps"] if s["person"]] == ["Tilo Olm"]
    assert not [s["what"] for s in same["steps"] if s["what"].startswith("Relay")]
    furnished("keypad", "D1", "--done")
    furnished("controller", "D1", "--grammar", "menus", "--set", "reader format=26", "--new-unit")
    other = json.loads(furnished("keypad", "D1", "--json").output)
    assert (other["begins"], other["grammar"]) == ("factory", "menus")


@pytest.mark.parametrize("confirmed", [True, False])
def test_a_sheet_stays_confirmed_under_another_grammar(furnished: Run, confirmed: bool) -> None:
    """Though what is known of the unit has other settings then."""
    confirmed_street_door(furnished)
    furnished("remove", "Tilo Olm", "--why", "left")
    furnished("keypad", "D1")
    if confirmed:
        furnished("keypad", "D1", "--done")
    furnished("controller", "D1", "--grammar", "menus", "--set", "reader format=26", "--same-unit")
    told = " ".join(furnished("who", "D1").output.split())
    assert ("was printed by then and not confirmed" in told) != confirmed


def test_a_grammar_changed_in_the_job_file_asks_too(run: Run, job: Path) -> None:
    def said(grammar: str) -> None:
        text = JOB.replace(
            "controller: controller}", f"controller: {{part: controller, grammar: {grammar}}}}}", 1
        )
        (job / "job.yaml").write_text(text, encoding="utf-8")

    said("letter pairs")
    run("new")
    run("group", "staff", "--door", "D1")
    run("add", "Mara", "--group", "staff", "--pin")
    confirmed_street_door(run)
    said("menus")
    assert "--same-unit" in run("keypad", "D1", code=2).output
    assert "nothing was ever confirmed" in run("who", "D1").output


def fitted(job: Path, part: str) -> None:
    """Writes the job with another controller at D1."""
    text = JOB.replace("controller: controller}", f"{part}}}", 1)
    (job / "job.yaml").write_text(text, encoding="utf-8")


@pytest.fixture
def keyed(run: Run) -> Run:
    """One person, keyed in at D1."""
    run("new")
    run("group", "staff", "--door", "D1")
    run("add", "Mara", "--group", "staff", "--pin")
    run("controller", "D1", "--grammar", "letter pairs")
    confirmed_street_door(run)
    return run


def test_a_unit_that_the_job_changed_is_told_until_somebody_says_what_it_is(
    keyed: Run, job: Path
) -> None:
    """Common practice, no source: a unit out of its box knows nobody, and opens to the factory's
    installer code."""

    def said(*words: str, code: int = 0) -> str:
        return " ".join(keyed(*words, code=code).output.split())

    # Another spelling is no other unit.
    fitted(job, "controller: Keypad Controller")
    assert "holds what it should" in said("keypad", "D1")
    fitted(job, "controller: 'controller, card'")
    for words in (("keypad", "D1"), ("keypad", "D1", "--done"), ("keypad", "D1", "--practise")):
        assert "another unit" in said(*words, code=2)
    assert "Mara · may · the unit there is another" in said("who", "D1")
    # Since when it hangs there nobody knows: what is past is answered of the one before.
    day = dt.datetime.now(zoneinfo.ZoneInfo("Europe/Berlin")).date()
    assert "Mara · may · place 1" in (past := said("who", "D1", f"{day}"))
    assert "since when it hangs there is not known" in past
    assert "another unit" in said("controller")
    assert "not keyed in yet" in said("find", "Mara")
    assert "A sheet is wanted: D1.controller" in said("add", "Tilo", "--group", "staff", "--pin")
    # It was the same unit all along; then it is another one after all.
    keyed("controller", "D1", "--same-unit")
    assert "last confirmed" in said("keypad", "D1")
    fitted(job, "controller: controller")
    keyed("controller", "D1", "--new-unit")
    assert "as it left the factory" in said("keypad", "D1")
    assert "another unit" not in said("controller")


def test_a_unit_that_the_job_has_no_more_is_told(keyed: Run, job: Path) -> None:
    fitted(job, "release: release")
    assert "no D1.controller any more" in " ".join(keyed("who", "D1").output.split())
    for name in ("D1", "Street door", "D1.controller"):
        assert "no D1.controller any more" in keyed("keypad", name, code=2).output
    assert "any more" not in keyed("who", "D2").output


def test_a_door_under_another_id_is_no_door_that_nobody_opens(keyed: Run, job: Path) -> None:
    """Its unit lets in whom it let in before, though nobody has a right to the new id."""
    text = (job / "job.yaml").read_text(encoding="utf-8")
    (job / "job.yaml").write_text(text.replace("  D1: ", "  D9: "), encoding="utf-8")
    told = " ".join(keyed("who", "Street door").output.split())
    assert "Nothing was ever confirmed of D9.controller" in told
    assert "no D1.controller any more" in told
    assert "D1, which the job no longer has" in keyed("group").output


def test_a_grammar_in_the_job_file_that_the_store_goes_before_is_told(
    furnished: Run, job: Path
) -> None:
    """A keypad of another kind was fitted and written into the job file, and the sheet would say
    that there is nothing to key in."""
    confirmed_street_door(furnished)
    assert "the job file says" not in furnished("controller").output.lower()
    text = JOB.replace(
        "controller: controller}", "controller: {part: controller, grammar: menus}}", 1
    )
    (job / "job.yaml").write_text(text, encoding="utf-8")
    for words in (("keypad", "D1"), ("who", "D1"), ("controller",)):
        told = " ".join(furnished(*words).output.split())
        assert "job file says" in told
        assert "menus" in told
    notes = json.loads(furnished("keypad", "D1", "--json").output)["notes"]
    assert "other grammar" in {note["code"] for note in notes}
    furnished("controller", "D1", "--grammar", "menus", "--new-unit")
    assert "job file says" not in furnished("who", "D1").output


def test_a_change_of_doors_or_hours_names_the_controllers(furnished: Run) -> None:
    for door in ("D1", "D2", "D3"):
        furnished("keypad", door)
        furnished("keypad", door, "--done")
    none = "No controller wants a sheet"
    assert none in furnished("times", "nights", "mon 22:00-24:00").output
    shorter = furnished("times", "office hours", "mon-fri 07:00-18:00").output
    assert "A sheet is wanted: D1.controller;" in shorter
    furnished("times", "office hours", "mon-fri 07:00-19:00")
    moved = furnished("group", "staff", "--door", "Street door=office hours", "--door", "D2").output
    assert "D2.controller, D3.controller;" in moved
    furnished("suspend", "Mara Quill", "--why", "away")
    for door in ("D1", "D2", "D3"):
        furnished("keypad", door)
        furnished("keypad", door, "--done")
    back = furnished("suspend", "Mara Quill", "--end", "--why", "back").output
    assert "A sheet is wanted: D1.controller, D2.controller, D3.controller;" in back
    # As it was when the sheets were confirmed: nothing is to be keyed.
    assert none in furnished("suspend", "Mara Quill", "--why", "away").output
    assert none in furnished("change", "Mara Quill", "--note", "away", "--why", "away").output


def test_whoever_comes_and_whatever_is_set_names_the_controllers(run: Run, tmp_path: Path) -> None:
    run("new")
    run("group", "staff", "--door", "D1")
    before = run("add", "Mara Quill", "--group", "staff", "--pin").output
    assert "sheet" not in before, "no controller has a grammar yet"
    wanted = "A sheet is wanted: D1.controller;"
    assert wanted in run("controller", "D1", "--grammar", "letter pairs").output
    confirmed_street_door(run)
    assert run("controller", "D1").output == "Nothing changes.\n"
    assert wanted in run("controller", "D1", "--set", "relay 1 time=7").output
    confirmed_street_door(run)
    assert wanted in run("add", "Ruda Stent", "--group", "staff", "--pin").output
    confirmed_street_door(run)
    (tmp_path / "more.csv").write_text("name,groups,pin\nEnna Olm,staff,yes\n", encoding="utf-8")
    assert "sheet" not in run("import", str(tmp_path / "more.csv")).output, "shown only"
    assert wanted in run("import", str(tmp_path / "more.csv"), "--write").output


def test_a_controller_that_the_job_no_longer_has(furnished: Run, job: Path) -> None:
    confirmed_street_door(furnished)
    less = "\n".join(x for x in JOB.splitlines() if "D1:" not in x)
    (job / "job.yaml").write_text(less + "\n", encoding="utf-8")
    left = furnished("remove", "Tilo Olm", "--why", "left").output
    assert "D1.controller, which the job no longer has: place" in left
    assert "keypad JOB D1.controller" not in left
    # A door that was given another id by hand: its unit is known under the old one.
    listed = " ".join(furnished("controller").output.split())
    assert "D1.controller · not in the job file any more" in listed


def test_a_lost_card_that_comes_back(furnished: Run) -> None:
    furnished("keypad", "D1")
    furnished("keypad", "D1", "--done")
    furnished("lost", "Mara Quill")
    assert "is lost already" in furnished("lost", "45,12000", code=2).output
    assert "whoever has the card they lost" in furnished("who", "D1").output
    assert "came back" in furnished("lost", "45,12000", "--returned").output
    assert "whoever has" not in furnished("who", "D1").output
    assert "came back already" in furnished("lost", "45,12000", "--returned", code=2).output
    assert "came back" in furnished("find", "45,12000").output
    again = furnished("change", "Mara Quill", "--card", "45,12000", "--why", "x", code=2)
    assert "lost once" in again.output


def test_a_withdrawn_holder_knew_the_pins_too(furnished: Run) -> None:
    furnished("holder-add", "Fitter", "--why", "keys in")
    told = furnished("holder-withdraw", "Fitter", "--why", "stolen").output
    assert "could read everybody's PIN too (40)" in told


def test_a_clock_behind_the_last_entry_is_told(run: Run) -> None:
    run("new")
    assert "clock says" not in run("list").stderr
    at = dt.datetime.now(dt.UTC)
    for minutes, warned in ((5, False), (30, True)):
        earlier = at - dt.timedelta(minutes=minutes)
        with mock.patch("latchwork.cli.codes.common.now", return_value=earlier):
            assert ("clock says" in run("list").stderr) is warned


def test_a_page_that_cannot_be_written_does_not_undo_the_sheet(furnished: Run, job: Path) -> None:
    said = furnished("keypad", "Archive", "--page", str(job / "no such" / "x.html"), code=2).output
    assert "could not be written" in said
    assert "made all the same, as number 1" in said
    assert "Nothing was done" not in said
    furnished("keypad", "Archive", "--done")
