"""A route of samples is the routes of its samples: tolerance corners and populations rest on it."""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
import pytest

from kb.book.keys import values
from kb.route import take
from kb.route.assemble import Assembled
from kb.route.run import run
from kb.route.station import iter_results

COUNT = 5


@pytest.mark.parametrize("ident", ["b211-330", "b211-440-light", "b204-355", "b202-200", "b211-568-206"])
def test_every_result_of_samples_is_that_of_each_alone(ident: str, formats: Mapping[str, Assembled]) -> None:
    """All toleranced sizes scattered at once give, sample by sample, every result of a single can."""
    case, inputs = formats[ident].case, formats[ident].study.inputs
    random = np.random.default_rng(7)
    scattered = {one.key: random.uniform(one.low, one.high, COUNT) for one in inputs}
    together = list(iter_results(take(case.put(scattered))))
    for i in range(COUNT):
        single = {key: float(sample[i]) for key, sample in scattered.items()}
        alone = list(iter_results(take(case.put(single))))
        assert [one.key for one in alone] == [one.key for one in together]
        for one, sampled in zip(alone, together, strict=True):
            picked = np.broadcast_to(sampled.value, (COUNT,))[i]
            assert float(picked) == pytest.approx(float(one.value), rel=1e-9, abs=1e-10), one.key


@pytest.mark.slow
def test_every_number_may_be_samples(formats: Mapping[str, Assembled]) -> None:
    """Any one number of format, end, metals, plant or settings may be samples, the others single."""
    case = formats["b211-330"].case
    keys = [
        key
        for part in ("format", "end", "stock", "end_stock", "plant")
        for key, value in values(getattr(case, part), part)
        if isinstance(value, float)
    ]
    keys += [f"setting.{name}" for name in case.setting]
    factors = np.array([0.999, 1.0, 1.001])
    nominal = [one.value for one in iter_results(take(case))]
    for key in keys:
        now = float(case.at(key))
        together = [one.value for one in iter_results(take(case.put({key: now * factors})))]
        low, high = (
            [one.value for one in iter_results(take(case.put({key: now * f})))] for f in (0.999, 1.001)
        )
        alone = [low, nominal, high]
        for place, value in enumerate(together):
            expected = [float(one[place]) for one in alone]
            assert np.broadcast_to(value, (3,)) == pytest.approx(expected, rel=1e-9, abs=1e-10), key


def test_samples_of_the_contents_stand_beside_samples_of_sizes(formats: Mapping[str, Assembled]) -> None:
    """Contents that vary in a can that varies, or does not, find their level each."""
    case = formats["b211-330"].case
    contents = case.format.fill.contents * np.array([0.9, 1.0, 1.02])
    widths = case.format.flange.width * np.array([1.0, 1.01, 0.99])
    for more in ({}, {"format.flange.width": widths}):
        levels = take(case.put({"format.fill.contents": contents, **more})).filled.fill_level
        for i, volume in enumerate(contents):
            one = {key: float(value[i]) for key, value in more.items()}
            alone = take(case.put({"format.fill.contents": float(volume), **one})).filled.fill_level
            assert levels[i] == pytest.approx(float(alone), rel=1e-12)


def test_the_ram_takes_samples(formats: Mapping[str, Assembled]) -> None:
    """What depends on the can's height is reported for each sample, what does not once."""
    assembled = formats["b211-500-206"]
    screen = assembled.study.screen
    (ram,) = run(screen, assembled.case.lines[0]).rams
    count = 1 + 2 * len(assembled.study.inputs)
    assert np.shape(ram.stroke_over_height) == (count,)
    assert np.ndim(ram.peak_velocity) == 0
