"""A route on a line: the ram's numbers, and which machines are asked."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.route.assemble import Assembled
from kb.route.run import run


def test_the_ram_turns_its_crank(formats: Mapping[str, Assembled]) -> None:
    """At 360 strokes a minute one takes 60/360 s; one of 610 mm peaks a little above pi x stroke x rate."""
    assembled = formats["b211-330"]
    (ram,) = run(assembled.study.nominal, assembled.case.lines[0]).rams
    assert ram.time_per_stroke == pytest.approx(60 / 360)
    harmonic = math.pi * 610 * 360 / 60
    assert ram.peak_velocity_harmonic == pytest.approx(harmonic)
    assert harmonic < ram.peak_velocity < 1.1 * harmonic
    assert ram.peak_acceleration > ram.peak_acceleration_harmonic
    assert ram.stroke_over_height == pytest.approx(610 / float(assembled.study.nominal.domed.peak))
    # 100 million strokes at 360 a minute for 92 % of the calendar
    assert ram.days_to_service == pytest.approx(1e8 / (360 * 60 * 24 * 0.92))


def test_only_bodymakers_have_a_ram(formats: Mapping[str, Assembled]) -> None:
    """One ram to each group of bodymakers, and machines are found by their kind."""
    assembled = formats["b204-330"]
    line = assembled.case.lines[0]
    on = run(assembled.study.nominal, line)
    bodymakers = [machine for machine in line.machines if machine.kind == "bodymaker"]
    assert list(on.machines("bodymaker")) == bodymakers
    assert [ram.machine for ram in on.rams] == bodymakers


def test_a_bodymaker_without_its_ram_is_a_fault_of_the_program(formats: Mapping[str, Assembled]) -> None:
    """The schema asks every bodymaker for stroke, rod, speed and service, so one without is refused here."""
    assembled = formats["b211-330"]
    line = assembled.case.lines[0]
    bare = replace(line, machines=tuple(replace(machine, rod=None) for machine in line.machines))
    with pytest.raises(ValueError, match="bodymakers lacks its ram's sizes"):
        run(assembled.study.nominal, bare)
