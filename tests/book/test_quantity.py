"""Written quantities: the forms that are understood, and the words for those that are not."""

from __future__ import annotations

import ast
import copy
import json
import pickle
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from kb.book import conversion
from kb.book.quantity import Quantity, QuantityFault, parse


def refused(text: str, canonical: str) -> QuantityFault:
    """The fault a text is refused with."""
    with pytest.raises(QuantityFault) as caught:
        parse(text, canonical)
    return caught.value


# --- forms ------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "form", "values", "written"),
    [
        ("66.04 mm", "plain", (66.04, 66.04, 66.04), ("66.04", "66.04", "66.04")),
        ("0.0970 mm", "plain", (0.097, 0.097, 0.097), ("0.0970", "0.0970", "0.0970")),
        ("0.270 ±0.005 mm", "equal", (0.265, 0.27, 0.275), ("0.265", "0.270", "0.275")),
        ("0.270 +/-0.005 mm", "equal", (0.265, 0.27, 0.275), ("0.265", "0.270", "0.275")),
        ("0.270 +- 0.005 mm", "equal", (0.265, 0.27, 0.275), ("0.265", "0.270", "0.275")),
        ("0.270 +-0.005mm", "equal", (0.265, 0.27, 0.275), ("0.265", "0.270", "0.275")),
        ("0.270 mm ±0.005 mm", "equal", (0.265, 0.27, 0.275), ("0.265", "0.270", "0.275")),
        ("115.20 mm +0.25/-0.15 mm", "unequal", (115.05, 115.2, 115.45), ("115.05", "115.20", "115.45")),
        ("115.20 +0.25 mm/-0.15 mm", "unequal", (115.05, 115.2, 115.45), ("115.05", "115.20", "115.45")),
        ("115.05 mm to 115.45 mm", "limits", (115.05, 115.25, 115.45), ("115.05", "115.25", "115.45")),
        ("0.27 ±0.005 mm", "equal", (0.265, 0.27, 0.275), ("0.265", "0.27", "0.275")),
        ("66.04 ±0 mm", "equal", (66.04, 66.04, 66.04), ("66.04", "66.04", "66.04")),
        ("115.20 +0.25/-0.15 mm", "unequal", (115.05, 115.2, 115.45), ("115.05", "115.20", "115.45")),
        ("115.20 -0.15/+0.25 mm", "unequal", (115.05, 115.2, 115.45), ("115.05", "115.20", "115.45")),
        ("115.20 +0.25/0 mm", "unequal", (115.2, 115.2, 115.45), ("115.20", "115.20", "115.45")),
        ("115.20 +0.25/-0 mm", "unequal", (115.2, 115.2, 115.45), ("115.20", "115.20", "115.45")),
        ("115.20 0/-0.2 mm", "unequal", (115.0, 115.2, 115.2), ("115.00", "115.20", "115.20")),
        ("115.05 to 115.45 mm", "limits", (115.05, 115.25, 115.45), ("115.05", "115.25", "115.45")),
        ("115.05 to 115.46 mm", "limits", (115.05, 115.255, 115.46), ("115.05", "115.255", "115.46")),
        ("90 to 190 mm", "limits", (90.0, 140.0, 190.0), ("90", "140", "190")),
        ("-5 to 5 mm", "limits", (-5.0, 0.0, 5.0), ("-5", "0", "5")),
        ("66.04mm", "plain", (66.04, 66.04, 66.04), ("66.04", "66.04", "66.04")),
        ("  66.04   mm  ", "plain", (66.04, 66.04, 66.04), ("66.04", "66.04", "66.04")),
        ("0.270±0.005mm", "equal", (0.265, 0.27, 0.275), ("0.265", "0.270", "0.275")),
        ("115.20 +0.25 / -0.15 mm", "unequal", (115.05, 115.2, 115.45), ("115.05", "115.20", "115.45")),
        ("1.5e2 mm", "plain", (150.0, 150.0, 150.0), ("1.5e2", "1.5e2", "1.5e2")),
    ],
)
def test_each_form_is_understood(
    text: str, form: str, values: tuple[float, float, float], written: tuple[str, str, str]
) -> None:
    """Least, target and most are exact to the last bit, and the sheet gets the written decimals."""
    found = parse(text, "mm")
    assert (found.low, found.nominal, found.high) == values
    assert (found.written, found.form, found.text) == (written, form, text)
    assert found.toleranced == (form != "plain")
    assert (found.unit, found.canonical) == ("mm", "mm")


