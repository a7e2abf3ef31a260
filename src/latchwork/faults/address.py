"""Where a cluster is, and how one gets there: plain connections on this machine, else TLS."""

from __future__ import annotations

import ipaddress
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit


class ClusterError(Exception):
    """A cluster that cannot be used: ``code`` says why, ``figures`` what was found.

    Codes: "missing", "address", "open", "elsewhere", "silent", "idle", "files", "half", "plain",
    "other version".
    """

    def __init__(self, code: str, option: str = "on", **figures: str) -> None:
        super().__init__(code)
        self.code, self.option = code, option
        self.figures: Mapping[str, str] = figures


@dataclass(frozen=True, slots=True)
class Tls:
    """Files by which both ends know each other; "" each: what Dask's own configuration says."""

    ca: str = ""
    cert: str = ""
    key: str = ""

    @property
    def named(self) -> tuple[str, ...]:
        """The options of the files that are given."""
        files = (("tls-ca", self.ca), ("tls-cert", self.cert), ("tls-key", self.key))
        return tuple(option for option, file in files if file)


@dataclass(frozen=True, slots=True)
class Address:
    """Where a scheduler listens."""

    scheme: str
    host: str
    port: int

    def __str__(self) -> str:
        host = f"[{self.host}]" if ":" in self.host else self.host
        return f"{self.scheme}://{host}:{self.port}"


def address_of(text: str) -> Address:
    """The address of a scheduler as people write it. Raises ClusterError: plain connections go to
    this machine alone."""
    try:
        parts = urlsplit(text)
        host, port = parts.hostname or "", parts.port
    except ValueError:
        raise ClusterError("address", found=text) from None
    rest = parts.username, parts.password, parts.path.strip("/"), parts.query, parts.fragment
    if parts.scheme not in ("tcp", "tls") or not host or not port or any(rest):
        raise ClusterError("address", found=text)
    if parts.scheme == "tcp" and not here(host):
        raise ClusterError("open", found=text)
    return Address(parts.scheme, host, port)


def here(host: str) -> bool:
    """Whether a host is this machine, by its name alone."""
    if host == "localhost":
        return True
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return False
