"""Keys: how a value of a record is found and listed, and the quantities that records hold."""

from __future__ import annotations

import pytest

from kb.book.keys import at, quantities, quantity_at, values
from kb.book.load import Book
from kb.book.quantity import Quantity
from kb.book.records import Band


def test_a_record_holds_what_its_file_says(demo: Book) -> None:
    """A number of a record has the limits and the text of the file."""
    gauge = demo.of("size-format")["b211-330"].record.stock.gauge
    assert isinstance(gauge, Quantity)
    assert (gauge, gauge.low, gauge.high) == (0.262, 0.258, 0.266)
    assert (gauge.text, gauge.canonical) == ("0.262 ±0.004 mm", "mm")
    width = demo.of("material")["marsh-3104"].record.coil_width
    assert isinstance(width, Band)
    assert (width.low, width.high) == (width.written.low, width.written.high)


def test_a_record_of_samples_or_defaults_may_have_plain_numbers(demo: Book) -> None:
    """A number that no file gives is a number without a text."""
    assert not isinstance(demo.of("size-format")["b211-330"].record.fill.nitrogen, Quantity)


@pytest.mark.parametrize(
    "key",
    [
        "stock.gauge.text",
        "stock.colour",
        "lines[9]",
        "lines.x",
        "",
        "a..b",
        "stock[0]",
        "lines[]",
        "lines[²]",
        "lines[" + "9" * 9999 + "]",
    ],
)
def test_a_wrong_key_is_a_lookup_error(demo: Book, key: str) -> None:
    """A key that names nothing is refused, and has no quantity."""
    record = demo.of("size-format")["b211-330"].record
    with pytest.raises(LookupError):
        at(record, key)
    assert quantity_at(record, key) is None


def test_a_key_names_the_value_of_the_file(demo: Book) -> None:
    """Each value of each record is found under its key, and it is what the file has there."""
    seen = 0
    for kind in demo.specs:
        for spec in demo.of(kind).values():
            for key, value in values(spec.record):
                assert at(spec.record, key) is value, (spec.id, key)
            for key, quantity in quantities(spec.record):
                assert quantity_at(spec.record, key) is quantity
                assert getattr(spec.document.node(key), "text", None) == quantity.text
                seen += 1
    assert seen > 1500
