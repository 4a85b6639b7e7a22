"""What is proposed for a quantity with a slip: the reader's own numbers, all of them, or nothing."""

from __future__ import annotations

import re
import unicodedata
from decimal import Decimal

import pytest
from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from kb.book import schema
from kb.book.misreading import Usual
from kb.book.quantity import Quantity, QuantityFault, parse
from tests.book.readings import document

NUMBER = re.compile(r"[0-9]+(?:\.[0-9]+)?(?:e-?[0-9]+)?")


def digits_of(text: str) -> str:
    """All digits of a text in their order, in plain form, zeros that lead a number left out."""
    plain = "".join(str(unicodedata.decimal(one)) if one.isdecimal() else one for one in text)
    plain = re.sub(r"(?<=[0-9])[,.'_ \u00a0\u2009\u202f](?=[0-9])|(?<![0-9])[,.](?=[0-9])", "", plain)
    return ".".join(one.lstrip("0") for one in re.findall("[0-9]+", plain))


@st.composite
def slips(draw: st.DrawFn) -> tuple[str, str, str]:
    """A written quantity with slips, the quantity that was meant, and the kind of slip."""
    nominal = Decimal(draw(st.integers(1, 99_999))).scaleb(-draw(st.integers(0, 4)))
    side = Decimal(draw(st.integers(1, 99))).scaleb(-draw(st.integers(0, 4)))
    unit, canonical = draw(st.sampled_from([("mm", "mm"), ("in", "mm"), ("kPa", "MPa"), ("degC", "degC")]))
    number, tolerance = f"{nominal:f}", f"{side:f}"
    sign = draw(st.sampled_from([" ±", " +- ", "+/-", " ± ", " +/- "]))
    right = draw(st.sampled_from([f"{number} {unit}", f"{number}{sign}{tolerance} {unit}"]))
    slip = draw(st.sampled_from(sorted(SLIPS)))
    return SLIPS[slip](right, unit), right, canonical


SLIPS = {
    "comma decimals": lambda text, unit: text.replace(".", ","),
    "no-break space": lambda text, unit: text.replace(" ", "\u00a0"),
    "thin space": lambda text, unit: text.replace(" ", "\u2009"),
    "full-width digits": lambda text, unit: re.sub("[0-9]", lambda found: chr(0xFF10 + int(found[0])), text),
    "arabic digits": lambda text, unit: re.sub("[0-9]", lambda found: chr(0x660 + int(found[0])), text),
    "unit first": lambda text, unit: f"{unit} {text.removesuffix(unit).strip()}",
    "no space": lambda text, unit: text.replace(" ", ""),
    "unit missing": lambda text, unit: text.removesuffix(unit).strip(),
    "unit twice": lambda text, unit: f"{text} {unit}",
    "unit after the first half": lambda text, unit: re.sub(
        r"^([0-9.]+)(.*) [a-zA-Z]+$", rf"\1 {unit}\2", text
    ),
    "point without a digit": lambda text, unit: re.sub(r"(?<![0-9])0\.", ".", text),
    "unit in capitals": lambda text, unit: text.removesuffix(unit) + unit.upper(),
    "percent": lambda text, unit: text.removesuffix(unit) + "%",
    "unicode minus": lambda text, unit: f"\u2212{text}",
    "diameter sign": lambda text, unit: f"Ø{text}",
    "double sign": lambda text, unit: re.sub(r" ?(?:±|\+-|\+/-) ?", " ±-", text),
    "calculation": lambda text, unit: f"{text}*2",
    "spaced thousands": lambda text, unit: re.sub(r"^([0-9]{2})([0-9]{3})", r"\1 \2", text),
    "unclosed bracket": lambda text, unit: f"{text} ({text}",
}


def outcome(text: str, canonical: str) -> Quantity | QuantityFault:
    """The quantity, or the fault."""
    try:
        return parse(text, canonical)
    except QuantityFault as fault:
        return fault


def offered(fault: QuantityFault) -> list[str]:
    """The quantities that a fix proposes."""
    return fault.hint.removeprefix("write ").split(" or ")


