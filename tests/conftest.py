"""What many tests share: the demo book, read and judged once, and copies of it with a fault put in."""

from __future__ import annotations

import ast
import atexit
import datetime
import os
import shutil
import tempfile
from collections.abc import Callable, Iterable, Mapping
from functools import cache
from pathlib import Path
from typing import Any, TypeAlias, TypeVar

import pytest
import yaml
from hypothesis import HealthCheck, settings

from kb.book.compose import composed, values_of
from kb.book.load import FOLDERS, Book, load
from kb.book.records import Limit
from kb.checks import check_book
from kb.checks.report import Report
from kb.folders import shipped
from kb.route.assemble import Assembled, assemble

# A fault of the program is a traceback here, not one line that a test could take for a refusal.
os.environ["SIZEBOOK_TRACEBACK"] = "1"

# What is kept is no part of the user's own cache. All runs share the bases that were solved: each is named by
# all that determines it, the solver's code included, and a base takes half a second.
if "SIZEBOOK_CACHE" not in os.environ:
    os.environ["SIZEBOOK_CACHE"] = str(Path(__file__).parents[1] / ".pytest_cache" / "sizebook")

# Speed is measured in tests/bench; a machine under load fails no property.
settings.register_profile("steady", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("steady")

TODAY = datetime.date(2026, 11, 2)
"""A day on which the demo book's waiver runs and none of its reviews is due."""

LONG = {
    "tests/browser/": "a real browser",
    "tests/changeover/test_cli_changeover.py": "plans of the whole demo book, as sheets too",
    "tests/changeover/test_content.py": "plans of the whole demo book",
    "tests/changeover/test_lever.py": "plans of the whole demo book, several times",
    "tests/changeover/test_pairs.py": "every pair of the demo book",
    "tests/changeover/test_past.py": "plans of the whole demo book, with other pasts",
    "tests/changeover/test_plan.py": "plans of the whole demo book, for every crew",
    "tests/changeover/test_records.py": "plans of the whole demo book",
    "tests/changeover/test_safe.py": "plans of the whole demo book, and of books made at random",
    "tests/changeover/test_same_answer.py": "plans of the whole demo book, by command and by site",
    "tests/changeover/test_sheet_faces.py": "PDFs",
    "tests/checks/test_check_book.py": "checks of whole books, on one core and on all",
    "tests/checks/test_fix_data.py::test_a_program_applies_each_fix": "a route for each fix",
    "tests/checks/test_fixes.py::test_a_smaller_stand_never_comes_before_a_number_without_a_tool": (
        "shells of many ironing steps"
    ),
    "tests/checks/test_fixes.py::test_every_fix_fixes_its_finding": "a route for each fix",
    "tests/cli/test_extras.py::test_a_missing_extra_is_named": "a process for each package of each command",
    "tests/cli/test_extras.py::test_the_core_needs_no_extra": "a process for each command",
    "tests/cli/test_files.py": "every command on every hostile file",
    "tests/cli/test_lines.py": "every command on a book of harmful texts",
    "tests/cli/test_stopping.py": "commands stopped at many moments",
    "tests/cli/test_streams.py": "every command with every closed stream",
    "tests/design/test_lightest.py": "searches for the lightest format",
    "tests/design/test_new_size.py": "searches for a new size",
    "tests/drawing/test_dxf.py::test_every_view_of_every_format_makes_a_valid_file": "every view",
    "tests/history/test_git.py": "many repositories",
    "tests/hostile/": "sweeps over every key",
    "tests/output/test_names.py::test_a_check_does_not_read_the_texts_of_names": "many processes",
    "tests/process/shell/test_limits.py": "shells of many bases and ends",
    "tests/publish/": "publishes of a book",
    "tests/review/test_approval.py": "a repository and a review for each change",
    "tests/review/test_command.py": "a review for each use of the command",
    "tests/review/test_faces_": "reviews of many changes in every output format",
    "tests/review/test_faces_docs.py": "a workflow of a code host",
    "tests/review/test_meaning.py": "versions of a book made at random",
    "tests/review/test_minutes.py": "plans of two versions of a book",
    "tests/review/test_story.py": "a repository with a long history",
    "tests/review/test_versions.py": "many repositories",
    "tests/route/test_any_format.py": "formats from all over the plausible bands",
    "tests/scheduling/test_plan.py::test_a_known_schedule_is_not_made_longer": "two whole stops",
    "tests/scheduling/test_plan.py::test_a_whole_stop_is_near_its_bound": "a whole stop",
    "tests/sheet/test_command.py": "PDFs",
    "tests/sheet/test_fonts.py": "PDFs",
    "tests/sheet/test_html.py::test_a_browser_prints_identity_and_whole_rows": "a real browser",
    "tests/sheet/test_papers.py": "PDFs",
    "tests/sheet/test_pdf.py": "PDFs",
    "tests/sheet/test_register.py": "a repository and a register for each case",
    "tests/test_cli.py::test_colours_are_for_terminals": "a process for each setting of the terminal",
    "tests/test_cli.py::test_same_input_same_bytes": "a process for each order of keys",
    "tests/test_docs.py::test_readme_runs_as_typed": "a new environment",
    "tests/test_long.py::test_the_quick_run_leaves_out_what_is_long": "several runs of pytest",
    "tests/test_rename.py": "renames in copies of the whole demo book",
    "tests/test_systems.py::test_every_module_without_what_windows_lacks": "every module, in a new process",
    "tests/test_wheel.py": "a new environment",
}
"""Tests that are long by nature, by the beginning of their name, and why; each of them is marked `slow`."""


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Do not import a file whose tests are all long, if the run leaves them out."""
    place = collection_path.relative_to(Path(__file__).parents[1]).as_posix()
    left_out = config.getoption("-m") == "not slow" and place.startswith(tuple(LONG))
    return True if left_out else None


SPREAD = ("tests/hostile/test_every_key.py",)
"""Files of long tests that share next to nothing: every worker takes some."""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Mark what is long by nature, before the tests of this run are chosen by their marks."""
    for item in items:
        if item.nodeid.startswith(tuple(LONG)):
            item.add_marker(pytest.mark.slow)


@pytest.hookimpl(optionalhook=True)
def pytest_xdist_make_scheduler(config: pytest.Config, log: Any) -> Any:
    """In a full run one worker runs all tests of a file, so that what they share is made once."""
    if config.getvalue("dist") != "load":
        return None
    from xdist.scheduler import LoadScopeScheduling  # noqa: PLC0415 - there only where tests run in parallel

    class ByFile(LoadScopeScheduling):
        def _split_scope(self, nodeid: str) -> str:
            file = nodeid.partition("::")[0]
            return nodeid if file in SPREAD else file

    return ByFile(config, log)


Edit: TypeAlias = tuple[str, str, str]
"""File below the book, text that is there once, text to put in its place."""

MakeBook: TypeAlias = Callable[..., Path]

Shelved = TypeVar("Shelved")


class Shelf(dict[str, Shelved]):
    """A dictionary that a failing test shows by its keys, its records being pages long."""

    def __repr__(self) -> str:
        return f"shelf of {', '.join(self)}"


@cache
def syntax_tree(path: Path) -> ast.Module:
    """The syntax of a module, read once for all tests."""
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def yaml_values(path: Path) -> Any:
    """A YAML file as plain values, read once for all tests."""
    return yaml.load(path.read_text(encoding="utf-8"), yaml.CSafeLoader)


@cache
def demo_in_full() -> Path:
    """A copy of the demo book whose formats have all their values in their own files.

    Most tests change one value of one format. The tests of the book as it is
    shipped, on its standards, read `short_demo`.
    """
    folder = tempfile.mkdtemp(prefix="sizebook-")
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    root = Path(shutil.copytree(shipped("specs"), Path(folder) / "specs"))
    for spec in load(root, shown="").of("size-format").values():
        if spec.document.base is not None:
            text = composed(values_of(spec.record))
            (root / FOLDERS["size-format"] / f"{spec.id}.yaml").write_text(text, encoding="utf-8")
    shutil.rmtree(root / FOLDERS["body-standard"])
    return root


@pytest.fixture(scope="session")
def demo() -> Book:
    """The demo book as read, its formats in full."""
    return load(demo_in_full(), shown="specs")


@pytest.fixture(scope="session")
def short_demo() -> Book:
    """The demo book as it is shipped, its formats on their standards."""
    return load(shipped("specs"), shown="specs")


@pytest.fixture(scope="session")
def demo_report(demo: Book) -> Report:
    """The demo book as judged."""
    return check_book(demo, today=TODAY)


@pytest.fixture(scope="session")
def formats(demo: Book) -> Mapping[str, Assembled]:
    """Every format of the demo book, ready to be routed."""
    return Shelf({ident: made for ident in demo.of("size-format") if (made := assemble(demo, ident))})


@pytest.fixture(scope="session")
def limits(demo: Book) -> Mapping[str, Limit]:
    """The demo plant's limits by check."""
    assert demo.limits is not None
    return Shelf(demo.limits.limits)


@pytest.fixture
def make_book(tmp_path: Path, demo: Book) -> MakeBook:
    """A maker of small books: chosen demo formats with all they refer to, changed in places."""

    def make(formats: Iterable[str], edits: Iterable[Edit] = (), folder: str = "specs") -> Path:
        root = tmp_path / folder
        copy_book(demo, root, formats)
        for edit in edits:
            put(root, *edit)
        return root

    return make


def copy_book(demo: Book, root: Path, formats: Iterable[str]) -> None:
    """Copy chosen formats and all they refer to, so that the copy alone is as valid as the demo book."""
    chosen = sorted(formats)
    wanted = {"plant.yaml", "limits.yaml"}
    open_ends = [("size-format", ident) for ident in chosen]
    while open_ends:
        kind, ident = open_ends.pop()
        name = f"{FOLDERS[kind]}/{ident}.yaml"
        if name not in wanted:
            wanted.add(name)
            open_ends += [(other, one) for _, other, one in demo.of(kind)[ident].references]
    if any(waiver.format in chosen for waiver in demo.waivers.waivers):
        wanted.add("waivers.yaml")
    for name in sorted(wanted):
        target = root / name
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_bytes((demo.root / name).read_bytes())


def put(root: Path, file: str, old: str, new: str) -> None:
    """Put a text into a file of a book in place of one that is there exactly once."""
    path = root / file
    text = path.read_text(encoding="utf-8")
    assert text.count(old) == 1, f"{old!r} is found {text.count(old)} times in {file}"
    path.write_text(text.replace(old, new), encoding="utf-8")


def judged(root: Path, today: datetime.date = TODAY) -> Report:
    """A book read and judged."""
    return check_book(load(root, shown=""), today=today)
