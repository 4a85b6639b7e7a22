"""The base of all our exceptions."""

from __future__ import annotations


class SizebookError(Exception):
    """A question that has no answer. The text of the exception is the reason, in one line.

    The command line writes that line to standard error and ends with exit code 2.
    """
