"""The lock files against what pip's hash-checking mode asks for (pip's user guide, "Secure
installs": every requirement pinned with == and hashed) and against pyproject.toml."""

from __future__ import annotations

import re
import tomllib

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

import setup
import steps

LOCKS = sorted(setup.LOCKS.values())


def locked(name: str) -> dict[str, list[Requirement]]:
    """Each requirement of a lock file, without its hashes, by the package's name."""
    text = (steps.ROOT / name).read_text().replace("\\\n", " ")
    found: dict[str, list[Requirement]] = {}
    for line in text.splitlines():
        requirement = Requirement(line.split("--hash=")[0])
        found.setdefault(canonicalize_name(requirement.name), []).append(requirement)
    return found


def wanted() -> dict[str, list[str]]:
    """What pyproject.toml asks for, by lock file."""
    project = tomllib.loads((steps.ROOT / "pyproject.toml").read_text())
    groups = project["dependency-groups"]
    extras = project["project"]["optional-dependencies"]
    run = [*project["project"]["dependencies"], *groups["build"]]
    tests = [*run, *groups["test"], *(each for extra in extras.values() for each in extra)]
    return {setup.LOCKS["run"]: run, setup.LOCKS["tests"]: tests}


@pytest.mark.parametrize("name", LOCKS)
def test_every_requirement_is_pinned_and_hashed(name: str) -> None:
    text = (steps.ROOT / name).read_text().replace("\\\n", " ")
    lines = text.splitlines()
    assert len(lines) > 10
    for line in lines:
        assert re.fullmatch(r"\S+==\S+( ; [^#]*?)?( +--hash=sha256:[0-9a-f]{64})+", line), line


@pytest.mark.parametrize("name", LOCKS)
def test_no_address_stands_in_a_lock(name: str) -> None:
    text = (steps.ROOT / name).read_text()
    assert not re.search(r"://|-url|find-links|trusted-host| @ ", text)


@pytest.mark.parametrize("name", LOCKS)
def test_what_pyproject_asks_for_is_locked_within_its_range(name: str) -> None:
    found = locked(name)
    for text in wanted()[name]:
        requirement = Requirement(text)
        pins = found[canonicalize_name(requirement.name)]
        for pin in pins:
            (specifier,) = pin.specifier
            assert requirement.specifier.contains(specifier.version), (text, str(pin))


def test_both_locks_hold_the_same_versions() -> None:
    tests = locked(setup.LOCKS["tests"])
    for name, pins in locked(setup.LOCKS["run"]).items():
        assert [str(pin.specifier) for pin in pins] == [str(pin.specifier) for pin in tests[name]]


def test_every_python_from_3_11_to_3_14_finds_one_version_of_each() -> None:
    for name, pins in locked(setup.LOCKS["tests"]).items():
        for version in ("3.11", "3.12", "3.13", "3.14"):
            linux = {
                "python_version": version,
                "python_full_version": f"{version}.1",
                "sys_platform": "linux",
                "platform_system": "Linux",
                "platform_python_implementation": "CPython",
                "implementation_name": "cpython",
            }
            fitting = [pin for pin in pins if pin.marker is None or pin.marker.evaluate(linux)]
            assert len(fitting) <= 1, (name, version)
            if name in {"numpy", "scipy", "msgspec", "pyyaml"}:
                assert len(fitting) == 1, (name, version)
