"""Where grammars are found: those that come with Latchwork, and the job folder's own."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path

from latchwork.codes.errors import CodesError, file_problem
from latchwork.codes.keypad.grammar import Grammar
from latchwork.codes.keypad.read import read_grammar
from latchwork.tree import MAX_BYTES, read_whole


@cache
def shipped_grammars() -> dict[str, Grammar]:
    """The invented grammars that come with Latchwork, by name."""
    folder = resources.files("latchwork.codes") / "data" / "grammars"
    found = [
        read_grammar(path.read_bytes(), path.name)
        for path in sorted(folder.iterdir(), key=lambda p: p.name)
        if path.name.endswith(".yaml")
    ]
    return {g.name: g for g in found}


def grammar_for(folder: Path | None, name: str) -> Grammar:
    """A grammar by name: the job folder's own ``grammars/*.yaml`` first, then the shipped ones.

    Raises CodesError where there is none of that name, or the file is wrong.
    """
    if folder is not None:
        for path in sorted((folder / "grammars").glob("*.yaml")):
            try:
                found = read_grammar(read_whole(path, MAX_BYTES + 1), f"grammars/{path.name}")
            except OSError as error:
                raise CodesError(
                    file_problem(path.name, 0, "", error.strerror or "an error", "a file to read")
                ) from None
            if found.name == name:
                return found
    if name in shipped_grammars():
        return shipped_grammars()[name]
    raise CodesError(
        f"no programming grammar is called {name!r}; shipped are "
        + ", ".join(sorted(shipped_grammars()))
        + "; your own go into the job folder's grammars/"
    )
