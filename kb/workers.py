"""Processes that share the work of a command."""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from multiprocessing.pool import Pool


def can_share() -> bool:
    """Whether work can be shared here: by forks, on Linux only, and never by a process that shares already.

    On macOS the libraries may fail after a fork.
    """
    return (
        sys.platform == "linux"
        and "fork" in multiprocessing.get_all_start_methods()
        and (os.cpu_count() or 1) > 1
        and not multiprocessing.current_process().daemon
    )


def workers() -> Pool:
    """A worker for each core; they leave stopping to their parent, from their first moment on.

    Ctrl-C waits until all have started: a worker that it met between its start and its first line would
    print a traceback of its own.
    """
    signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        return multiprocessing.get_context("fork").Pool(initializer=_leave_stopping_to_the_parent)
    finally:
        signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})


def _leave_stopping_to_the_parent() -> None:
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.pthread_sigmask(signal.SIG_UNBLOCK, {signal.SIGINT})
