"""The shape of the changeover file and of a week: each hostile value gives one line and no record."""

from __future__ import annotations

import datetime

import pytest

from kb.book.finding import Finding
from kb.book.schema import judge
from kb.book.source import read_text

FILE = "changeover.yaml"
STEP = "{id: a, text: A., phase: clear, time: {typical: %s, worst: 40 min, basis: timed}}"
HEAD = "kind: changeover\nowner: me\n"


def shape(text: str) -> list[Finding]:
    """What the schema says of a text."""
    reading = read_text(text, FILE)
    assert reading.document is not None
    return judge(reading.document).findings


def step_faults(typical: str) -> list[Finding]:
    """What is said of the typical time of a step."""
    return [one for one in shape(f"{HEAD}steps: [{STEP % typical}]") if "typical" in one.place.key]


@pytest.mark.parametrize(
    ("typical", "name", "fix"),
    [
        ("14 h", "units.slip", "if so, write 14 min"),
        ("840 min", "units.slip", "if so, write 840 s"),
        ("0 min", "units.band", ""),
        ("-5 min", "units.band", ""),
        ("14", "units.quantity", "write 14 min"),
        ("840", "units.quantity", "write 840 s"),
        ("9999999", "units.quantity", "a time is required, such as 15 min"),
        ("14 mm", "units.dimension", ""),
        ('""', "units.quantity", ""),
        ("14 ±2 min", "units.tolerance", "write 14 min"),
        ("[14 min]", "shape.type", ""),
    ],
)
def test_a_time_that_is_none_is_refused(typical: str, name: str, fix: str) -> None:
    """Hours for minutes are named as the slip they look like; nothing, zero and less are no times."""
    (finding,) = step_faults(typical)
    assert finding.name == name
    assert fix in "; ".join(finding.fixes) or fix in finding.message


def test_a_time_that_is_missing_is_required() -> None:
    """A step without its worst time gets the fix to add it, with an example."""
    found = shape(f"{HEAD}steps: [{{id: a, text: A., phase: clear, time: {{typical: 5 min, basis: timed}}}}]")
    (finding,) = [one for one in found if one.place.key.startswith("steps")]
    assert finding.name == "shape.missing-key"
    assert finding.message == "worst (worst time) is missing in steps[0].time; an example is 22 min"


@pytest.mark.parametrize("value", ["7", "[]", "text", "{a: 1}"])
@pytest.mark.parametrize("key", ["steps", "crews", "ramp", "past", "no_part", "equipment"])
def test_a_list_that_is_something_else_is_refused(key: str, value: str) -> None:
    """A number, a text, a group or an empty list in place of a list of the library gives one line."""
    found = [one for one in shape(f"{HEAD}{key}: {value}") if one.place.key == key]
    may_be_empty = key in {"ramp", "past", "no_part", "equipment"} and value == "[]"
    assert bool(found) != may_be_empty
    assert all("\n" not in one.message for one in found)


def test_an_empty_file_is_refused() -> None:
    """A file with nothing but its kind lacks every key that is needed; an empty one is not read at all."""
    assert read_text("", FILE).document is None
    found = shape("kind: changeover\n")
    assert {one.name for one in found} == {"shape.missing-key"}
    assert len(found) == 12


def test_a_library_too_long_is_refused() -> None:
    """Five hundred steps are read, one more is not, and that is reported once."""
    for count, wanted in ((500, []), (501, ["shape.length"])):
        steps = "\n".join(f"  - {STEP.replace('id: a', f'id: a{i}') % '5 min'}" for i in range(count))
        found = [one.name for one in shape(f"{HEAD}steps:\n{steps}\n") if one.place.key.startswith("steps")]
        assert found == wanted


@pytest.mark.parametrize(
    ("moment", "fix"),
    [
        ('"2026-02-30 06:00"', 'such as "2026-12-07 06:00"'),
        ('"2026-12-07"', 'such as "2026-12-07 06:00"'),
        ('"2026-12-07T06:00"', 'such as "2026-12-07 06:00"'),
        ('"2026-12-07 24:00"', 'such as "2026-12-07 06:00"'),
        ('"2026-12-07 6:00"', 'such as "2026-12-07 06:00"'),
        ('"7.12.2026 06:00"', 'such as "2026-12-07 06:00"'),
        ("2026-12-07 06:00", 'write "2026-12-07 06:00" with quotes'),
        ("600", 'such as "2026-12-07 06:00"'),
    ],
)
def test_what_is_no_time_of_a_day_is_refused(moment: str, fix: str) -> None:
    """The begin of a week is a day that the calendar has, and a time of it, in quotes."""
    (finding,) = [one for one in shape(f"kind: week\nstart: {moment}\n") if one.place.key == "start"]
    assert finding.name == "shape.date"
    assert fix in finding.fixes[0]


def test_a_time_of_a_leap_day_is_accepted() -> None:
    """The calendar is asked, to the last minute of a leap day."""
    moment = datetime.datetime(2028, 2, 29, 23, 59, tzinfo=datetime.UTC)
    text = f'kind: week\nstart: "{moment:%Y-%m-%d %H:%M}"\n'
    assert [one for one in shape(text) if one.place.key == "start"] == []


@pytest.mark.parametrize("cans", ["0", "-5", "100000001", "1.5", '"1200000"', "1 200 000"])
def test_cans_are_a_whole_number(cans: str) -> None:
    """Nothing, parts of cans, text and more than a hundred million are refused."""
    week = f'kind: week\nruns: [{{format: a, cans: {cans}, due: "2026-12-07 06:00"}}]\n'
    found = [one for one in shape(week) if one.place.key.startswith("runs")]
    assert [one.place.key for one in found] == ["runs[0].cans"]
