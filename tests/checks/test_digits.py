"""How many digits a reader sees: by the tolerance, two for a percentage, a limit as it is written."""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping

import pytest

from kb.book.conversion import FINEST, PERCENT_FIGURES
from kb.book.load import Book
from kb.checks.by_station import ResultRow, route_of, row_figures, shown
from kb.checks.judge import Verdict
from kb.checks.report import Report
from kb.checks.words import finding, limit_words, margin_words, value_words
from kb.output.route_text import as_table
from kb.publish.words import judged
from kb.route.assemble import Assembled

FORMATS = ("b211-330", "b204-330")


@pytest.fixture(params=FORMATS)
def ident(request: pytest.FixtureRequest) -> str:
    """A format of each line."""
    return str(request.param)


@pytest.fixture
def rows(ident: str, demo: Book, demo_report: Report) -> list[ResultRow]:
    """Every row of a format's route."""
    return [row for part in route_of(demo, ident, demo_report).sections for row in part.rows]


def decimals(text: str) -> int:
    """Decimals of a printed number."""
    return len(text.partition(".")[2])


def significant(text: str) -> int:
    """Digits of a printed number from its first that is not 0, decimals at its end among them."""
    whole = re.sub(r"[−+]", "", text)
    digits = whole.replace(".", "").lstrip("0")
    return len(digits) if "." in whole else len(digits.rstrip("0")) or 1


def of_unit(rows: list[ResultRow], show: str) -> Iterator[tuple[ResultRow, list[str]]]:
    """Rows of one unit with their numbers, without those that cannot be calculated."""
    for row in rows:
        if row.show == show and all(math.isfinite(one) for one in row.spread):
            yield row, row_figures(row)


def test_millimetres_end_at_their_tolerance(rows: list[ResultRow]) -> None:
    """A size in mm has at most three decimals, and none beyond the second figure of its tolerance."""
    seen = 0
    for row, texts in of_unit(rows, "mm"):
        band = shown(row, row.spread.high) - shown(row, row.spread.low)
        most = FINEST["mm"]
        if band > 1e-9:
            most = min(most, max(0, 1 - math.floor(math.log10(float(f"{band / 2:.1e}")))))
            seen += 1
        assert max(map(decimals, texts)) <= most, (row.said, texts)
        assert len({decimals(one) for one in texts if one != "0"}) <= 1, (row.said, texts)
    assert seen > 40


def test_percentages_have_two_figures(rows: list[ResultRow]) -> None:
    """The largest of a percentage, its low and its high has at most two significant figures."""
    seen = [(row.said, texts) for row, texts in of_unit(rows, "%")]
    assert len(seen) > 20
    for said, texts in seen:
        largest = max(texts, key=lambda one: abs(float(one.replace("−", "-"))))
        if abs(float(largest.replace("−", "-"))) < 100:
            assert significant(largest) <= PERCENT_FIGURES, (said, texts)


def test_no_number_of_a_row_changes_by_more_than_its_last_digit(rows: list[ResultRow]) -> None:
    """What is printed is the value, rounded at its last digit."""
    for row in rows:
        for value, text in zip(row.spread, row_figures(row), strict=True):
            if math.isfinite(value):
                number = float(text.replace("−", "-"))
                assert abs(number - shown(row, value)) <= 0.5 * 10 ** -decimals(text) * (1 + 1e-6), row.said


def test_limits_have_no_zeros_at_their_end(ident: str, demo_report: Report) -> None:
    """A limit is printed as a person writes it: 42 %, not 42.00 %."""
    for verdict in demo_report.verdicts[ident]:
        for text in re.findall(r"[\d.]+", limit_words(verdict)):
            assert not ("." in text and text.endswith(("0", "."))), (verdict.rule.name, text)


def test_margins_are_two_figures_and_say_something(ident: str, demo: Book, demo_report: Report) -> None:
    """No margin has more than two figures, and no row shows a margin that is 0 % by definition."""
    table = as_table(route_of(demo, ident, demo_report), width=160)
    margins = [
        found[1] for line in table.splitlines() if (found := re.search(r"([−\d.]+) % [█·]{10} \[", line))
    ]
    assert len(margins) > 60
    assert [one for one in margins if significant(one) > PERCENT_FIGURES or one == "0"] == []
    for verdict in demo_report.verdicts[ident]:
        row = judged(verdict)
        assert row["margin"] is None or row["margin"].words != "0 %", verdict.rule.name


def test_a_value_outside_never_looks_like_its_limit(
    formats: Mapping[str, Assembled], demo_report: Report
) -> None:
    """A reduction of 42.04 % against a limit of 42 % gets the digits that show it is outside."""
    (verdict,) = [one for one in demo_report.verdicts["b211-330"] if one.rule.name == "trim.waste"]
    out = verdict._replace(most=0.08, spread=verdict.spread._replace(nominal=0.0803, low=0.0801, high=0.0804))
    assert value_words(out) == "8.04 %"
    assert (
        "8.04 % at the worst corner (8.03 % nominal); at most 8 %"
        in finding(formats["b211-330"], out, ()).message
    )
    inside: Verdict = verdict._replace(
        most=0.08, spread=verdict.spread._replace(nominal=0.0793, low=0.079, high=0.0796)
    )
    assert value_words(inside) == "8 %"


@pytest.mark.parametrize(
    ("margin", "words"), [(0.0489, "4.9 %"), (42.74, "4300 %"), (0.1249, "12 %"), (-0.996, "−100 %")]
)
def test_a_margin_has_two_figures(margin: float, words: str) -> None:
    """A margin of more than 100 % is rounded to two figures too."""
    assert margin_words(margin) == words
