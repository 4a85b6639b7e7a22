"""The public interface: `import kb` is quick, complete and documented, and the command line uses it."""

from __future__ import annotations

import ast
import datetime
import importlib
import inspect
import subprocess
import sys
from pathlib import Path

import pytest

import kb
from kb.book.load import Book
from kb.cli import main
from kb.folders import shipped
from tests.conftest import TODAY, MakeBook

QUESTIONS = ("load", "check", "route", "plan_changeover", "review", "design", "lightweight", "publish")
SPECS = shipped("specs")


def alone(script: str) -> str:
    """What a script prints in a process of its own."""
    done = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return done.stdout


# --- the names --------------------------------------------------------------------------------


def test_all_is_complete() -> None:
    """`__all__` lists each public name of the interface once, in order, and `dir` shows each."""
    body = ast.parse(Path(str(kb.__file__)).read_text(encoding="utf-8")).body
    outside = [inner for one in body for inner in (one.body if isinstance(one, ast.If) else [one])]
    defined = {one.name for one in outside if isinstance(one, ast.FunctionDef | ast.ClassDef)}
    imports = [one for one in outside if isinstance(one, ast.ImportFrom) and str(one.module)[:3] == "kb."]
    imported = {name.asname or name.name for one in imports for name in one.names} - {"Severity"}
    public = {name for name in defined | imported if not name.startswith("_")}
    assert kb.__all__ == sorted(public)
    assert set(kb.__all__) <= set(dir(kb))
    assert set(QUESTIONS) <= public


@pytest.mark.parametrize("name", kb.__all__)
def test_every_name_is_documented(name: str) -> None:
    """Each exported name exists, with a docstring of its own."""
    assert inspect.getdoc(vars(kb).get(name) or getattr(kb, name))


@pytest.mark.parametrize("name", QUESTIONS)
def test_every_question_documents_its_arguments(name: str) -> None:
    """The docstring of each function names each argument, what comes back, and what is raised."""
    function = getattr(kb, name)
    text = inspect.getdoc(function) or ""
    for argument in inspect.signature(function).parameters:
        assert f"\n    {argument}: " in text
    assert "Returns:" in text
    assert "Raises:" in text


def test_result_types_are_those_of_the_answers(demo: Book) -> None:
    """The exported types are the classes that the functions give back."""
    report = kb.check(demo, formats=["b211-330"], as_of=TODAY, codes=False)
    assert type(demo) is kb.Book
    assert type(report) is kb.Report
    assert type(report.verdicts["b211-330"][0]) is kb.Verdict
    assert type(kb.route(demo, "b211-330")) is kb.RouteReport


def test_an_unknown_name_is_an_attribute_error() -> None:
    """A name that the interface does not have is refused as Python does."""
    with pytest.raises(AttributeError, match="no attribute 'bake'"):
        kb.bake  # type: ignore[attr-defined] # noqa: B018


# --- the import -------------------------------------------------------------------------------


def test_import_is_quick() -> None:
    """`import kb` loads no library and nothing of the package but its exceptions."""
    printed = alone(
        "import sys; before = set(sys.modules); import kb\n"
        "print(*sorted(name for name in set(sys.modules) - before))\n"
    )
    loaded = set(printed.split())
    assert {one for one in loaded if one.startswith("kb")} == {"kb", "kb.errors"}
    slow = {"numpy", "jsonschema", "mkdocs", "pint", "yaml", "click", "ortools", "typst", "jinja2"}
    assert loaded & slow == set()


def test_questions_stay_functions() -> None:
    """After the folders of the same names are imported, `kb.route` and the others are still functions."""
    script = (
        "import kb\n"
        "import kb.route.study, kb.review.compare\n"
        "from kb.route import take\n"
        "importlib = __import__('importlib'); importlib.import_module('kb.publish.target')\n"
        f"print(all(callable(getattr(kb, name)) for name in {QUESTIONS}), callable(take))\n"
    )
    assert alone(script) == "True True\n"


def test_types_travel_in_the_package() -> None:
    """The package has the marker by which type checkers read its annotations."""
    assert (Path(str(kb.__file__)).parent / "py.typed").is_file()


