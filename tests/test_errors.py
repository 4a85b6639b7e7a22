"""Exceptions have one base, and the command line answers it in one place."""

from __future__ import annotations

import ast
import importlib
import inspect
import pkgutil
from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

import kb
from kb.cli import main
from kb.errors import SizebookError

CONTROL_FLOW = {"kb.book.source._Enough", "kb.cli.common.Stopped"}
"""Exceptions that are no reason why a question has no answer: the end of a reading, and Ctrl-C."""


def modules() -> Iterator[str]:
    """The name of every module of the package that can be imported without starting the program."""
    for one in pkgutil.walk_packages(kb.__path__, "kb."):
        if not one.name.endswith("__main__"):
            yield one.name


def exceptions() -> list[type[BaseException]]:
    """Every exception that the package defines."""
    found = []
    for name in modules():
        for one in vars(importlib.import_module(name)).values():
            if inspect.isclass(one) and issubclass(one, BaseException) and one.__module__ == name:
                found.append(one)
    return found


def test_every_exception_has_the_same_base() -> None:
    """Each exception of the package is a SizebookError, so that one `except` catches them all."""
    found = {f"{one.__module__}.{one.__qualname__}": one for one in exceptions()}
    assert len(found) > 10
    assert {name for name, one in found.items() if not issubclass(one, SizebookError)} == CONTROL_FLOW


def test_no_two_exceptions_share_a_name() -> None:
    """The name of an exception says which one it is."""
    names = [one.__name__ for one in exceptions()]
    assert sorted(names) == sorted(set(names))


def test_commands_convert_no_exception_into_a_refusal() -> None:
    """No command catches an error only to word it the same: the group does that for all of them."""
    folder = Path(main.callback.__code__.co_filename).parent  # type: ignore[union-attr]
    repeated = []
    for path in sorted(folder.glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ExceptHandler) and "Refusal(str(" in ast.unparse(node):
                repeated.append(f"{path.name}:{node.lineno}")
    assert repeated == []


OURS = [one for one in exceptions() if issubclass(one, SizebookError)]


def raising(error: Exception) -> Callable[[], None]:
    """A command that ends with an exception."""

    def command() -> None:
        raise error

    return command


@pytest.mark.parametrize("kind", OURS, ids=lambda kind: kind.__name__)
def test_every_exception_ends_in_one_line(kind: type[SizebookError], monkeypatch: pytest.MonkeyPatch) -> None:
    """The text of every SizebookError of a command is the one line on standard error; exit code 2."""
    error = kind.__new__(kind)
    error.args = ("no such\nmetal",)
    monkeypatch.setitem(main.commands, "failing", click.Command("failing", callback=raising(error)))
    done = CliRunner().invoke(main, ["failing"])
    assert (done.exit_code, done.stdout, done.stderr) == (2, "", "sizebook: no such metal\n")