@pytest.mark.parametrize(
    ("text", "canonical", "nominal", "unit", "decimals"),
    [
        ("2.600 in", "mm", 66.04, "in", 3),
        ('2.600"', "mm", 66.04, "in", 3),
        ('2.600" ±0.002"', "mm", 66.04, "in", 3),
        ("2.600 in +- 0.002 in", "mm", 66.04, "in", 3),
        ('2.600" ±0.002 in', "mm", 66.04, "in", 3),
        ("97 um", "mm", 0.097, "um", 0),
        ("97 µm", "mm", 0.097, "µm", 0),
        ("97 μm", "mm", 0.097, "μm", 0),
        ("10.6 thou", "mm", 0.26924, "thou", 1),
        ("6.604 cm", "mm", 66.04, "cm", 3),
        ("1.25 m", "mm", 1250.0, "m", 2),
        ("330 ml", "mm3", 330_000.0, "ml", 0),
        ("33 cl", "mm3", 330_000.0, "cl", 0),
        ("0.33 l", "mm3", 330_000.0, "l", 2),
        ("330 cm3", "mm3", 330_000.0, "cm3", 0),
        ("0.90 kN", "N", 900.0, "kN", 2),
        ("200 lbf", "N", 889.6443230521, "lbf", 0),
        ("620 kPa", "MPa", 0.62, "kPa", 0),
        ("6.2 bar", "MPa", 0.62, "bar", 1),
        ("620000 Pa", "MPa", 0.62, "Pa", 0),
        ("68.9 GPa", "MPa", 68_900.0, "GPa", 1),
        ("90 psi", "MPa", 0.6205281563851526, "psi", 0),
        ("30 deg", "deg", 30.0, "deg", 0),
        ("0.0103 kg", "g", 10.3, "kg", 4),
        ("10300 mg", "g", 10.3, "mg", 0),
        ("1 oz", "g", 28.349523125, "oz", 0),
        ("2.72 g/cm3", "g/cm3", 2.72, "g/cm3", 2),
        ("2720 kg/m3", "g/cm3", 2.72, "kg/m3", 0),
        ("4 degC", "degC", 4.0, "degC", 0),
        ("-5 degC", "degC", -5.0, "degC", 0),
        ("50 degF", "degC", 10.0, "degF", 0),
        ("15 min", "s", 900.0, "min", 0),
        ("2 day", "s", 172_800.0, "day", 0),
        ("300 /min", "1/min", 300.0, "/min", 0),
        ("5 /s", "1/min", 300.0, "/s", 0),
        ("18000 /h", "1/min", 300.0, "/h", 0),
        ("23.2e-6 /K", "1/K", 2.32e-05, "/K", 7),
        ("3.7 volumes", "volumes", 3.7, "volumes", 1),
        ("2.0 %", "-", 0.02, "%", 1),
        ("0.05", "-", 0.05, "", 2),
        ("1", "-", 1.0, "", 0),
        ("2.5 J", "J", 2.5, "J", 1),
    ],
)
def test_each_unit_is_kept_in_its_canonical_one(
    text: str, canonical: str, nominal: float, unit: str, decimals: int
) -> None:
    """Values are converted through exact factors and rounded once; unit and decimals stay as written."""
    found = parse(text, canonical)
    assert found.nominal == nominal
    assert (found.unit, found.canonical, found.decimals) == (unit, canonical, decimals)


def test_there_is_no_minus_nothing() -> None:
    """A negative zero is a plain zero."""
    assert repr(parse("-0 mm", "mm").nominal) == "0.0"
    assert repr(parse("-0.0 in", "mm").nominal) == "0.0"