# --- the answers ------------------------------------------------------------------------------


def test_paths_are_text_or_path(make_book: MakeBook) -> None:
    """A book is found from its folder, a folder in it or a file in it, each as text or as a path."""
    root = make_book(["b211-330", "b204-355"])
    for path in (root, str(root), root / "formats", str(root / "limits.yaml")):
        assert set(kb.load(path).of("size-format")) == {"b211-330", "b204-355"}
    assert set(kb.load(root / "formats/b204-355.yaml").of("size-format")) == {"b204-355"}


def test_days_are_text_or_date(make_book: MakeBook) -> None:
    """The same day given as text or as a date gives the same findings."""
    book = kb.load(make_book(["b204-355"]))
    as_text = kb.check(book, as_of="2028-01-01").findings
    assert as_text == kb.check(book, as_of=datetime.date(2028, 1, 1)).findings
    assert as_text != kb.check(book, as_of="2026-11-02").findings


@pytest.mark.parametrize("day", ["yesterday", "2026-13-01", "", "1.1.2027"])
def test_what_is_no_day_is_refused(demo: Book, day: str) -> None:
    """Text that is not a day is refused in one line that shows how a day is written."""
    with pytest.raises(kb.SizebookError, match="is not a day; write year-month-day"):
        kb.check(demo, as_of=day)


@pytest.mark.slow
def test_reasons_are_one_exception(demo: Book, tmp_path: Path) -> None:
    """Each question that has no answer raises SizebookError with one line."""
    empty = tmp_path / "empty"
    empty.mkdir()
    questions = (
        lambda: kb.load(tmp_path / "nowhere"),
        lambda: kb.load(empty),
        lambda: kb.check(demo, formats=["b211-33"]),
        lambda: kb.check(demo, formats="b211-33"),
        lambda: kb.route(demo, "b211-33"),
        lambda: kb.plan_changeover(demo, "b211-330", "b211-33", "heron"),
        lambda: kb.plan_changeover(demo, "b211-330", "b211-330", "heron"),
        lambda: kb.plan_changeover(demo, "b211-330", "b211-500", "nowhere"),
        lambda: kb.plan_changeover(demo, "b211-330", "b211-500", "heron", crew="nobody"),
        lambda: kb.review(tmp_path / "nowhere", SPECS),
        lambda: kb.publish(demo, demo.root),
    )
    for question in questions:
        with pytest.raises(kb.SizebookError) as why:
            question()
        assert str(why.value)
        assert "\n" not in str(why.value)


def test_findings_that_stop_a_route_are_given(make_book: MakeBook) -> None:
    """Where the geometry does not close, the exception carries the findings."""
    root = make_book(["b211-330"])
    file = root / "formats/b211-330.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("diameter: 137.80", "diameter: 92.00"), encoding="utf-8")
    with pytest.raises(kb.SizebookError, match=r"b211-330 cannot be calculated") as why:
        kb.route(kb.load(root), "b211-330")
    assert why.value.findings  # type: ignore[attr-defined]


def test_an_id_alone_is_a_format_not_its_letters(demo: Book) -> None:
    """One id given where several may be is that one format."""
    assert kb.check(demo, formats="b204-355", as_of=TODAY, codes=False).formats == ("b204-355",)


# --- the command line -------------------------------------------------------------------------

BEHIND = {
    "kb.book.load": {"load"},
    "kb.checks": {"check_book"},
    "kb.sheet.register": {"check_with_codes", "marks", "sheet_faults"},
    "kb.checks.by_station": {"route_of", "route_report", "stopping"},
    "kb.changeover.plan": {"change"},
    "kb.review.compare": {"review"},
    "kb.publish.build": {"publish"},
}
"""The functions behind the questions."""


def test_commands_ask_through_the_interface() -> None:
    """No command imports a function behind one of the questions."""
    around = []
    for name in sorted(main.commands):
        path = Path(str(importlib.import_module(main.commands[name].callback.__module__).__file__))
        for one in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(one, ast.ImportFrom):
                behind = BEHIND.get(str(one.module), set())
                around += [f"{name}: {got.name}" for got in one.names if got.name in behind]
    assert around == []
