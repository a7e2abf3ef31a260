"""How a kernel is compiled.

Without counting references (numba's own option ``_nrt``): to count them at each call cost ten times
the work itself. So kernels make no arrays; room to work in is given to them. Divisions by nothing
give what they give over rows. Other threads run meanwhile.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import config, njit

from latchwork.circuit.kept import made

cast(Any, config).CACHE_DIR = str(made())

F = TypeVar("F", bound=Callable[..., Any])
_njit = cast(Any, njit)
HOW = {"cache": True, "error_model": "numpy", "_nrt": False, "nogil": True}


def kernel(function: F) -> F:
    """``function`` compiled, and kept on disk."""
    return cast(F, _njit(**HOW)(function))


def inlined(function: F) -> F:
    """``function`` made part of whatever calls it."""
    return cast(F, _njit(**HOW, inline="always")(function))


def placed(function: F) -> F:
    """``function`` compiled into whatever calls it, once all is typed: where calls are what takes
    long, as each array is handed on as seven words."""
    return cast(F, _njit(**HOW, forceinline=True)(function))
