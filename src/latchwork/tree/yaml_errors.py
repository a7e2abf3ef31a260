"""Plain words for what a YAML parser cannot read."""

from __future__ import annotations

import re
from collections.abc import Sequence

import yaml

from latchwork.findings.problems import Problem

_COLON = re.compile(r":(\s|$)")

_TIGHT_COLON = re.compile(r"([\w ()-]+):(\S.*)", re.DOTALL)


def tight_colon(text: str) -> str | None:
    """The text with the space that its colon lacks ("power:18 m"), or None."""
    match = _TIGHT_COLON.fullmatch(text)
    return f"{match[1]}: {match[2]}" if match else None


def explain(error: yaml.YAMLError, lines: Sequence[str], file: str) -> Problem:
    """The problem that a parser's error means to the person who wrote the text."""
    if not isinstance(error, yaml.MarkedYAMLError) or error.problem_mark is None:
        return Problem(file, 0, 0, "", "bytes that are no text", "plain text", "yaml.unreadable")
    mark, start = error.problem_mark, error.context_mark or error.problem_mark
    line = _line(lines, mark.line)
    before, here = line[: mark.column], line[mark.column :]
    problem = error.problem or ""
    at = mark
    match problem:
        case "mapping values are not allowed in this context":
            code, expected = _second_colon(lines, mark.line, before)
        case "found character that cannot start any token" | (
            "found a tab character that violates indentation"
        ):
            code, expected = _bad_start(here)
        case "could not find expected ':'":
            # The parser gives up at the line below the one that has none.
            at = start
            code, expected = _no_colon(_line(lines, start.line).strip())
        case "did not find expected key" | "did not find expected '-' indicator":
            code, expected = _after(before)
        case "did not find expected ',' or '}'" | "did not find expected ',' or ']'":
            at = start
            code, expected = _bracket(lines, start.line, mark.line, problem[-2])
        case "found unexpected end of stream":
            at = start
            code, expected = "quote", "a closing quote (an inch mark at the start? write 6 in)"
        case "found unknown escape character":
            code, expected = "backslash", "single quotes round a text with a backslash"
        case "did not find expected alphabetic or numeric character":
            at = start
            code, expected = _bad_start(_line(lines, start.line)[start.column :])
        case _:
            code, expected = "syntax", f"YAML ({problem})"
    found = _line(lines, at.line).strip()[:60] or "the end of the file"
    return Problem(file, at.line + 1, at.column + 1, "", found, expected, f"yaml.{code}")


def _line(lines: Sequence[str], index: int) -> str:
    return lines[index] if index < len(lines) else ""


def _second_colon(lines: Sequence[str], index: int, before: str) -> tuple[str, str]:
    if _COLON.search(before):
        return "colon-in-text", 'quotes round a text with a colon in it: "Gate: north"'
    above = next((text for text in reversed(lines[:index]) if text.strip()), "")
    if _COLON.search(above):
        return "indent", "the same number of spaces in front as the line it belongs beside"
    spaced = tight_colon(above.strip())
    if spaced is not None:
        return "colon", f"a space after the colon in the line above: {spaced[:60]}"
    return "no-colon", f"a colon in the line above: {above.strip()[:60]}"


def _no_colon(text: str) -> tuple[str, str]:
    spaced = tight_colon(text)
    if spaced is not None:
        return "colon", f"a space after the colon: {spaced[:60]}"
    return "no-colon", "a name, a colon, a space, and then what it says"


def _bad_start(here: str) -> tuple[str, str]:
    if here[:1] == "\t":
        return "tab", "spaces, no tab, at the start of a line"
    return "quotes", f"quotes round a text that starts with {here[:1]}"


def _after(before: str) -> tuple[str, str]:
    if before.rstrip()[-1:] in ('"', "'"):
        return "quote", "one pair of quotes round the whole text (an inch mark? write 6 in)"
    if before.rstrip()[-1:] in ("}", "]"):
        return "bracket", "nothing behind the closing bracket"
    return "indent", "the same number of spaces in front as the line it belongs beside"


def _bracket(lines: Sequence[str], first: int, last: int, bracket: str) -> tuple[str, str]:
    if any(" #" in text for text in lines[first : last + 1]):
        return "comment", f"a closing {bracket}; everything behind ' #' is a comment, so use quotes"
    return "bracket", f"a closing {bracket}, and commas between what stands inside"
