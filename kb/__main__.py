"""Start of the command line, as `sizebook` and as `python -m kb`.

Nothing that takes time is imported at the top, so that Ctrl-C is answered while the program loads. A bug is
one line here; inside `kb.cli.main` it stays an exception, for the tests.
"""

from __future__ import annotations

import gc

NEW_OBJECTS = 50_000
"""New objects after which Python looks for garbage: a book is read into many records and few are dropped."""

TRACEBACK = "SIZEBOOK_TRACEBACK"
"""Variable of the environment that shows the traceback of a bug."""


def main() -> None:
    """Run the command line and end with its exit code, whenever and however it is stopped."""
    code = 0
    try:
        gc.set_threshold(NEW_OBJECTS, 20, 20)
        _keep_streams()
        from kb.cli import main as command_line

        command_line()
    except SystemExit as ended:
        code = ended.code if isinstance(ended.code, int) else 2
    except KeyboardInterrupt:
        code = _end("stopped", 130)
    except Exception as error:
        code = _fault(error)
    _leave(code)


def _keep_streams() -> None:
    """Put a device in place of each standard stream that is closed, so that no file takes its number.

    Writing to standard output then fails as it should; standard error goes nowhere.
    """
    import io
    import os
    import sys

    for number, mode in ((0, os.O_RDONLY), (1, os.O_RDONLY), (2, os.O_WRONLY)):
        try:
            os.fstat(number)
        except OSError:
            os.dup2(os.open(os.devnull, mode), number)  # open takes the lowest free number, most often this
    if sys.stdout is None:
        sys.stdout = io.TextIOWrapper(io.FileIO(1, "w", closefd=False))
    if sys.stderr is None:
        sys.stderr = io.TextIOWrapper(io.FileIO(2, "w", closefd=False))


def _fault(error: Exception) -> int:
    import os

    if os.environ.get(TRACEBACK):
        raise error
    lines = str(error).strip().splitlines()
    what = f"{type(error).__name__}: {lines[0]}" if lines else type(error).__name__
    return _end(f"this is a bug of sizebook ({what}); {TRACEBACK}=1 shows where it is", 2)


def _end(message: str, code: int) -> int:
    """Say on standard error why the program ends; a second Ctrl-C does not disturb it."""
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    from kb.output.io import notice

    notice(f"sizebook: {message}")
    return code


def _leave(code: int) -> None:
    """End the process; what Python does after this is not to be stopped half-way."""
    import signal
    import sys

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    sys.exit(code)


if __name__ == "__main__":
    main()
