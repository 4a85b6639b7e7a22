"""One pair of formats has one answer for every caller; recorded stops are those of the same crew."""

from __future__ import annotations

import json
import re
from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.book.load import Book, load
from kb.changeover.durations import Clock, Past, disagreement
from kb.changeover.lever import Lever, levers_in_order
from kb.changeover.plan import Changeovers, PlannedChangeover, Planner, change, sheet_of
from kb.changeover.text import change_text, lever_words, week_text
from kb.changeover.times import minutes
from kb.changeover.week import Beside, notes_on_order, ordered, too_short
from kb.checks.consistency.changeover import changeover_faults
from kb.output.json_reports import change_json, week_json
from kb.publish.changeover_pages import _lever
from kb.publish.changeovers import LineChanges, all_changes
from kb.scheduling.activities import NoPlan
from kb.scheduling.critical_path import DurationStats
from kb.scheduling.sequence import Batch, Order, OrderComparison, PlacedBatch
from tests.changeover.conftest import MADE
from tests.conftest import MakeBook, put

PAIRS = [
    ("heron", "b211-330", "b211-500"),
    ("heron", "b211-330", "b211-330-lantern"),
    ("heron", "b211-500-206", "b211-330"),
    ("plover", "b204-330", "b202-250"),
]


@pytest.fixture(scope="module")
def lines(demo: Book) -> Mapping[str, LineChanges]:
    """The changeovers of the demo as the site has them."""
    return all_changes(demo)


@pytest.mark.parametrize(("line", "old", "new"), PAIRS)
def test_a_pair_has_one_answer(
    demo: Book, lines: Mapping[str, LineChanges], line: str, old: str, new: str
) -> None:
    """Text, JSON, page, matrix and a fresh solver give the same minutes, times and levers."""
    crew = lines[line].crews[0]
    pair = lines[line].pairs[crew.id][old, new]
    assert pair.plan is not None
    alone = change(demo, old, new, line, crew.id)
    assert pair.plan == alone.plan
    assert pair.durations == alone.durations
    fresh = Planner(demo, crew.id)  # it has solved nothing before, as a command of its own
    assert fresh.plan(alone.difference) == pair.plan
    assert fresh.stop(alone.difference).seconds == pair.plan.stop.length
    assert Changeovers(demo, line, crew.id).stop(old, new).seconds == pair.plan.stop.length
    sheet = sheet_of(demo, alone, made=MADE)
    found = levers_in_order(alone.plan)
    text = change_text(alone, sheet, found)
    assert f"planned {pair.minutes} min" in text
    record = json.loads(change_json(alone, sheet, found))
    assert minutes(record["schedules"]["stop"]["length"]) == pair.minutes
    for shown in levers_in_order(pair.plan):
        page = _lever(shown)
        way = rf"make {shown.step.id} external" if shown.way == "external" else rf"halve {shown.step.id}"
        matches = re.search(rf"{way}: stop (\d+) -> (\d+) min", text)
        if matches:  # the text has the best few of each way
            assert (page["stop"], page["then"]) == (int(matches[1]), int(matches[2]))


def test_the_hidden_half_minute(changed: Mapping[str, PlannedChangeover]) -> None:
    """A stop of 324.5 min is 325 wherever it is printed."""
    plan = next(iter(changed.values())).plan
    step = next(iter(plan.tasks.values())).step
    lever = Lever(step, "", "half", 332 * 60, 19470, False, ())
    assert lever_words(lever).endswith("stop 332 -> 325 min")
    assert (_lever(lever)["stop"], _lever(lever)["then"]) == (332, 325)


def test_a_week_uses_the_stops_of_the_matrix(demo: Book, lines: Mapping[str, LineChanges]) -> None:
    """Each stop of a week is that of the pair's page, and text and JSON of a week say the same."""
    plan = ordered(demo, demo.of("week")["plover-49"].record)
    assert lines["plover"].weeks["plover-49"] == plan
    before = plan.week.running
    for placed in plan.order.best.placed:
        if placed.batch.product != before:
            pair = lines["plover"].pairs[plan.week.crew][before, placed.batch.product]
            assert pair.plan is not None
            stop = pair.plan.stop.length
            assert placed.changeover == (stop + plan.ramp if stop else 0)
        before = placed.batch.product
    record = json.loads(week_json(plan))
    assert record["left_out"]["stops_not_proven"] == plan.left_out.not_proven
    assert f"{plan.left_out.not_proven} of {plan.left_out.stops} stop times" in week_text(plan)


# --- recorded stops ---------------------------------------------------------------------------


def test_recorded_stops_are_those_of_the_same_crew(demo: Book) -> None:
    """Four stops of the days crew and one of the nights crew never meet in one median."""
    days, nights = (
        change(demo, "b211-330", "b211-500", "heron", crew, effort=0).past
        for crew in ("heron-days", "heron-nights")
    )
    assert days is not None
    assert nights is not None
    assert (len(days.days), days.stopped.median / 60, days.stopped.worst / 60) == (4, 320, 331)
    assert (nights.days, nights.stopped.median / 60) == (("2026-07-14",), 521)


def test_a_crew_without_a_record_has_none(demo: Book, make_book: MakeBook) -> None:
    """Stops of other crews do not replace it, and the text says so."""
    found = change(demo, "b204-330", "b202-250", "plover", "plover-nights", effort=0)
    assert found.past is None
    assert found.durations.past == ()


