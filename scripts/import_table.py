"""The import table of pyproject.toml as a contract for import-linter.

Its own layers contract lets a package import everything below it; the table is narrower (the
circuit knows no doors), and it holds for packages that do not exist yet.
"""

from __future__ import annotations

import grimp
from importlinter import Contract, ContractCheck, fields, output


def allowed(table: list[str]) -> dict[str, frozenset[str]]:
    """Each package of `table` with all that it may import, itself and what follows included.

    A row is "package: other, other" and may name only packages of the rows above it, which rules
    out circles. Raises ValueError for any other row.
    """
    known: dict[str, frozenset[str]] = {}
    for row in table:
        package, colon, rest = (part.strip() for part in row.partition(":"))
        direct = [name.strip() for name in rest.split(",") if name.strip()]
        strange = [name for name in direct if name not in known]
        if not colon or package in known or strange:
            raise ValueError(f"import table, row {row!r}: only packages of the rows above it")
        known[package] = frozenset({package}).union(*(known[name] for name in direct))
    return known


class TableContract(Contract):
    """Keeps every import between the root's packages to the table; each package must be in it."""

    type_name = "table"
    may_import = fields.ListField(subfield=fields.StringField())

    def check(self, graph: grimp.ImportGraph, verbose: bool) -> ContractCheck:
        """Compare each import with the table; what breaks it goes into the check's metadata."""
        root: str = self.session_options["root_packages"][0]
        may_import = allowed(self.may_import)  # type: ignore[arg-type]  # a field until parsed
        broken = [
            f"{child} is not in the import table"
            for child in sorted(graph.find_children(root))
            if child.removeprefix(f"{root}.") not in may_import
        ]
        for importer in sorted(graph.modules):
            for imported in sorted(graph.find_modules_directly_imported_by(importer)):
                source, target = _package(importer, root), _package(imported, root)
                if target and target not in may_import.get(source, {target}):
                    details = graph.get_import_details(importer=importer, imported=imported)
                    lines = ", ".join(str(detail["line_number"]) for detail in details)
                    broken.append(f"{importer}, line {lines}: may not import {imported}")
        return ContractCheck(kept=not broken, metadata={"broken": broken})

    def render_broken_contract(self, check: ContractCheck) -> None:
        """Print one line for each import against the table."""
        for line in check.metadata["broken"]:
            output.print_error(line)


def _package(module: str, root: str) -> str:
    """The package right below `root` that holds `module`; "" for the root itself and others."""
    head, _, rest = module.partition(".")
    return rest.split(".")[0] if head == root else ""
