"""Reading layouts that people describe, the shipped ones being written the same way."""

from __future__ import annotations

import os
from collections.abc import Mapping
from functools import cache
from importlib import resources
from pathlib import Path

from latchwork.codes.cards.layout import Field, Layout, Parity, encode
from latchwork.codes.errors import CodesError, file_problem
from latchwork.codes.yamlfile import Node, Reader, read_yaml
from latchwork.tree import MAX_BYTES, read_whole

USERS_FILE = "layouts.yaml"
MOST_BITS = 256


def _span(reader: Reader, node: Node, where: str, bits: int) -> tuple[int, ...]:
    """Bit numbers of "2-9" or "2-9, 14"."""
    found: list[int] = []
    for part in reader.text(node, where).split(","):
        ends = [e.strip() for e in part.split("-")]
        good = len(ends) in (1, 2) and all(
            e.isascii() and e.isdecimal() and len(e) < 5 for e in ends
        )
        if not good:
            reader.wrong(node, where, part.strip()[:40] or "nothing", "bits such as 2-9 or 14")
            return ()
        first, last = int(ends[0]), int(ends[-1])
        if not 1 <= first <= last <= bits:
            reader.wrong(node, where, part.strip()[:40], f"bits from 1 to {bits}")
            return ()
        found.extend(range(first, last + 1))
    return tuple(found)


def _parity(reader: Reader, node: Node, where: str, bits: int) -> Parity | None:
    found = reader.map(node, where)
    reader.known(found, where, ("bit", "even over", "odd over"))
    bit = reader.number(found.get("bit"), f"{where}.bit", 1, bits)
    kinds = [k for k in ("even over", "odd over") if k in found]
    if len(kinds) != 1:
        reader.wrong(node, where, f"{len(kinds)} of them", "either even over or odd over")
        return None
    over = _span(reader, found[kinds[0]], f"{where}.{kinds[0]}", bits)
    if bit in over:
        reader.wrong(node, where, f"bit {bit} guarding itself", "a parity bit over other bits")
    return Parity(bit, kinds[0] == "odd over", over)


def _layout(reader: Reader, name: str, node: Node) -> Layout | None:
    before = len(reader.problems)
    found = reader.map(node, name)
    reader.known(found, name, ("what", "source", "bits", "fields", "parity", "fixed"))
    bits = reader.number(found.get("bits"), f"{name}.bits", 1, MOST_BITS)
    fields: dict[str, Field] = {}
    owner: dict[int, str] = {}
    for key, value in reader.map(found.get("fields"), f"{name}.fields").items():
        where = f"{name}.fields.{key}"
        span = _span(reader, value, where, bits)
        if span and span != tuple(range(span[0], span[-1] + 1)):
            reader.wrong(value, where, "several runs", "one run of bits")
        elif span:
            fields[key] = Field(span[0], len(span))
            _claim(reader, value, where, owner, span)
    if "number" not in fields:
        reader.wrong(node, name, "no field called number", "number: the one telling cards apart")
    reader_fixed = reader.map(found.get("fixed"), f"{name}.fixed")
    fixed: dict[int, int] = {}
    for key, value in reader_fixed.items():
        where = f"{name}.fixed.{key}"
        span = _span(reader, Node(key, value.line), where, bits)
        bit = reader.number(value, where, 0, 1)
        fixed.update(dict.fromkeys(span, bit))
        _claim(reader, value, where, owner, span)
    rules = []
    for index, item in enumerate(reader.items(found.get("parity"), f"{name}.parity"), 1):
        rule = _parity(reader, item, f"{name}.parity {index}", bits)
        if rule is not None:
            rules.append(rule)
            _claim(reader, item, f"{name}.parity {index}", owner, (rule.bit,))
    if len(reader.problems) > before:
        return None
    what = reader.text(found.get("what"), f"{name}.what")
    source = reader.text(found.get("source"), f"{name}.source")
    layout = Layout(name, bits, fields, tuple(rules), fixed, what, source)
    try:
        encode(layout, **dict.fromkeys(fields, 0))
    except CodesError as error:
        reader.wrong(node, name, str(error))
    return layout


def _claim(
    reader: Reader, node: Node, where: str, owner: dict[int, str], span: tuple[int, ...]
) -> None:
    for bit in span:
        if bit in owner:
            reader.wrong(node, where, f"bit {bit} of {owner[bit]}", "each bit used once")
            return
        owner[bit] = where


def read_layouts(data: bytes, file: str) -> dict[str, Layout]:
    """The layouts of a file. Raises CodesError with all that is wrong in it."""
    reader, top = read_yaml(data, file, "latchwork layouts")
    reader.known(top, "file", ("latchwork layouts", "layouts"))
    reader.number(top.get("latchwork layouts"), "latchwork layouts", 1, 1)
    found = {}
    for name, node in reader.map(top.get("layouts"), "layouts").items():
        layout = _layout(reader, name, node)
        if layout is not None:
            found[name] = layout
    reader.finish()
    return found


@cache
def shipped_layouts() -> dict[str, Layout]:
    """The openly described layouts that come with Latchwork."""
    path = resources.files("latchwork.codes") / "data" / "layouts.yaml"
    return read_layouts(path.read_bytes(), "layouts.yaml")


def layouts_for(folder: Path | None) -> dict[str, Layout]:
    """The shipped layouts, and those of the job folder's own ``layouts.yaml`` over them."""
    found = dict(shipped_layouts())
    if folder is not None and os.path.lexists(folder / USERS_FILE):
        try:
            data = read_whole(folder / USERS_FILE, MAX_BYTES + 1)
        except OSError as error:
            raise CodesError(
                file_problem(USERS_FILE, 0, "", error.strerror or "an error", "a file to read")
            ) from None
        found |= read_layouts(data, USERS_FILE)
    return found


def wire_bits(layouts: Mapping[str, Layout], name: str) -> int:
    """How many bits a card of this layout has on the wire; 0 where that is not known: a layout
    without parity is what a card says of itself, and not what a reader makes of it."""
    layout = layouts.get(name)
    return layout.bits if layout is not None and layout.parity else 0