def test_a_tolerance_on_a_temperature_is_a_difference() -> None:
    """Two degrees Fahrenheit of tolerance are 10/9 degrees Celsius, wherever the scale has its zero."""
    found = parse("50 ±9 degF", "degC")
    assert (found.low, found.nominal, found.high) == (5.0, 10.0, 15.0)


@pytest.mark.parametrize(
    ("text", "canonical", "nominal"),
    [
        ("42 %", "-", 0.42),
        ("1.75", "-", 1.75),
        ("620 kPa", "MPa", 0.62),
        ("90 psi", "MPa", 0.6205281563851526),
        ("3.0 mm", "mm", 3.0),
        ("5 /s", "1/min", 300.0),
    ],
)
def test_the_written_unit_decides_where_any_dimension_will_do(
    text: str, canonical: str, nominal: float
) -> None:
    """Where the field takes any dimension, the number is kept in the canonical unit of the one written."""
    found = parse(text, conversion.ANY)
    assert (found.canonical, found.nominal) == (canonical, nominal)


# --- two units --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "66.04 mm (2.600 in)",
        "66.0 mm (2.600 in)",
        "66.04 mm (2.6 in)",
        "2.600 in (66.04 mm)",
        "115.20 ±0.25 mm (4.535 ±0.010 in)",
        "115.20 +0.25/-0.15 mm (4.535 +0.010/-0.006 in)",
        "115.05 to 115.45 mm (4.530 to 4.545 in)",
        "66.04 ±0.02 mm (2.600 in)",
        "620 kPa (90 psi)",
    ],
)
def test_two_units_agree_within_what_was_rounded(text: str) -> None:
    """Halves that differ by no more than half a last digit of either agree, and the first one counts."""
    canonical = "MPa" if "kPa" in text else "mm"
    first = text.partition("(")[0]
    both, alone = parse(text, canonical), parse(first, canonical)
    assert (both.nominal, both.low, both.high) == (alone.nominal, alone.low, alone.high)
    assert both.text == text


@pytest.mark.parametrize(
    ("text", "message", "hint"),
    [
        (
            "66.04 mm (2.700 in)",
            "the two halves disagree: 66.04 mm and 2.700 in (68.58 mm) differ by 2.54 mm",
            "in the brackets write 2.600 in",
        ),
        (
            "66.04 mm (2.601 in)",
            "the two halves disagree: 66.04 mm and 2.601 in (66.0654 mm) differ by 0.0254 mm",
            "in the brackets write 2.600 in",
        ),
        (
            "115.20 ±0.25 mm (4.535 ±0.013 in)",
            "the two halves disagree at the lower limit: "
            "114.95 mm and 4.522 in (114.8588 mm) differ by 0.0912 mm",
            "in the brackets write 4.526 in",
        ),
        (
            "66.04 mm (2.600 ±0.001 in)",
            "the tolerance is in the brackets only",
            "write the tolerance in both halves, or in the first half only",
        ),
    ],
)
def test_two_units_that_disagree_are_refused(text: str, message: str, hint: str) -> None:
    """Both values and their difference are reported, at the second half."""
    fault = refused(text, "mm")
    assert (fault.name, fault.message, fault.hint) == ("units.dual", message, hint)
    assert fault.column_offset == text.index("(") + 1


