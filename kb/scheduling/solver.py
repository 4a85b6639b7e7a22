"""The solver, run so that Ctrl-C stops it at once."""

from __future__ import annotations

import signal
import threading
from typing import Any

from kb.errors import SizebookError

POLL = 0.1
"""How often the waiting thread looks for Ctrl-C [s]."""

TURNS = 3
"""How often an interrupted search gets the signal to end before the program goes on without it."""

_ended = threading.Event()
"""Whether the last search has ended. A thread itself does not know once Ctrl-C has met its `join`."""

_ended.set()


class NoSolver(SizebookError):  # noqa: N818 - printed in one line
    """The solver package is not installed."""


def solver_module() -> Any:
    """The module of the solver.

    Raises:
        NoSolver: if it is not installed.
        KeyboardInterrupt: if the reader presses Ctrl-C meanwhile. The signal waits until the import ends: an
            import that is interrupted half-way looks like that of a missing module.
    """
    stopped: list[int] = []
    main = threading.current_thread() is threading.main_thread()
    before = signal.signal(signal.SIGINT, lambda number, _: stopped.append(number)) if main else None
    try:
        from ortools.sat.python import cp_model  # noqa: PLC0415 - slow to load
    except ImportError as missing:
        raise NoSolver("the solver package ortools is not installed; plans need it") from missing
    finally:
        if main:
            signal.signal(signal.SIGINT, before)
        if stopped:
            raise KeyboardInterrupt
    return cp_model


def searched(solver: Any, model: Any) -> Any:
    """Solve a model in a thread of its own; the calling thread waits and keeps the signals.

    The solver's own handler of Ctrl-C is off: it would end the search and let the program go on.

    Raises:
        KeyboardInterrupt: if the reader presses Ctrl-C; the search gets the signal to end first.
    """
    solver.parameters.catch_sigint_signal = False
    found: list[Any] = []
    faults: list[Exception] = []
    ended = threading.Event()

    def run() -> None:
        try:
            found.append(solver.solve(model))
        except Exception as fault:
            faults.append(fault)
        finally:
            ended.set()

    global _ended  # noqa: PLW0603 - what `unfinished` looks at
    _ended = ended
    # a daemon: a search that does not end at once must not hold the program up
    thread = threading.Thread(target=run, name="search", daemon=True)
    try:
        thread.start()
        while not ended.wait(POLL):
            pass
    except BaseException:
        # a search that has not begun yet does not hear the first call
        for _ in range(TURNS):
            solver.stop_search()
            if ended.wait(POLL):
                break
        raise
    if faults:
        raise faults[0]
    return found[0]


def unfinished() -> bool:
    """Whether an interrupted search still runs, so that the program cannot end in the usual way."""
    return not _ended.is_set()
