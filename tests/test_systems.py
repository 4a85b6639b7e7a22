"""Systems other than Linux are not shut out: what only Linux or Unix has is never needed."""

from __future__ import annotations

import ast
import multiprocessing
import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

import kb
from kb import workers
from kb.book.load import FOLDERS, Book
from kb.checks import one_format
from kb.folders import shipped
from kb.publish import target
from tests.conftest import TODAY, syntax_tree

PACKAGE = Path(str(kb.__file__)).parent

UNIX_ONLY = {
    "os": ("uname", "fork", "getuid", "geteuid", "getgid", "getpgid", "killpg", "setsid", "mkfifo", "chown"),
    "signal": ("SIGKILL", "SIGHUP", "SIGALRM", "SIGUSR1", "SIGCHLD", "alarm", "pthread_sigmask", "sigwait"),
}
"""Names that Windows does not have."""

UNIX_MODULES = ("fcntl", "grp", "pwd", "resource", "termios", "tty")

WINDOWS = f"""\
import importlib, multiprocessing, os, pkgutil, signal, subprocess, sys
# what the libraries load for themselves, each with its own way on Windows
import jinja2, jsonschema, mkdocs.livereload, numpy, ortools.sat.python.cp_model, pint, yaml, filelock
for name, names in {UNIX_ONLY!r}.items():
    for one in names:
        vars(sys.modules[name]).pop(one, None)
for one in {UNIX_MODULES!r}:
    sys.modules[one] = None
multiprocessing.get_all_start_methods = lambda: ["spawn"]
import kb
from kb.checks import one_format
for one in pkgutil.walk_packages(kb.__path__, "kb."):
    if not one.name.endswith("__main__"):
        importlib.import_module(one.name)
sys.platform = "win32"
one_format.WORTH_SHARING = 2
book = kb.load("specs")
report = kb.check(book, as_of="2026-11-02")
print(len(report.formats), report.counts()["error"])
"""
"""Import everything and check the demo book without what Windows lacks."""


def test_every_module_without_what_windows_lacks() -> None:
    """Each module can be imported, and the demo book checked, where Unix names are missing."""
    done = subprocess.run(
        [sys.executable, "-c", WINDOWS],
        cwd=shipped("specs").parent,
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.stdout == "20 0\n", done.stderr


@pytest.mark.slow
def test_without_fork_the_answers_are_the_same(demo: Book, monkeypatch: pytest.MonkeyPatch) -> None:
    """Formats checked one after another have the findings and margins of those that share the cores."""
    some = ["b211-330", "b211-440-light", "b204-355"]
    monkeypatch.setattr(one_format, "WORTH_SHARING", 2)
    monkeypatch.setattr(os, "cpu_count", lambda: 2)
    shared = kb.check(demo, formats=some, as_of=TODAY, codes=False)
    monkeypatch.setattr(multiprocessing, "get_all_start_methods", lambda: ["spawn"])
    monkeypatch.delattr(os, "uname")
    monkeypatch.delattr(signal, "pthread_sigmask")
    alone = kb.check(demo, formats=some, as_of=TODAY, codes=False)
    assert alone.findings == shared.findings
    assert [[one.margin for one in alone.verdicts[ident]] for ident in some] == [
        [one.margin for one in shared.verdicts[ident]] for ident in some
    ]


@pytest.mark.parametrize("system", ["darwin", "win32"])
def test_elsewhere_no_processes_are_forked(system: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """On macOS and Windows the check keeps to one process, even if Python offers more."""
    monkeypatch.setattr(sys, "platform", system)
    assert not workers.can_share()


@pytest.mark.parametrize("system", ["darwin", "win32"])
def test_elsewhere_folders_are_exchanged_in_two_steps(
    system: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The one-step exchange of Linux is not tried on other systems."""
    for name in ("one", "other"):
        (tmp_path / name).mkdir()
    monkeypatch.setattr(sys, "platform", system)
    assert not target._exchange(tmp_path / "one", tmp_path / "other")


# --- names in the code ------------------------------------------------------------------------

GUARDED = {
    "kb/workers.py: signal.pthread_sigmask",  # in what `can_share` admits
}


def unix_names() -> Iterator[str]:
    """Each use in the package of a module or name that Windows does not have."""
    for path in sorted(PACKAGE.rglob("*.py")):
        shown = path.relative_to(PACKAGE.parent).as_posix()
        for one in ast.walk(syntax_tree(path)):
            if isinstance(one, ast.Attribute) and isinstance(one.value, ast.Name):
                if one.attr in UNIX_ONLY.get(one.value.id, ()):
                    yield f"{shown}: {one.value.id}.{one.attr}"
            elif isinstance(one, ast.Import | ast.ImportFrom):
                names = [each.name for each in one.names]
                module = one.module if isinstance(one, ast.ImportFrom) else ""
                yield from (f"{shown}: {name}" for name in [module, *names] if name in UNIX_MODULES)


def test_what_windows_lacks_is_guarded() -> None:
    """The package uses no name that Windows lacks, except where a guard is in front of it."""
    assert set(unix_names()) == GUARDED


RESERVED = {"con", "prn", "aux", "nul", *(f"{port}{i}" for port in ("com", "lpt") for i in range(1, 10))}
"""Names of devices of Windows."""


def test_names_of_files_are_allowed_everywhere() -> None:
    """No file that the package ships has a name that Windows refuses, or that differs by case alone."""
    names = [
        path.relative_to(root).as_posix()
        for root in (PACKAGE, shipped("specs"), shipped("schema"), shipped("site"))
        for path in root.rglob("*")
        if "__pycache__" not in path.parts
    ]
    parts = {part for name in names for part in name.split("/")}
    assert {one for one in parts if one.split(".")[0].lower() in RESERVED} == set()
    assert {one for one in parts if set(one) & set('<>:"\\|?*') or one != one.rstrip(". ")} == set()
    assert len({name.lower() for name in set(names)}) == len(set(names))


@pytest.mark.parametrize("kind", [one for one in FOLDERS if one != "week"])
@pytest.mark.parametrize("name", ["con", "nul", "com1"])
def test_ids_that_windows_refuses_are_findings(kind: str, name: str, tmp_path: Path) -> None:
    """A spec whose id is a device of Windows is refused at reading, so that a book can be copied there."""
    (tmp_path / "plant.yaml").write_text("kind: plant\n", encoding="utf-8")
    folder = tmp_path / FOLDERS[kind]
    folder.mkdir()
    (folder / f"{name}.yaml").write_text(f"kind: {kind}\nid: {name}\n", encoding="utf-8")
    found = kb.load(tmp_path).findings
    assert any(one.place.key == "id" and name in one.message for one in found)
