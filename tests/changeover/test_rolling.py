"""The price of changing like machines one after the other, said where the line allows it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.book.load import Book
from kb.book.records import Line
from kb.changeover.plan import PlannedChangeover
from kb.changeover.rolling import one_at_a_time
from tests.changeover.conftest import LABEL, METAL


@pytest.fixture
def heron(demo: Book) -> Line:
    """The line with two printers, each with gates of its own."""
    line: Line = demo.of("line")["heron"].record
    return line


def test_a_label_change_says_why_the_line_stops(
    changed: Mapping[str, PlannedChangeover], heron: Line
) -> None:
    """Each printer makes 55 % of the line's cans, so two printers one at a time lose more than the stop."""
    found = one_at_a_time(changed[LABEL].plan, heron)
    assert found is not None
    assert (found.count, found.planned) == (2, changed[LABEL].plan.stop.length)
    assert found.speed == pytest.approx(1100 / 2000)
    # run out, isolate, plates, inks, release, register, pass
    assert found.each == 60 * (2 + 3 + 14 + 12 + 3 + 11 + 6)
    assert found.lost == round(found.stop + 2 * 0.45 * found.each)
    assert found.lost > found.planned
    assert found.words.endswith("The plan stops the line: this costs no more output.")
    assert found.words == changed[LABEL].durations.one_at_a_time


def test_where_the_others_keep_the_speed_only_the_stop_is_lost(
    changed: Mapping[str, PlannedChangeover], heron: Line
) -> None:
    """With printers that keep the line's speed alone, one at a time loses less, and the words say so."""
    machines = tuple(
        replace(one, speed=heron.speed) if one.kind == "printer" else one for one in heron.machines
    )
    found = one_at_a_time(changed[LABEL].plan, replace(heron, machines=machines))
    assert found is not None
    assert found.lost == found.stop < found.planned
    assert "saves" in found.words


def test_no_price_where_hands_go_into_other_machines_too(
    changed: Mapping[str, PlannedChangeover], heron: Line
) -> None:
    """A metal change opens many machines, so nothing is said of one group alone."""
    assert one_at_a_time(changed[METAL].plan, heron) is None


def test_no_price_where_the_line_does_not_allow_it(
    changed: Mapping[str, PlannedChangeover], heron: Line
) -> None:
    """Machines without gates of their own are changed together."""
    machines = tuple(replace(one, one_at_a_time=False) for one in heron.machines)
    assert one_at_a_time(changed[LABEL].plan, replace(heron, machines=machines)) is None