@settings(max_examples=600, deadline=None)
@given(slips())
@example(('0.0103" +- 0.0002 mm', "", "mm"))
@example(("0,262 ±0,004 mm", "0.262 ±0.004 mm", "mm"))
def test_a_repair_holds_every_number_of_the_reader_and_no_other(case: tuple[str, str, str]) -> None:
    """A fix with a number in it has the reader's digits, all and in order, and reads as a quantity."""
    text, _, canonical = case
    found = outcome(text, canonical)
    if isinstance(found, QuantityFault) and NUMBER.search(found.hint):
        for one in offered(found):
            assert isinstance(parse(one, canonical), Quantity), (text, found.hint)
            assert digits_of(one) == digits_of(text), (text, found.hint)


@settings(max_examples=300, deadline=None)
@given(slips())
def test_a_repair_is_what_was_meant(case: tuple[str, str, str]) -> None:
    """What a slip of characters or places hides is among what is proposed, if anything is.

    A missing unit is no such slip: nothing in the text says which it was.
    """
    text, right, canonical = case
    assume(any(one in text for one in "%°") or any(one.isalpha() for one in text))
    meant, found = parse(right, canonical), outcome(text, canonical)
    wanted = (meant.nominal, meant.high - meant.low)
    if isinstance(found, Quantity):
        assert abs(found.nominal) == pytest.approx(meant.nominal), (text, right)
    elif NUMBER.search(found.hint):
        values = [parse(one, canonical) for one in offered(found)]
        sizes = [(abs(one.nominal), one.high - one.low) for one in values]
        assert any(one == pytest.approx(wanted) for one in sizes), (text, right, found.hint)


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("2 1/16 in", "write 2.0625 in"),
        ("2½ in", "write 2.5 in"),
        ("2-5/8 in", "write 2.625 in"),
        ("1/2 ±1/64 in", "write 0.5 ±0.015625 in"),
        ("5 +0.2/+0.1 mm", "write 5.1 to 5.2 mm"),
    ],
)
def test_a_conversion_in_a_repair_is_exact(text: str, hint: str) -> None:
    """A fraction becomes the decimal that it is; limits counted from a number become the limits."""
    with pytest.raises(QuantityFault) as caught:
        parse(text, "mm")
    assert caught.value.hint == hint


def test_the_usual_unit_is_proposed_where_none_is_written() -> None:
    """A pressure is usually written in kPa; the number and its tolerance stay as written."""
    with pytest.raises(QuantityFault) as caught:
        parse("620 ±5", "MPa", Usual("kPa", (0.1, 2.0)))
    assert caught.value.hint == "write 620 ±5 kPa"


LENGTH = {"dimension": "length", "unit": "mm", "band": [0.2, 0.45]}


def fixes(text: str, **wanted: object) -> tuple[str, ...]:
    """What is proposed for a text under a key of a small schema."""
    shape = {"type": ["string", "number"], "quantity": {**LENGTH, **wanted}}
    kind = {"kind": {"const": "thing"}, "gauge": shape}
    schemas = schema.Schemas({"thing": {"type": "object", "properties": kind}})
    (found,) = schema.judge(document(f"kind: thing\ngauge: '{text}'\n"), schemas).findings
    return found.fixes


@pytest.mark.parametrize(
    ("text", "wanted", "fix"),
    [
        ("0.0103 mm ±0.0002 mm", {}, "if so, write 0.0103 ±0.0002 in"),
        ("0.0103 ±0.0002 mm (0.0103 mm)", {}, "if so, write 0.0103 ±0.0002 in"),
        ("0.262 mm", {"tolerance": "required"}, "write ± and the tolerance after 0.262"),
        ("0.262 ±0.004 mm", {"tolerance": "none"}, "write 0.262 mm"),
        ("0.260 to 0.264 mm", {"tolerance": "none"}, "write one number"),
        ("0.262 ±0.004 mm", {"range": True}, "write 0.258 to 0.266 mm"),
        ("0.262 mm", {"range": True}, "write both limits, with the word to between them"),
    ],
)
def test_a_finding_on_form_or_band_keeps_the_numbers(text: str, wanted: dict[str, object], fix: str) -> None:
    """A fix repeats what the reader wrote; it borrows no number from an example."""
    assert fixes(text, **wanted) == (fix,)
