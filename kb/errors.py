"""The base of all our exceptions, and the one for an optional part that is not installed."""

from __future__ import annotations

import sys
from functools import cache
from typing import Literal


class SizebookError(Exception):
    """A question that has no answer. The text of the exception is the reason, in one line.

    The command line writes that line to standard error and ends with exit code 2.
    """


Extra = Literal["publish", "sheet", "schedule", "cad", "strength", "design", "table"]

_SHEET = {"jinja2": "jinja2", "segno": "segno", "typst": "typst"}
_SCHEDULE = {"ortools": "ortools", "platformdirs": "platformdirs"}
_STRENGTH = {"platformdirs": "platformdirs", "scipy": "scipy"}

PACKAGES: dict[Extra, dict[str, str]] = {
    "cad": {"ezdxf": "ezdxf"},
    "schedule": _SCHEDULE,
    "sheet": _SHEET,
    "strength": _STRENGTH,
    "design": {"scipy": "scipy"},
    "table": {"openpyxl": "openpyxl", "defusedxml": "defusedxml"},
    "publish": {
        "mkdocs": "mkdocs",
        "material": "mkdocs-material",
        "filelock": "filelock",
        **_SHEET,
        **_SCHEDULE,
        **_STRENGTH,
    },
}
"""For each extra of the package: the modules it needs, and the packages that bring them."""


class MissingExtra(SizebookError):  # noqa: N818 - printed in one line
    """An optional part of the installation is missing."""


def installed(extra: Extra) -> bool:
    """Whether an optional part is installed, for an answer that can do without it."""
    return not _missing(extra)


def require(extra: Extra, purpose: str) -> None:
    """Check that an optional part is installed, before any work is done.

    `purpose` is what needs it, the subject of the sentence that a person reads.

    Raises:
        MissingExtra: if a package of it is missing.
    """
    missing = _missing(extra)
    if missing:
        raise MissingExtra(
            f"{purpose} needs sizebook[{extra}] ({', '.join(missing)} not installed); "
            f"install it: pip install 'sizebook[{extra}]'"
        )


def _missing(extra: Extra) -> list[str]:
    return [package for module, package in PACKAGES[extra].items() if not _present(module)]


def _present(module: str) -> bool:
    """Whether a module can be imported: every format needs it, and it is looked up once."""
    return sys.modules.get(module, module) is not None and _findable(module)


@cache
def _findable(module: str) -> bool:
    from importlib.util import find_spec  # noqa: PLC0415 - a command that needs no extra does not load it

    return find_spec(module) is not None