# --- refused ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("text", "canonical", "at", "says", "hint"),
    [
        ("", "mm", "quantity 0", "the value is missing; a length is required, such as 66.04 mm", ""),
        ("wide", "mm", "quantity 0", "wide is not a quantity; a length is required", ""),
        ("66.04", "mm", "quantity 5", "the unit is missing", "write 66.04 mm"),
        ("620", "MPa", "quantity 3", "the unit is missing; a pressure is required, such as 620 kPa", ""),
        ("14", "s", "quantity 2", "the unit is missing; a time is required, such as 15 min", ""),
        ("66.04 ±0.02", "mm", "quantity 11", "the unit is missing", "write 66.04 ±0.02 mm"),
        ("66.04 MM", "mm", "unknown 6", "MM is not a unit", "did you mean mm?"),
        ("2.6 inch", "mm", "unknown 4", "inch is not a unit", "did you mean in?"),
        ("2.6 inches", "mm", "unknown 4", "inches is not a unit", "did you mean in?"),
        ("66.04 milimetre", "mm", "unknown 6", "is not a unit", "did you mean"),
        ("1 millimetre", "mm", "unknown 2", "is not a unit", "did you mean mm?"),
        ("620 kpa", "MPa", "unknown 4", "is not a unit", "did you mean kPa?"),
        ("4 °C", "degC", "unknown 2", "°C is not a unit", "did you mean degC?"),
        ("300 rpm", "1/min", "unknown 4", "is not a unit", "did you mean /min?"),
        ("270 N/mm2", "MPa", "unknown 4", "is not a unit", "did you mean MPa?"),
        ("5 xyz", "mm", "unknown 2", "xyz is not a unit", "write one of cm, in, m, mm, thou, um"),
        ("5 mm*ft", "mm", "unknown 2", "is a calculation, not a unit", "one unit"),
        ("5 xyz", "any", "unknown 2", "xyz is not a unit", "%"),
        ("620 kPa", "mm", "dimension 4", "kPa is a pressure; a length is required, such as 66.04 mm", ""),
        ("30 deg", "mm", "dimension 3", "deg is an angle; a length is required", ""),
        ("5 mm", "-", "dimension 2", "mm is a length; a fraction is required", ""),
        ("5 %", "MPa", "dimension 2", "% is a fraction; a pressure is required", ""),
        ("66,04 mm", "mm", "quantity 2", "the number contains a comma", "write 66.04 mm"),
        ("1,234.5 mm", "mm", "quantity 1", "the number contains a comma", "write 1234.5 mm"),
        ("1,234 mm", "mm", "quantity 1", "the number contains a comma", "write 1.234 mm or 1234 mm"),
        ("0,262 ±0,004 mm", "mm", "quantity 1", "the number contains a comma", "write 0.262 ±0.004 mm"),
        ("٣ mm", "mm", "quantity 0", "arabic-indic digit three is not a digit from 0 to 9", "write 3 mm"),
        ("6\uff15 mm", "mm", "quantity 1", "fullwidth digit five is not a digit", "write 65 mm"),
        ("66\u00a0mm", "mm", "quantity 2", "an unusual space is here", "write 66 mm"),
        ("\u22125 degC", "degC", "quantity 0", "a minus sign is here", "write -5 degC"),
        ("90\u2013190 mm", "mm", "quantity 2", "an en dash is here", "write 90 to 190 mm"),
        ("90-190 mm", "mm", "quantity 2", "two limits need the word to between them", "write 90 to 190 mm"),
        ("66.04 ±2 %", "mm", "quantity 9", "a tolerance in percent is not allowed", "write it in mm"),
        ("66.04 ±2 % mm", "mm", "quantity 9", "a tolerance in percent is not allowed", "write it in mm"),
        ("66.04 mm ±2 %", "mm", "quantity 6", "percent is not allowed", "write the tolerance in mm"),
        ("2.6 in ±0.02 mm", "mm", "quantity 4", "in in, its tolerance or upper limit in mm", "in one unit"),
        ('2.6" ±0.02 mm', "mm", "quantity 3", 'in ", its tolerance or upper limit in mm', "in one unit"),
        ("1 in to 30 mm", "mm", "quantity 2", "in in, its tolerance or upper limit in mm", "in one unit"),
        ("66.04 mm ±0.02", "mm", "quantity 6", "the unit is missing at the end", "write 66.04 ±0.02 mm"),
        ("66.04 ±-0.02 mm", "mm", "quantity 7", "the number after ± has no sign", "write 66.04 ±0.02 mm"),
        ("5 +0.2/+0.1 mm", "mm", "quantity 1", "needs a + side and a - side", "write 5.1 to 5.2 mm"),
        ("5 -0.2/-0.1 mm", "mm", "quantity 1", "needs a + side and a - side", "write 4.8 to 4.9 mm"),
        ("5 +0.2/0.1 mm", "mm", "quantity 1", "needs a + side and a - side", "write 5 +0.2/-0.1 mm"),
        ("5 +0.2-0.1 mm", "mm", "quantity 2", "the tolerance is not complete", "write 5 +0.2/-0.1 mm"),
        ("50/-0.2 mm", "mm", "quantity 2", "the tolerance is not complete", "a + side, a / and a - side"),
        ("5 ± mm", "mm", "quantity 2", "the tolerance is not complete", "write ± and a number"),
        ("0.262 ±.004 mm", "mm", "quantity 6", "the tolerance is not complete", "write 0.262 ±0.004 mm"),
        ("±0.02 66.04 mm", "mm", "quantity 0", "a quantity begins with its number", "write 66.04 ±0.02 mm"),
        ("mm 66.04", "mm", "quantity 0", "is not a quantity", "write 66.04 mm"),
        ("66.04 mm mm", "mm", "unknown 6", "mm mm is not a unit", "write 66.04 mm"),
        ("116 to 115 mm", "mm", "quantity 0", "the lower limit is above", "write 115 to 116 mm"),
        ("1e400 mm", "mm", "quantity 0", "too large", ""),
        ("1e99999 mm", "mm", "quantity 0", "too large", ""),
        ("1e-400 mm", "mm", "quantity 0", "too small", ""),
        ("5 ±1e-40 mm", "mm", "quantity 3", "too small", ""),
        ("1.234567890123456 mm", "mm", "quantity 0", "16 digits are too many; at most 15", ""),
        ("010 mm", "mm", "quantity 1", "begins with 0 only if", "write 10 mm or 0.10 mm"),
        ("1 000 mm", "mm", "quantity 2", "has a gap between digits", "write 1000 mm"),
        ("1_000 mm", "mm", "quantity 1", "has a gap between digits", "write 1000 mm"),
        ("1/2 in", "mm", "quantity 1", "a fraction is not allowed", "write 0.5 in"),
        ("2 10/16 in", "mm", "quantity 2", "a fraction is not allowed", "write 2.625 in"),
        ("2 1/16 in", "mm", "quantity 2", "a fraction is not allowed", "write 2.0625 in"),
        ("1/3 in", "mm", "quantity 1", "a fraction is not allowed", "write the fraction as a decimal"),
        (".5 mm", "mm", "quantity 0", "begins with a digit", "write 0.5 mm"),
        ("5. mm", "mm", "quantity 1", "the decimal point is wrong", "write 5 mm"),
        ("0.5.3 mm", "mm", "quantity 3", "the decimal point is wrong", ""),
        ("±2 mm", "mm", "quantity 0", "begins with its number, not with ±; a length is required", ""),
        ("nan mm", "mm", "quantity 0", "nan mm is not a quantity", ""),
        ("66.04 mm (2.6 in", "mm", "quantity 9", "the closing bracket is missing", "write 66.04 mm (2.6 in)"),
        ("66 mm (2.6 in) x", "mm", "quantity 6", "the closing bracket is missing", ""),
        ("66.04 mm (2.600)", "mm", "quantity 15", "the unit is missing", ""),
        ("66.04 mm (90 psi)", "mm", "dimension 13", "psi is a pressure", ""),
        ("6" * 121, "mm", "quantity 0", "121 characters are too long", ""),
    ],
)  # fmt: skip
def test_each_fault_has_its_own_words(text: str, canonical: str, at: str, says: str, hint: str) -> None:
    """What is wrong is said in plain words at its column, with what to write instead where that is known."""
    fault = refused(text, canonical)
    assert says in fault.message
    assert hint in fault.hint if hint else not re.search("[0-9]", fault.hint)
    assert f"{fault.name} {fault.column_offset}" == f"units.{at}"


