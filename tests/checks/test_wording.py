"""Findings as a reader sees them: one line, the reader's unit, where the limit comes from."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.book.records import Limit
from kb.checks.catalog import GEOMETRY, MECHANICS, RULES
from kb.checks.judge import Verdict, judge_case, judge_route
from kb.checks.words import finding, limit_words, margin_words, number, quantity, source
from kb.route.assemble import Assembled
from kb.route.study import Spread

Found = Mapping[str, Verdict]


@pytest.fixture(scope="module")
def verdicts(formats: Mapping[str, Assembled], limits: Mapping[str, Limit]) -> Found:
    """The verdicts of one valid format by check, the last of each."""
    assembled = formats["b211-330"]
    every = judge_case(assembled.case, GEOMETRY, limits) + judge_route(assembled.study, MECHANICS, limits)
    return {one.rule.name: one for one in every}


def at(verdict: Verdict, low: float, nominal: float, high: float) -> Verdict:
    """The same verdict on another value."""
    return verdict._replace(spread=Spread(nominal, low, high))


def test_a_finding_says_value_corner_nominal_and_limit(
    verdicts: Found, formats: Mapping[str, Assembled]
) -> None:
    """What, how much at the worst corner and nominal, the limit; then the source with owner and review."""
    found = finding(formats["b211-330"], at(verdicts["trim.allowance"], 0.8, 2.0, 3.1), ("do this",))
    assert found.message == (
        "trim allowance at the ear valleys 0.8 mm at the worst corner (2.0 mm nominal); at least 1.5 mm"
    )
    assert found.source == (
        "Knife overlap and height spread; plant setting (owner body tooling, review 2027-03-31)"
    )
    assert (found.severity, found.subject, found.fixes) == ("error", "b211-330", ("do this",))
    assert found.place.file == "specs/formats/b211-330.yaml"
    assert found.place.key == "trim.height"
    measure = found.measure
    assert measure is not None
    assert (measure.value, measure.nominal, measure.limit, measure.sense) == (0.8, 2.0, 1.5, "least")
    assert measure.case == "worst corner"
    assert measure.margin == pytest.approx(-0.7 / 1.5)


def test_a_value_without_spread_needs_no_corner(verdicts: Found, formats: Mapping[str, Assembled]) -> None:
    """A value that no tolerance touches is reported once, as the nominal case."""
    found = finding(formats["b211-330"], at(verdicts["blank.web"], 0.6, 0.6, 0.6), ())
    assert found.message == "web 0.6 mm; at least 0.7 mm"
    assert found.measure is not None
    assert found.measure.case == "nominal"


def test_shares_are_reported_in_per_cent_and_pressures_in_kilopascals(
    verdicts: Found, formats: Mapping[str, Assembled]
) -> None:
    """The reader's unit is used for value and limit alike, and a minus is a minus."""
    reduction = at(verdicts["ironing.ring-reduction"], 0.40, 0.42, 0.445)
    assert (
        "44 % at the worst corner (42 % nominal); at most 43 %"
        in finding(formats["b211-330"], reduction, ()).message
    )
    dome = finding(formats["b211-330"], at(verdicts["dome.reversal"], 0.6, 0.63, 0.66), ())
    assert (
        "600 kPa at the worst corner (630 kPa nominal); at least 620 kPa, the target of the format"
        in dome.message
    )
    below = finding(formats["b211-330"], at(verdicts["trim.allowance"], -4.865, -2.1, 0.0), ())
    assert "−4.9 mm" in below.message


def test_both_ends_of_a_window_are_reported(verdicts: Found) -> None:
    """A window's limits are reported together."""
    assert limit_words(verdicts["cup.height"]) == "at least 20 mm and at most 60 mm"
    assert limit_words(verdicts["trim.allowance"]) == "at least 1.5 mm"


def test_what_cannot_be_computed_says_so(verdicts: Found, formats: Mapping[str, Assembled]) -> None:
    """A value that is no number is reported in words and leaves no margin."""
    found = finding(formats["b211-330"], at(verdicts["trim.allowance"], math.nan, 2.0, math.nan), ())
    assert (
        found.message
        == "trim allowance at the ear valleys cannot be calculated at the worst corner of the tolerances"
    )
    assert found.measure is not None
    assert found.measure.margin is None
    assert margin_words(math.nan) == "not calculated"
    assert margin_words(-0.0312) == "−3.1 %"


def test_a_draft_may_be_wrong(verdicts: Found, formats: Mapping[str, Assembled]) -> None:
    """In a draft an error is a warning that says what it becomes; in a trial or a release it is an error."""
    wrong = at(verdicts["trim.allowance"], 0.8, 2.0, 3.1)
    draft = finding(formats["b211-440-light"], wrong, ())
    assert draft.severity == "warning"
    assert draft.message.endswith("; an error once released")
    for ident in ("b211-330", "b204-355"):
        assert finding(formats[ident], wrong, ()).severity == "error"
    warning = finding(formats["b211-440-light"], at(verdicts["cup.die-radius"], 2.0, 3.0, 4.0), ())
    assert warning.severity == "warning"
    assert "once released" not in warning.message


def test_the_sense_is_of_the_side_that_is_broken(verdicts: Found, formats: Mapping[str, Assembled]) -> None:
    """Where least and most are one number, the sense says on which side of it the value is."""
    across = verdicts["line.across"]
    assert across.least == across.most == 12.0
    for value, sense in ((10.0, "least"), (14.0, "most")):
        measure = finding(formats["b211-330"], at(across, value, value, value), ()).measure
        assert measure is not None
        assert measure.sense == sense
    for low, high, sense in ((10.0, 40.0, "least"), (30.0, 70.0, "most")):
        measure = finding(formats["b211-330"], at(verdicts["cup.height"], low, 35.0, high), ()).measure
        assert measure is not None
        assert measure.sense == sense


def test_every_message_is_one_printable_line(verdicts: Found, formats: Mapping[str, Assembled]) -> None:
    """For any measured value and any source, a finding is one line of printable text."""
    for verdict in verdicts.values():
        limit = verdict.limit and replace(verdict.limit, source="two\nlines\x07\u202e")
        for spread in (verdict.spread, Spread(-1e9, -1e9, 1e9), Spread(math.nan, math.nan, math.nan)):
            found = finding(formats["b211-330"], verdict._replace(spread=spread, limit=limit), ("a\nb",))
            assert found.message.isprintable()
            assert all(fix.isprintable() for fix in found.fixes)


def test_where_a_limit_comes_from(verdicts: Found) -> None:
    """A plant's limit names its source; of a limit in the specs the message itself says what it is."""
    for name, verdict in verdicts.items():
        text = source(verdict)
        if RULES[name].limit == "plant":
            assert "owner" in text
            assert "review" in text
        else:
            assert text == ""
            assert verdict.against


@given(value=st.floats(allow_nan=True, allow_infinity=True))
def test_any_number_is_reported_without_an_exponent(value: float) -> None:
    """Numbers of any size are plain digits, or said not to be numbers."""
    text = number(value)
    if math.isfinite(value):
        assert set(text) <= set("0123456789.−")
        assert float(text.replace("−", "-")) == pytest.approx(value, rel=5e-4, abs=5.1e-4)
    else:
        assert text == "not a number"
    assert quantity(value, unit="-", show="-") == text
