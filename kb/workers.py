"""Processes that share the work of a command."""

from __future__ import annotations

import gc
import multiprocessing
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from multiprocessing.pool import Pool

Item = TypeVar("Item")
Result = TypeVar("Result")


def can_share() -> bool:
    """Whether work can be shared here: by forks, on Linux only, and never by a process that shares already.

    On macOS the libraries may fail after a fork.
    """
    return (
        sys.platform == "linux"
        and "fork" in multiprocessing.get_all_start_methods()
        and (os.cpu_count() or 1) > 1
        and not multiprocessing.current_process().daemon
        and not _with_threads
    )


_with_threads: set[str] = set()
"""Libraries that have begun threads of their own in this process."""


def begins_threads(library: str) -> None:
    """Share no work from now on: a forked process lacks the threads of a library, and would wait for them."""
    _with_threads.add(library)


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


_works: list[Callable[[Any], Any]] = []
"""What the forked workers do; they see it as it is, so that only items and results travel."""


def shared(work: Callable[[Item], Result], items: Sequence[Item], *, at_once: int = 1) -> Iterator[Result]:
    """What a function makes of each item, in order; forked workers share the items where that can be.

    Args:
        work: the function; it need not be a function of a module
        items: what it is called with
        at_once: how many items a worker takes at a time
    """
    if len(items) < 2 or not can_share():
        yield from map(work, items)
        return
    _works.append(work)
    gc.freeze()  # the workers need not look through what there is for garbage
    try:
        with workers() as pool:
            yield from pool.imap(_work, items, chunksize=at_once)
    finally:
        gc.unfreeze()
        _works.pop()


def _work(item: Any) -> Any:
    return _works[-1](item)