def outcome(text: str, canonical: str) -> Quantity | QuantityFault:
    """The quantity, or the fault."""
    try:
        return parse(text, canonical)
    except QuantityFault as fault:
        return fault


@settings(deadline=None)  # the first unusual unit loads pint
@given(st.text(max_size=40))
@example("1e99999 mm")
@example("9" * 5000)
@example("__import__('os').getcwd()")
@example("1 (")
@example("²")
@example("1 ±")
def test_any_text_is_a_quantity_or_refused(text: str) -> None:
    """No text makes the parser fail in another way, and no fault points outside the text."""
    for canonical in ("mm", "-", "degC", conversion.ANY):
        found = outcome(text, canonical)
        if isinstance(found, Quantity):
            assert found.low <= found.nominal <= found.high
        else:
            assert found.message
            assert 0 <= found.column_offset <= len(text)


PIECES = [
    *("1", "0", "66.04", "5e3", "-", "+", "±", "+/-", " to ", " ", ".", ",", "(", ")", "e", "*", "/"),
    *("%", "mm", "in", "/min", "kPa", "mm ±", "\u00a0", "\u2212", "°", "٣"),
]


@settings(max_examples=400, deadline=None)
@given(st.lists(st.sampled_from(PIECES), max_size=9).map("".join))
def test_any_heap_of_pieces_is_a_quantity_or_refused(text: str) -> None:
    """The same for texts that look like quantities."""
    test_any_text_is_a_quantity_or_refused.hypothesis.inner_test(text)  # type: ignore[attr-defined]


