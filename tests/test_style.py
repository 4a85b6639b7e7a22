"""The style of the formulas, kept by reading the formulas themselves."""

from __future__ import annotations

import ast
import doctest
import importlib
import inspect
import pkgutil
import re
import typing
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import kb
import kb.process
from tests.conftest import syntax_tree

Formula = Callable[..., Any]

NOT_PLAIN_FORMULAS = {
    "domain": "refuses arguments of any unit by any name, so it has no unit of its own",
    "meridian": "pieces with positions and methods, described in their class docstrings",
    "profile": "builds meridians out of a part's dimensions, the result is no number",
}
COUNTS_WHOLE_THINGS = {"pallet": "cans and layers come whole, so it takes one case at a time"}


def formulas() -> Iterator[Formula]:
    """Every public function of every module of plain formulas."""
    for module_info in pkgutil.iter_modules(kb.process.__path__):
        if module_info.name in NOT_PLAIN_FORMULAS:
            continue
        module = importlib.import_module(f"kb.process.{module_info.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if function.__module__ == module.__name__ and not name.startswith("_"):
                yield function


def name_of(formula: Formula) -> str:
    """Module and name of a formula, as the test report shows it."""
    return f"{formula.__module__.rpartition('.')[2]}.{formula.__name__}"


def unit_of(hint: Any) -> str | None:
    """The unit that an annotation wears, also inside `X | None`."""
    for mark in getattr(hint, "__metadata__", ()):
        if isinstance(mark, str):
            return mark
    return next(filter(None, map(unit_of, typing.get_args(hint))), None)


def units(formula: Formula) -> dict[str, str]:
    """Unit of each parameter, and of the result as `return`, where its annotation wears one."""
    hints = typing.get_type_hints(formula, include_extras=True)
    return {name: unit for name, hint in hints.items() if (unit := unit_of(hint)) is not None}


def sections(formula: Formula) -> dict[str, str]:
    """Text of the docstring under each of its headings."""
    found: dict[str, list[str]] = {}
    body: list[str] = []
    for line in (inspect.getdoc(formula) or "").splitlines():
        if heading := re.fullmatch(r"([A-Z][a-z]+):", line):
            body = found.setdefault(heading[1], [])
        else:
            body.append(line)
    return {heading: "\n".join(lines).strip("\n") for heading, lines in found.items()}


def documented_arguments(formula: Formula) -> dict[str, str]:
    """Text of each argument under the heading Args."""
    lines = sections(formula).get("Args", "").splitlines()
    listed: dict[str, str] = {}
    for line in lines:
        if start := re.match(r" {4}\*{0,2}(\w+): (.*)", line):
            name = start[1]
            listed[name] = start[2]
        elif listed:
            listed[name] += " " + line.strip()
    return listed


def bracketed_unit(text: str) -> str | None:
    """The unit in brackets that ends a text."""
    found = re.search(r"\[([^\[\]]+)\]\.?$", text.strip())
    return found[1] if found else None


every_formula = pytest.mark.parametrize("formula", list(formulas()), ids=name_of)


def test_formulas_are_found() -> None:
    """The walk finds formulas, so the tests below are not empty."""
    found = {name_of(formula) for formula in formulas()}
    assert {"blank.disc_volume", "ironing.exit_stress", "ram.velocity"} <= found


@every_formula
def test_keyword_only(formula: Formula) -> None:
    """No argument of a formula can be passed by position, where two lengths would be exchanged unseen."""
    kinds = {name: p.kind for name, p in inspect.signature(formula).parameters.items()}
    allowed = (inspect.Parameter.KEYWORD_ONLY, inspect.Parameter.VAR_KEYWORD)
    assert [name for name, kind in kinds.items() if kind not in allowed] == []


@every_formula
def test_units_are_reported_as_annotated(formula: Formula) -> None:
    """Each argument's bracketed unit in the docstring is the unit of its annotation."""
    documented = documented_arguments(formula)
    assert set(documented) == set(inspect.signature(formula).parameters)
    annotated = {name: unit for name, unit in units(formula).items() if name != "return"}
    assert {name: bracketed_unit(documented[name]) for name in annotated} == annotated


@every_formula
def test_result_unit_is_reported_as_annotated(formula: Formula) -> None:
    """The result's unit is in brackets under Returns when its annotation wears one."""
    unit = units(formula).get("return")
    matches = re.findall(r"\[([^\[\]]+)\]", sections(formula).get("Returns", ""))
    assert unit is None or unit in matches


@every_formula
@pytest.mark.parametrize("heading", ["Source", "Example"])
def test_source_and_example(formula: Formula, heading: str) -> None:
    """Each formula says where it comes from and shows one number."""
    assert sections(formula).get(heading, "").strip()


@every_formula
def test_example_is_run(formula: Formula) -> None:
    """The example of each formula is a doctest that calls the formula and has an answer."""
    examples = doctest.DocTestParser().get_examples(inspect.getdoc(formula) or "")
    assert any(formula.__name__ in example.source for example in examples)
    assert any(example.want for example in examples)


def example_call(formula: Formula) -> dict[str, Any] | None:
    """Arguments of the first call in the formula's example, if all of them are written out."""
    for example in doctest.DocTestParser().get_examples(inspect.getdoc(formula) or ""):
        for node in ast.walk(ast.parse(example.source)):
            if isinstance(node, ast.Call) and ast.unparse(node.func) == formula.__name__:
                try:
                    return {str(word.arg): ast.literal_eval(word.value) for word in node.keywords}
                except ValueError:
                    return None
    return None


def formulas_of_samples() -> Iterator[Formula]:
    """The formulas that are to take arrays and whose example can be repeated with arrays.

    Those that take a series as one argument, as a tolerance stack does, are left out.
    """
    for formula in formulas():
        module = formula.__module__.rpartition(".")[2]
        arguments = example_call(formula) or {}
        numbers = [arguments[name] for name in arguments if name in units(formula)]
        single = all(isinstance(number, int | float) for number in numbers)
        if module not in COUNTS_WHOLE_THINGS and numbers and single:
            yield formula


@pytest.mark.parametrize("formula", list(formulas_of_samples()), ids=name_of)
def test_arrays_give_what_single_numbers_give(formula: Formula) -> None:
    """An array of cases gives, element by element, what the cases give one by one."""
    written = example_call(formula) or {}
    cases = []
    for case in range(3):
        moved = dict(written)
        for place, name in enumerate(sorted(units(formula).keys() & written.keys())):
            # each argument is moved by another share, so that ratios move too
            moved[name] = written[name] * (1 + 1e-4 * case * (place + 1))
        cases.append(moved)
    together = {
        name: np.array([case[name] for case in cases], dtype=float)
        if name in units(formula)
        else written[name]
        for name in written
    }
    result = formula(**together)
    for place, case in enumerate(cases):
        alone = formula(**case)
        assert np.asarray(result)[..., place] == pytest.approx(np.asarray(alone), rel=1e-12, abs=1e-300)


def test_no_class_name_means_two_things() -> None:
    """Two modules of the package give no two classes one name."""
    where: dict[str, set[str]] = {}
    for path in sorted(Path(kb.__path__[0]).rglob("*.py")):
        for node in ast.walk(syntax_tree(path)):
            if isinstance(node, ast.ClassDef):
                where.setdefault(node.name, set()).add(path.name)
    assert len(where) > 300
    assert {name: files for name, files in where.items() if len(files) > 1} == {}
