"""Groups of names that belong together (union-find)."""

from __future__ import annotations


class Union:
    """Names join into groups; a name never joined is a group of its own.

    A group is called by the name that it was first joined from.
    """

    def __init__(self) -> None:
        self._above: dict[str, str] = {}

    def find(self, name: str) -> str:
        """What the name's group is called."""
        above = self._above
        top = above.get(name)
        if top is None or top is name:
            return name
        while (up := above[top]) is not top and up != top:
            top = up
        while name != top:
            above[name], name = top, above[name]
        return top

    def join(self, a: str, b: str) -> None:
        """Make one group of both groups."""
        top_a, top_b = self.find(a), self.find(b)
        self._above.setdefault(top_a, top_a)
        self._above[top_b] = top_a
