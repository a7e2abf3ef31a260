"""Keep the two words the tool never says out of every text that reaches a user.

Read are the string literals of the package's Python files (docstrings too: some become help
texts or schema descriptions), its data and templates, the README and the documents. "fail-safe"
is the trade's word and stands. In documents a word in quotation marks or backticks is spoken
about, not said.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from pathlib import Path

import steps

_HYPHENS = "-\u2010\u2011"
_NEVER = re.compile(rf"(?<!fail[{_HYPHENS}])\b(?:safe|compliant)\b", re.IGNORECASE)
# Not words to a reader: the template filter and the style sheet's own names.
_NOT_TEXT = re.compile(r"\|\s*safe\b|\bsafe-area-inset\b")
_SPOKEN_ABOUT = re.compile(r"[\"“`](?:safe|compliant)[\"”`]", re.IGNORECASE)
_PLAIN_TEXT = {".css", ".csv", ".html", ".js", ".json", ".md", ".svg", ".toml", ".txt", ".typ"}
_PLAIN_TEXT |= {".yaml", ".yml"}


def offences(root: Path) -> list[str]:
    """Every place in the project at `root` that says one of the words: "file:line: text"."""
    found = []
    for path in sorted((root / "src").rglob("*")):
        if path.suffix == ".py":
            texts = python_texts(path.read_text(encoding="utf-8"))
        elif path.suffix in _PLAIN_TEXT:
            texts = numbered(_NOT_TEXT.sub("", path.read_text(encoding="utf-8")))
        else:
            continue
        found += said(path.relative_to(root), texts)
    for path in [*sorted(root.glob("*.md")), *sorted((root / "docs").rglob("*.md"))]:
        text = path.read_text(encoding="utf-8")
        if path.parent != root:
            text = _SPOKEN_ABOUT.sub("", text)
        found += said(path.relative_to(root), numbered(text))
    return found


def said(path: Path, texts: Iterator[tuple[int, str]]) -> list[str]:
    """The offences in numbered pieces of text."""
    return [
        f"{path.as_posix()}:{line}: {match.group()!r} in {text.strip()[:80]!r}"
        for line, text in texts
        for match in _NEVER.finditer(text)
    ]


def numbered(text: str) -> Iterator[tuple[int, str]]:
    """Lines with their numbers."""
    return enumerate(text.splitlines(), start=1)


def python_texts(source: str) -> Iterator[tuple[int, str]]:
    """The string literals of Python source with their lines, an f-string as one text."""
    in_f_strings: set[int] = set()
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.JoinedStr):
            parts = [part for part in node.values if isinstance(part, ast.Constant)]
            in_f_strings |= {id(part) for part in parts}
            text = "".join(
                str(part.value) if isinstance(part, ast.Constant) else "{}" for part in node.values
            )
        elif isinstance(node, ast.Constant) and isinstance(node.value, str):
            text = "" if id(node) in in_f_strings else node.value
        else:
            continue
        yield from ((node.lineno + n, line) for n, line in enumerate(text.splitlines()))


def main() -> int:
    """Entry point; exit code 0 none said, 1 offences, printed."""
    found = offences(steps.ROOT)
    print("\n".join(found))
    return 1 if found else 0


if __name__ == "__main__":
    sys.exit(main())
