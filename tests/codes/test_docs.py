"""The page about codes says what the program does: its figures and examples are tried."""

from __future__ import annotations

import re
from pathlib import Path

from latchwork.cli.codes import VERBS
from latchwork.codes.cards.describe import read_layouts
from latchwork.codes.keypad import vocabulary as voc
from latchwork.codes.keypad.read import read_grammar
from latchwork.codes.pins import odds, rules
from latchwork.codes.store.container import MAGIC

PAGE = (Path(__file__).parents[2] / "docs" / "codes.md").read_text(encoding="utf-8")
FLAT = re.sub(r"\s+", " ", PAGE)
EXAMPLES = re.findall(r"```yaml\n(.*?)```", PAGE, re.DOTALL)


def test_the_examples_are_read() -> None:
    layouts, grammar = EXAMPLES
    assert "club card" in read_layouts(layouts.encode(), "layouts.yaml")
    assert read_grammar(grammar.encode(), "my.yaml").name == "my keypad"


def test_the_table_of_code_spaces() -> None:
    rows = re.findall(r"\| (\d) \| ([\d,]+) \| (\d+) % \| ([\d,]+)", PAGE)
    assert len(rows) == 5
    for digits, allowed, share, people in rows:
        count = rules.ALLOWED[int(digits)]
        assert int(allowed.replace(",", "")) == count
        assert int(share) == round(100 * count / 10 ** int(digits))
        sure = -(-count // rules.blocked_by_one(int(digits)))
        assert int(people.replace(",", "")) == sure


def test_the_worked_odds() -> None:
    found = odds.odds(6, 50, odds.LockOut(5, 60))
    assert f"1 in {1 / found.window:,.0f} within a window and {100 * found.night:.0f} %" in FLAT


def test_the_head_of_the_file() -> None:
    assert f"magic ({len(MAGIC)} bytes, the last is the version)" in FLAT


def test_every_meaning_and_setting_is_named() -> None:
    text = FLAT[FLAT.index("Meanings (`does`)") :]
    for operation in voc.OPS:
        if not operation.startswith("set ") or operation in voc.USER_OPS:
            assert operation in text, operation
    for name in voc.SETTINGS:
        words = name.replace("relay 2", "relay 1").split()
        assert words[-1] in text, name


def test_every_verb_that_is_shown_exists() -> None:
    shown = set(re.findall(r"latchwork codes ([a-z-]+)", PAGE))
    assert shown <= VERBS.keys()
    assert {"new", "import", "lost", "remove", "who", "odds"} <= shown
