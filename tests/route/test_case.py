"""A case: its numbers by key, other numbers put in, and how a book makes one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pytest

from kb.book.keys import quantities, values
from kb.book.load import Book
from kb.route.assemble import Assembled, assemble
from kb.route.case import Case
from kb.route.settings import OPTIONAL, SETTINGS
from kb.route.station import iter_results
from kb.route.study import pick


@pytest.fixture
def case(formats: Mapping[str, Assembled]) -> Case:
    """A demo format."""
    return formats["b211-330"].case


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("format.blank.diameter", 137.80),
        ("format.ironing.rings[2].bore", 66.030),
        ("end.countersink", 6.86),
        ("stock.anisotropy.r45", 0.95),
        ("end_stock.yield_strength", 376.0),
        ("plant.pallet.length", 1420.0),
        ("setting.die-friction", 0.05),
    ],
)
def test_numbers_have_keys(case: Case, key: str, value: float) -> None:
    """A key names a number wherever it is, and another number can be put there alone."""
    assert case.at(key) == pytest.approx(value)
    changed = case.put({key: 2 * value})
    assert changed.at(key) == 2 * value
    assert case.at(key) == pytest.approx(value)
    assert changed.put({key: value}) == case


def test_many_numbers_are_put_in_at_once(case: Case) -> None:
    """Two rings and a setting change together, and everything else stays."""
    changed = case.put(
        {
            "format.ironing.rings[0].bore": 66.3,
            "format.ironing.rings[1].bore": 66.2,
            "setting.die-friction": 0.1,
        }
    )
    assert [ring.bore for ring in changed.format.ironing.rings] == [66.3, 66.2, 66.030]
    assert changed.setting["die-friction"] == 0.1
    assert changed.format.ironing.half_angle == case.format.ironing.half_angle
    assert changed.format.blank is case.format.blank


def test_bands_are_tolerances_as_written(case: Case) -> None:
    """A number's band is its limits in the file, or itself twice where it has no tolerance."""
    assert case.band("format.stock.gauge") == pytest.approx((0.258, 0.266))
    assert case.band("end.countersink") == pytest.approx((6.73, 6.99))
    assert case.band("format.stock.earing") == (0.022, 0.022)


def test_every_number_of_a_record_is_listed_once(case: Case) -> None:
    """The numbers of a format are found by their keys, lists and groups included, whole counts not."""
    found = {key: value for key, value in values(case.format, "format") if isinstance(value, float)}
    assert found["format.ironing.rings[1].distance"] == 190.0
    assert "format.neck.stages" not in found
    assert all(case.at(key) == value for key, value in found.items())
    assert len(found) > 50


def test_a_format_whose_files_are_not_there_is_not_assembled(demo: Book) -> None:
    """Without its end, its metal or its line a format is left alone, without a fault of its own here."""
    for kind, ident in (("end", "curlew-202"), ("material", "marsh-3104"), ("line", "heron")):
        specs = {**demo.specs, kind: {i: one for i, one in demo.of(kind).items() if i != ident}}
        assert assemble(replace(demo, specs=specs), "b211-330") is None
    assert assemble(demo, "b211-330") is not None


def test_assembled_case_points_back_into_its_files(formats: Mapping[str, Assembled]) -> None:
    """Each part of a case is in a file that says the same number."""
    for assembled in formats.values():
        for part in ("format", "stock", "end", "end_stock", "plant"):
            record, spec = getattr(assembled.case, part), assembled.specs[part]
            assert spec.record is record
            for key, quantity in quantities(record):
                value = assembled.case.at(f"{part}.{key}")
                if isinstance(value, float):
                    assert value == quantity.nominal


def test_inputs_are_the_written_tolerances(formats: Mapping[str, Assembled]) -> None:
    """Each input's nominal is between its limits and is the case's own number."""
    for assembled in formats.values():
        for one in assembled.study.inputs:
            assert one.low <= one.nominal <= one.high
            assert one.low < one.high
            assert assembled.case.at(one.key) == one.nominal


# --- settings and results ---------------------------------------------------------------------


def test_settings_are_those_of_the_demo_plant(demo: Book) -> None:
    """The settings a route reads are those that the demo book gives, each in its unit and plausible."""
    assert demo.limits is not None
    spec = demo.only("limits")
    assert spec is not None
    assert set(demo.limits.settings) == set(SETTINGS) - {"trial-prior"}
    for name in demo.limits.settings:
        unit, words, low, high = SETTINGS[name]
        assert spec.record.settings[name].value.canonical == unit
        assert words
        assert low <= demo.limits.settings[name].value <= high


def test_every_setting_is_read_by_some_formula(formats: Mapping[str, Assembled]) -> None:
    """Every required setting moves a result of some demo format."""
    from kb.route import take  # noqa: PLC0415
    from kb.route.run import run  # noqa: PLC0415

    case = formats["b211-330"].case
    before = [float(one.value) for one in iter_results(take(case))]
    idle = set()
    for name, now in case.setting.items():
        _, _, low, high = SETTINGS[name]
        other = high if now != high else low
        after = [float(one.value) for one in iter_results(take(case.put({f"setting.{name}": other})))]
        if after == before:
            idle.add(name)
    # these are read outside of the route: by the ram's service interval, by the population, by reviews
    assert idle == {"running-share", "tolerance-sigmas", *OPTIONAL} - {"trial-prior"}
    ram = run(take(case.put({"setting.running-share": 0.4})), case.lines[0]).rams[0]
    assert ram.days_to_service == pytest.approx(2.3 * run(take(case), case.lines[0]).rams[0].days_to_service)


def test_results_have_words_and_units(formats: Mapping[str, Assembled]) -> None:
    """Every result has a key of its own by which it can be picked, words, and a unit."""
    route = formats["b211-330"].study.nominal
    results = list(iter_results(route))
    assert len({one.key for one in results}) == len(results)
    for one in results:
        assert one.words
        assert one.unit
        assert np.isfinite(one.value)
    for one in iter_results(route):
        assert pick(one.key)(route) is one.value
