"""Findings as they are printed and put in order."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kb.book.finding import Finding, Place, Span, one_line


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("66.04 ±0.02 mm", "66.04 ±0.02 mm"),
        ("a\nb\tc", r"a\u000ab\u0009c"),
        ("\x1b[31mred", r"\u001b[31mred"),
        ("\u202emm", r"\u202emm"),
        ("\U000e0041", r"\U000e0041"),
        ("", ""),
    ],
)
def test_one_line_shows_what_does_not_print_by_its_code(text: str, safe: str) -> None:
    """Control characters, line ends and marks of direction cannot reach a terminal."""
    assert one_line(text) == safe


@given(st.text())
def test_one_line_is_always_one_printable_line(text: str) -> None:
    """Any text comes out short and prints as itself."""
    safe = one_line(text * 50, 100)
    assert safe.isprintable()
    assert len(safe) <= 100


def test_a_finding_is_safe_to_print_and_has_its_order() -> None:
    """Message and fixes are made one line each; findings sort by file, line, column, name."""
    first = Finding("a.b", "error", Place("f", "", Span(2, 1, 2, 2)), "x\ny", ("p\rq",))
    second = Finding("a.a", "error", Place("f", "", Span(10, 1, 10, 2)), "x")
    assert (first.message, first.fixes) == (r"x\u000ay", (r"p\u000dq",))
    assert sorted([second, first], key=lambda finding: finding.order) == [first, second]