# --- cost and safety --------------------------------------------------------------------------


def test_a_spec_in_usual_units_loads_neither_pint_nor_jsonschema() -> None:
    """Importing the reader and converting what every spec holds leaves the slow libraries alone."""
    code = (
        "import sys; from kb.book import finding, source, quantity, schema;"
        "[quantity.parse(text, unit) for text, unit in (('66.04 mm (2.600 in)', 'mm'), ('620 kPa', 'MPa'),"
        "('330 ml', 'mm3'), ('2.0 %', '-'), ('0.9 kN', 'N'), ('300 /min', '1/min'), ('8 %', 'any'))];"
        "print([name for name in ('pint', 'jsonschema', 'numpy') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", ["quantity", "conversion", "misreading"])
def test_nothing_is_evaluated(name: str) -> None:
    """No text from a spec can be run: the parser calls nothing that would."""
    path = Path(conversion.__file__).with_name(f"{name}.py")
    called = {
        node.func.id
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    }
    assert not called & {"eval", "exec", "compile", "__import__", "getattr"}


def test_a_quantity_once_understood_is_not_read_again() -> None:
    """The same text gives the same object, so a thousand formats cost little more than their differences."""
    first = parse("65.840 ±0.002 mm", "mm")
    assert isinstance(first, Quantity)
    assert parse("65.840 ±0.002 mm", "mm") is first


# --- a quantity as a number -------------------------------------------------------------------


def test_a_quantity_is_the_number_that_it_gives() -> None:
    """It counts, compares and prints as its target value, and arithmetic gives plain numbers."""
    gauge = parse("0.270 ±0.005 mm", "mm")
    assert gauge == 0.27
    assert {gauge: "here"}[0.27] == "here"
    assert (str(gauge), f"{gauge:.2f}", json.dumps([gauge])) == ("0.27", "0.27", "[0.27]")
    for made in (gauge * 2, -gauge, +gauge, abs(gauge), gauge.nominal, np.asarray(gauge)[()]):
        assert not isinstance(made, Quantity)
    assert (np.ones(2) * gauge).tolist() == [0.27, 0.27]


@pytest.mark.parametrize("copied", [copy.copy, copy.deepcopy, lambda one: pickle.loads(pickle.dumps(one))])
def test_a_copy_of_a_quantity_has_all_of_it(copied: Callable[[Quantity], Quantity]) -> None:
    """Copied, or sent to another process, it has the same limits, text and units."""
    first = parse("4.535 +0.010/-0.006 in (115.19 mm)", "mm")
    other = copied(first)
    assert isinstance(other, Quantity)
    assert [getattr(other, name) for name in Quantity.__slots__] == [
        getattr(first, name) for name in Quantity.__slots__
    ]
    assert float(other) == float(first)


def test_a_quantity_is_frozen() -> None:
    """No part of it can be set: the same object serves every format with the same text."""
    with pytest.raises(AttributeError, match="a quantity is frozen: low cannot be set"):
        parse("0.270 mm", "mm").low = 0.1
