"""Ctrl-C, which waits until an import is done.

Raised in its midst it leaves a module behind that cannot be imported again, or comes out as a
mistake of that module's. This one stands before all others and imports next to nothing itself.
"""

from __future__ import annotations

import _thread
import signal
import time
from types import CodeType, FrameType

AGAIN_S = 0.005
IMPORT = "<frozen importlib._bootstrap>"


def listen(top: CodeType) -> None:
    """Hear Ctrl-C from now on, unless something else hears it; imports that ``top`` was called in
    are no matter."""

    def heard(_: int, frame: FrameType | None) -> None:
        while frame is not None and frame.f_code is not top:
            if frame.f_code.co_filename == IMPORT:
                _thread.start_new_thread(_again, ())
                return
            frame = frame.f_back
        raise KeyboardInterrupt

    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:
        signal.signal(signal.SIGINT, heard)


def _again() -> None:
    time.sleep(AGAIN_S)
    _thread.interrupt_main()
