"""A value that shows itself only when asked by name, so that no log or repr can leak it."""

from __future__ import annotations

from typing import NoReturn


class Secret:
    """A PIN, an installer code or a passphrase. ``reveal()`` is the only way to its text."""

    __slots__ = ("_value",)

    def __init__(self, value: str) -> None:
        self._value = value

    def reveal(self) -> str:
        """The text itself. Call it where the text is used, not earlier."""
        return self._value

    def __repr__(self) -> str:
        return "Secret(•••)"

    __str__ = __repr__

    def __format__(self, _spec: str) -> str:
        return "•••"

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Secret) and self._value == other._value

    def __hash__(self) -> int:
        return hash(self._value)

    def __reduce__(self) -> NoReturn:
        raise TypeError("a secret is not pickled")
