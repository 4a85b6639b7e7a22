"""What an editor shows of a quantity, and the wrong units that it marks."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator

from kb.book.conversion import CANONICAL, units_of_canonical
from kb.book.hover import quantities, unit_pattern, with_words, words_for_editors
from kb.folders import shipped

FILES = sorted([*shipped("schema").glob("*.json"), *(shipped("schema") / "design").glob("*.json")])
DIMENSIONS = sorted(CANONICAL)
UNLIKE = {"length": "620 kPa", "pressure": "66.04 mm", "force": "5 min", "angle": "30 mm", "fraction": "5 mm"}


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_schema_has_the_words_of_its_quantities(path: Path) -> None:
    """The file is what the program writes of it, so that editors show the same unit and band as the check."""
    text = path.read_text(encoding="utf-8")
    assert with_words(text) == text
    for part in quantities(json.loads(text)):
        made = words_for_editors(part)
        assert {name: part[name] for name in made} == made


def test_words_are_written_again_after_a_change() -> None:
    """A new band gives new words in place of the old ones."""
    lone = """{
  "description": "Height.",
  "markdownDescription": "Old.",
  "pattern": "old",
  "quantity": {"dimension": "length", "unit": "mm", "band": [1, 2], "tolerance": "none", "show": "mm"}
}
"""
    made = json.loads(with_words(lone))
    assert made["markdownDescription"] == "Height. In mm, plausible from 1 to 2 mm; without a tolerance."
    assert made["pattern"] == unit_pattern("length")


@pytest.mark.parametrize("dimension", DIMENSIONS)
def test_every_unit_of_the_dimension_passes(dimension: str) -> None:
    """Each written form passes with each unit of its dimension."""
    for unit in units_of_canonical(CANONICAL[dimension]):
        for form in (
            "1.2{}",
            "-0.5 {}",
            "1 ±0.2 {}",
            "1 +/-0.2 {}",
            "1 +0.2/-0.1 {}",
            "1 to 2 {}",
            "2e-6 {}",
        ):
            assert re.search(unit_pattern(dimension), form.format(unit).strip()), (unit, form)


@pytest.mark.parametrize(("dimension", "text"), UNLIKE.items())
def test_a_unit_of_another_dimension_is_marked(dimension: str, text: str) -> None:
    """A length in kPa, a force in minutes and the like do not match, nor do words."""
    assert not re.search(unit_pattern(dimension), text)
    assert not re.search(unit_pattern(dimension), "about 5")


def test_both_halves_of_a_dual_text_count() -> None:
    """Millimetres with inches in brackets pass; millimetres with newtons do not."""
    assert re.search(unit_pattern("length"), "66.04 mm (2.600 in)")
    assert re.search(unit_pattern("length"), '2.600"')
    assert not re.search(unit_pattern("length"), "66.04 mm (2.600 N)")


def test_an_editor_marks_what_the_check_finds() -> None:
    """With the plain validator of an editor a gauge in kPa is an error, and one in mm is none."""
    schema: Any = json.loads((shipped("schema") / "size-format.json").read_text(encoding="utf-8"))
    gauge = schema["properties"]["stock"]["properties"]["gauge"]
    assert [error.validator for error in Draft202012Validator(gauge).iter_errors("0.262 kPa")] == ["pattern"]
    assert list(Draft202012Validator(gauge).iter_errors("0.262 ±0.004 mm")) == []