def test_check_reports_a_past_stop_of_an_unknown_crew(demo: Book, make_book: MakeBook) -> None:
    """A crew that the file does not have is a note that says that its stop is compared with no plan."""
    root = make_book(["b211-330", "b211-500"])
    for name in ("floor.yaml", "changeover.yaml", "lines/plover.yaml"):
        (root / name).write_bytes((demo.root / name).read_bytes())
    put(root, "changeover.yaml", 'day: "2026-10-27", crew: heron-days', 'day: "2026-10-27", crew: storks')
    found = [one for one in changeover_faults(load(root, shown="")) if one.name == "changeover.past-name"]
    assert any("crew storks, which changeover.yaml does not have" in one.message for one in found)


# --- times that disagree ----------------------------------------------------------------------

NARROW = DurationStats(typical=6000, median=6060, nine_in_ten=6300, worst=9000)


def _past(median: float, worst: float) -> Past:
    clock = Clock(median, worst)
    return Past(True, ("2026-01-05",), clock, clock, clock)


def test_times_that_agree_say_nothing() -> None:
    """A median one minute above the plan, spread over four, is no disagreement."""
    assert disagreement(6000, NARROW, None) == ""
    assert disagreement(6000, NARROW, _past(6120, 6600)) == ""


@pytest.mark.parametrize("median", [4200.0, 8400.0])
def test_a_record_far_from_the_plan_is_said_with_numbers(median: float) -> None:
    """Recorded stops 30 minutes away, spread over ten, are named beside plan and simulation."""
    text = disagreement(6000, NARROW, _past(median, median + 600))
    assert text == (
        "Times disagree by more than their spread: planned 100, simulated 101 (90th percentile 105), "
        f"recorded {median / 60:.0f} (worst {median / 60 + 10:.0f}) min."
    )


def test_a_simulation_far_from_the_plan_is_said_too() -> None:
    """Without a record plan and simulation are still held against each other."""
    text = disagreement(6000, replace(NARROW, median=7200, nine_in_ten=7500), None)
    assert text == (
        "Times disagree by more than their spread: planned 100, simulated 120 (90th percentile 125) min."
    )


# --- what a week leaves out -------------------------------------------------------------------


def _order(*runs: tuple[int, str, int]) -> Order:
    placed, clock = [], 0
    for number, ident, lasts in runs:
        placed.append(PlacedBatch(Batch(number, ident, lasts, None), 0, clock, clock + lasts, 0))
        clock += lasts
    return Order(tuple(placed), 0)


def test_a_run_too_short_for_the_work_around_it_is_named() -> None:
    """After-work of 30 and preparation of 60 min fit into 90 min and not into 89."""
    order = _order((1, "b", 90 * 60), (2, "c", 89 * 60), (3, "a", 60))
    found = list(too_short(order, "a", lambda *_: Beside(before=3600, after=1800)))
    assert [(one.run, one.format, one.lasts) for one in found] == [(2, "c", 89 * 60), (3, "a", 60)]
    assert (found[0].after, found[0].before) == (1800, 3600)
    assert found[1].before == 0


def test_runs_of_one_format_count_as_one() -> None:
    """Two runs of 50 min without a changeover between them have room for 90 min of work."""
    order = _order((1, "b", 3000), (2, "b", 3000), (3, "a", 9000))
    assert list(too_short(order, "a", lambda *_: Beside(before=3600, after=1800))) == []


def test_the_demo_week_says_what_it_leaves_out(demo: Book) -> None:
    """Heron's week names unproven stops, shifts, ramp-up, runs that are too short, chances, closed time."""
    plan = ordered(demo, demo.of("week")["heron-49"].record)
    stops, crews, ramp, fit, short, chances, closed = notes_on_order(plan)
    assert plan.left_out.not_proven > 0
    assert stops.startswith(f"{plan.left_out.not_proven} of {plan.left_out.stops} stop times")
    assert crews.endswith("heron-days from 06:00 to 18:00, heron-nights from 18:00 to 06:00.")
    assert ramp == "Every changeover counts 11 min more, for the output lost in the ramp-up."
    assert short == "Run 9 b211-330-beacon lasts 209 min, less than the least run of 240 min."
    used = {plan.crew_at(one) for one in plan.order.best.placed}
    assert used == {"", "heron-days", "heron-nights"}
    assert plan.left_out.found
    for one in plan.left_out.found:
        assert f"run {one.run} {one.format} lasts {minutes(one.lasts)} min" in fit
    text = week_text(plan)
    assert plan.records >= 5
    assert chances.startswith(f"Chances use the spread of {plan.records} recorded changeovers")
    assert closed == "Lateness counts open time only."
    for sentence in (stops, crews, ramp, fit, short, chances, closed, "for these stop times"):
        assert sentence in text


def test_a_week_without_a_plan_is_refused(demo: Book) -> None:
    """A crew of another line cannot change the week's line over."""
    week = replace(demo.of("week")["heron-49"].record, crew="plover-days")
    with pytest.raises(NoPlan):
        ordered(demo, week)


def test_an_order_is_proven_for_its_stop_times_only(demo: Book) -> None:
    """Both wordings name the stop times."""
    plan = ordered(demo, demo.of("week")["plover-49"].record)
    for proven in (True, False):
        order = OrderComparison(plan.order.given, plan.order.best, proven, plan.order.method)
        text = week_text(replace(plan, order=order))
        assert "for these stop times" in text
        assert ("proven: no order is better" in text) == proven
