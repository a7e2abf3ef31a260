"""Lots of work over a Dask cluster: this machine's by plain connections, any other by TLS alone,
since workers run what they are sent."""

from __future__ import annotations

import asyncio
import hashlib
import logging
import time
import warnings
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import CancelledError
from contextlib import ExitStack, contextmanager, suppress
from dataclasses import dataclass
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from types import TracebackType
from typing import Any
from urllib.parse import urlsplit

from latchwork import __version__
from latchwork.faults.address import ClusterError, Tls, address_of, here
from latchwork.faults.spread import Came, Lost, Lot, Tell
from latchwork.tree import must_be_file

Client = Any
Future = Any
"""What stands for them of Dask's, which has few types."""

LOTS_A_WORKER = 4
"""So that a worker that goes takes little with it, and that one sees how far it is."""
LEAST_DOORS, MOST_DOORS = 8, 250
"""How many doors a lot has about, least and most."""
PACKAGE = Path(__file__).parent.parent
OPTIONS = "tls-ca", "tls-cert", "tls-key"
CONNECT_S = 10.0
TICK_S = 1.0
GONE_S = 60.0
"""How long a cluster may be without any worker."""


class Cluster:
    """A Dask scheduler and its workers, as ``spread.Over``.

    A worker that goes has its lots done by another. Raises ClusterError when made and when
    entered, Lost where nobody is left to do the work.
    """

    def __init__(self, address: str, tls: Tls | None = None) -> None:
        self._address = address_of(address)
        self._tls = tls or Tls()
        named = self._tls.named
        if named and self._address.scheme != "tls":
            raise ClusterError("plain", named[0])
        if named and len(named) < len(OPTIONS):
            raise ClusterError("half", next(o for o in OPTIONS if o not in named))
        if find_spec("distributed") is None:
            raise ClusterError("missing")
        self._open = ExitStack()
        self._client: Client | None = None

    def __enter__(self) -> Cluster:
        security = self._security()
        with ExitStack() as opened:
            opened.enter_context(_quiet())
            self._client = opened.enter_context(self._connected(security))
            self._known()
            self._open = opened.pop_all()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        self._client = None
        self._open.close()

    def lots(self, doors: int) -> int:
        """Several for each worker, neither tiny nor huge."""
        wanted = max(LOTS_A_WORKER * len(self._workers()), -(-doors // MOST_DOORS))
        return max(1, min(wanted, doors // LEAST_DOORS))

    def run(
        self,
        do: Callable[[Lot, Tell], Came],
        lots: Sequence[Lot],
        take: Callable[[int, Came], None],
        tell: Tell | None = None,
    ) -> None:
        """As ``Over`` says. Interrupted, it takes back what no worker has begun."""
        client = self._client
        assert client is not None
        only = self._near() if self._address.scheme == "tcp" else None
        pending: dict[Future, int] = {}
        done = 0
        try:
            for n, lot in enumerate(lots):
                future = _unless_lost(
                    client.submit, _done, do, lot, _version(), workers=only, pure=False
                )
                pending[future] = n
            if tell is not None:
                tell("lots", 0, len(lots))
            while pending:
                for future in self._finished(client, list(pending)):
                    came = _unless_lost(future.result)
                    if isinstance(came, _Other):
                        raise _other_version(came.worker, came.version)
                    take(pending.pop(future), came)
                    done += 1
                    if tell is not None:
                        tell("lots", done, len(lots))
        finally:
            for future in pending:
                with suppress(Exception):
                    future.cancel()

    def _finished(self, client: Client, pending: list[Future]) -> list[Future]:
        """Lots that are done, once there are some. Raises Lost."""
        dask = _dask()
        seen_s = time.monotonic()
        while True:
            try:
                with client.as_current():
                    done, _ = _unless_lost(
                        dask.wait, pending, timeout=TICK_S, return_when="FIRST_COMPLETED"
                    )
            except TimeoutError:
                if self._workers():
                    seen_s = time.monotonic()
                elif time.monotonic() - seen_s > GONE_S:
                    raise Lost from None
            else:
                # All that is done by now, in the order it was sent.
                return [f for f in pending if f in done]

    def _workers(self) -> list[str]:
        """Addresses of the workers there are; none where the scheduler does not say."""
        assert self._client is not None
        try:
            return list(self._client.nthreads())
        except Exception:
            return []

    def _near(self) -> list[str]:
        """Hosts that plain connections may lead to, whoever joins while it runs."""
        return sorted({h for h in map(_host, self._workers()) if here(h)}) or ["127.0.0.1"]

    def _security(self) -> Any:
        """How a connection by TLS is made."""
        if self._address.scheme == "tcp":
            return None
        given = {
            "tls_ca_file": self._tls.ca,
            "tls_client_cert": self._tls.cert,
            "tls_client_key": self._tls.key,
        }
        given = {name: file for name, file in given.items() if file}
        try:
            for file in given.values():
                must_be_file(Path(file))
            security = _dask().Security(require_encryption=True, **given)
            if not security.tls_ca_file or not security.tls_client_cert:
                raise ClusterError("half", "tls-ca")
            security.get_connection_args("client")
        except (OSError, ValueError, KeyError, TypeError) as error:
            why = getattr(error, "strerror", None) or type(error).__name__
            raise ClusterError("files", "tls-ca", why=why) from None
        return security

    @contextmanager
    def _connected(self, security: Any) -> Iterator[Client]:
        try:
            # Something else that listens there would keep a client waiting for ever.
            asyncio.run(asyncio.wait_for(self._greeted(security), CONNECT_S))
            client = _dask().Client(
                str(self._address), security=security, timeout=CONNECT_S, set_as_default=False
            )
        except Exception:
            raise ClusterError("silent", found=str(self._address)) from None
        try:
            yield client
        finally:
            with suppress(Exception):
                client.close(timeout=TICK_S)

    async def _greeted(self, security: Any) -> None:
        """Say a word to the scheduler and have its answer."""
        given = security.get_connection_args("client") if security else {}
        comm = await import_module("distributed.comm").connect(str(self._address), **given)
        try:
            await comm.write({"op": "identity", "reply": True})
            await comm.read()
        finally:
            await comm.close()

    def _known(self) -> None:
        """See that there are workers, where they may be, with this version. Raises ClusterError."""
        client = self._client
        assert client is not None
        try:
            client.wait_for_workers(1, timeout=CONNECT_S)
        except TimeoutError:
            raise ClusterError("idle", found=str(self._address)) from None
        if self._address.scheme == "tcp":
            for worker in self._workers():
                if not here(_host(worker)):
                    raise ClusterError("elsewhere", found=worker)
        try:
            found = client.run(_version, on_error="return")
        except Exception:
            found = dict.fromkeys(self._workers())
        for worker, version in found.items():
            if version != _version():
                raise _other_version(worker, version if isinstance(version, str) else "?")


def _dask() -> Any:
    """Dask's part for clusters, imported where it is wanted."""
    return import_module("distributed")


def _host(address: str) -> str:
    return urlsplit(address).hostname or ""


@dataclass(frozen=True, slots=True)
class _Other:
    """What a worker sends back that has another version of us: it has not begun."""

    worker: str
    version: str


def _version() -> str:
    """What a worker has of us: between two versions there are many states of the sources, whose
    answers would be taken for each other's."""
    return f"{__version__} ({_sources()})"


@cache
def _sources() -> str:
    digest = hashlib.sha256()
    for source in sorted(PACKAGE.rglob("*.py")):
        # Their ends of lines may be otherwise where they were checked out.
        text = source.read_bytes().replace(b"\r\n", b"\n")
        digest.update(source.relative_to(PACKAGE).as_posix().encode() + b"\0" + text + b"\0")
    return digest.hexdigest()[:8]


def _other_version(worker: str, version: str) -> ClusterError:
    return ClusterError("other version", found=version, worker=worker, ours=_version())


def _done(do: Callable[[Any, Tell], Any], lot: Any, ours: str) -> Any:
    """What a worker does with a lot, whenever it joined."""
    if _version() != ours:
        return _Other(_dask().get_worker().address, _version())
    return do(lot, _nothing)


def _nothing(_: str, done: int, total: int) -> None:
    """How far a lot is, nobody hears here."""


def _unless_lost(do: Callable[..., Any], *given: Any, **named: Any) -> Any:
    """What ``do`` gives. Raises Lost where it is the cluster that fails; a mistake of the work's
    own, and that time has run out, as they are."""
    try:
        return do(*given, **named)
    except TimeoutError:
        raise
    except Exception as error:
        of_dask = type(error).__module__.partition(".")[0] == "distributed"
        if of_dask or isinstance(error, (CancelledError, OSError)):
            raise Lost from None
        raise


@contextmanager
def _quiet() -> Iterator[None]:
    """Dask's own lines kept from the terminal: what matters is told as an error of ours."""
    names = [_dask().__name__, "asyncio", "tornado"]
    names += [n for n in logging.root.manager.loggerDict if n.startswith("distributed.")]
    before = {name: logging.getLogger(name).level for name in names}
    for name in names:
        logging.getLogger(name).setLevel(logging.CRITICAL + 1)
    try:
        with warnings.catch_warnings():
            warnings.filterwarnings("ignore", module=r"distributed\b")
            yield
    finally:
        for name, level in before.items():
            logging.getLogger(name).setLevel(level)
