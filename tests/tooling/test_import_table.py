"""The import table: what it means, and that a planted import against it is found."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

import steps
from import_table import allowed

TABLE = ["words:", "elements:", "parts: elements", "plan: parts", "answers: plan, words"]


def test_a_package_may_import_what_its_imports_may_import() -> None:
    table = allowed(TABLE)
    assert table["plan"] == {"plan", "parts", "elements"}
    assert "words" not in table["plan"]
    assert table["answers"] == set(table)


@pytest.mark.parametrize("row", ["parts: elements", "x: later", "x: x", "no colon"])
def test_a_row_that_repeats_or_looks_upward_is_refused(row: str) -> None:
    with pytest.raises(ValueError, match="import table, row"):
        allowed([*TABLE, row, "later:"])


def lint(folder: Path, files: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """Run import-linter with TABLE on a package `sample` made of `files`."""
    rows = "\n".join(f"    {row}" for row in TABLE)
    (folder / ".importlinter").write_text(
        "[importlinter]\nroot_package = sample\ncontract_types =\n"
        "    table: import_table.TableContract\n"
        f"[importlinter:contract:1]\nname = Table\ntype = table\nmay_import =\n{rows}\n"
    )
    (folder / "sample").mkdir()
    (folder / "sample" / "__init__.py").touch()
    for name, text in files.items():
        path = folder / "sample" / name
        path.parent.mkdir(exist_ok=True)
        (path.parent / "__init__.py").touch()
        path.write_text(text)
    return subprocess.run(
        [
            sys.executable,
            "-c",
            "from importlinter.cli import lint_imports_command; lint_imports_command()",
            "--no-cache",
        ],
        cwd=folder,
        env=os.environ | {"PYTHONPATH": f"{folder}{os.pathsep}{steps.ROOT / 'scripts'}"},
        capture_output=True,
        text=True,
        check=False,
    )


SOUND = {
    "elements/a.py": "X = 1\n",
    "plan/a.py": "import json\nfrom sample.elements.a import X\nfrom sample.plan import b\n",
    "plan/b.py": "",
}


def test_imports_within_the_table_pass(tmp_path: Path) -> None:
    result = lint(tmp_path, SOUND)
    assert result.returncode == 0, result.stdout


@pytest.mark.parametrize(
    ("name", "text", "said"),
    [
        (
            "elements/b.py",
            "\nfrom sample.plan.a import X\n",
            "sample.elements.b, line 2: may not import sample.plan.a",
        ),
        (
            "words/a.py",
            "def late():\n    import sample.elements.a\n",
            "sample.words.a, line 2: may not import sample.elements.a",
        ),
        ("unlisted/a.py", "", "sample.unlisted is not in the import table"),
    ],
)
def test_a_planted_import_is_found(tmp_path: Path, name: str, text: str, said: str) -> None:
    result = lint(tmp_path, SOUND | {name: text})
    assert result.returncode == 1
    assert said in " ".join(result.stdout.split())
