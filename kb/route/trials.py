"""Trials of the plant against the estimates of the route: the factor, its doubt and where it is valid."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from kb.book.load import Book, Spec
from kb.book.records import Trial
from kb.process.calibration import (
    Factor,
    FittedLine,
    both_uncertain,
    straight_line,
    through_origin,
    with_prior,
)
from kb.route import take
from kb.route.assemble import assemble
from kb.route.case import Case
from kb.route.station import Result, iter_results
from kb.route.stations import DECLARED
from kb.route.validity import CALIBRATED_RESULTS, ranges, trials_of

LEAST_TRIALS = 4
"""Fewer trials give no factor of their own: the interval of three is wider than what they show."""

PRIOR = "trial-prior"


@dataclass(frozen=True, slots=True)
class Evidence:
    """One trial beside its estimate.

    Attributes:
        trial: the file.
        estimate: result of the route for the cans of the trial, with the factor 1.
        uncertainty: standard uncertainty of the estimate from the tolerances of the measured sizes.
        measured: mean of the readings.
        scatter: standard deviation of one reading; not a number for one reading.
    """

    trial: Spec[Trial]
    estimate: float
    uncertainty: float
    measured: float
    scatter: float

    @property
    def ratio(self) -> float:
        return self.measured / self.estimate


@dataclass(frozen=True, slots=True)
class Calibration:
    """What the trials of one setting say.

    Attributes:
        setting: name of the setting, a factor on an estimate.
        result: key, words and units of the estimate.
        evidence: its trials, the oldest first.
        factor: measured over estimate; None where the trials give none.
        why_not: why there is no factor, in one sentence.
        line: the line through the trials, not held at the origin; None where three do not give one.
        ranges: least and most of the sizes that the trials cover, by key.
    """

    setting: str
    result: Result
    evidence: tuple[Evidence, ...]
    factor: Factor | None
    why_not: str
    line: FittedLine | None
    ranges: Mapping[str, tuple[float, float]]

    @property
    def misses_origin(self) -> bool:
        """Whether the line of the trials clearly misses the origin: a factor alone is then doubtful."""
        line = self.line
        return line is not None and abs(line.intercept) > 2 * line.intercept_uncertainty > 0


def calibrations(book: Book) -> tuple[Calibration, ...]:
    """A calibration for each setting that has trials, in the order of the results.

    A trial whose format cannot be calculated, or whose readings are of another dimension, is left out;
    `sizebook check` lists it.
    """
    return tuple(calibration(book, name) for name in CALIBRATED_RESULTS if trials_of(book, name))


def calibration(book: Book, setting: str) -> Calibration:
    """What the trials of one setting say."""
    specs = sorted(trials_of(book, setting), key=lambda one: (one.record.date, one.id))
    evidence = tuple(one for one in (_evidence(book, spec) for spec in specs) if one is not None)
    factor, why_not = _factor(book, evidence)
    return Calibration(
        setting=setting,
        result=_declared(setting),
        evidence=evidence,
        factor=factor,
        why_not=why_not,
        line=_line(evidence),
        ranges=ranges(book, setting),
    )


def _evidence(book: Book, spec: Spec[Trial]) -> Evidence | None:
    record, formats = spec.record, book.of("size-format")
    assembled = assemble(book, record.format) if record.format in formats else None
    if assembled is None or any(one.canonical != _declared(record.setting).unit for one in record.readings):
        return None
    try:
        case = assembled.case.put({f"setting.{record.setting}": 1.0})
        for key in record.at:
            case.at(key)
        case = case.put({key: float(one) for key, one in record.at.items()})
        estimate = _estimate(case, record.setting)
        moves = [
            _estimate(case.put({key: one.high}), record.setting)
            - _estimate(case.put({key: one.low}), record.setting)
            for key, one in record.at.items()
            if one.low < one.high
        ]
    except (LookupError, ValueError):
        return None
    readings = np.array([float(one) for one in record.readings])
    if not (math.isfinite(estimate) and estimate > 0 and np.all(readings > 0)):
        return None
    return Evidence(
        trial=spec,
        estimate=estimate,
        uncertainty=math.hypot(*moves) / 2 / math.sqrt(3),  # even over each tolerance
        measured=float(np.mean(readings)),
        scatter=float(np.std(readings, ddof=1)) if len(readings) > 1 else math.nan,
    )


def _estimate(case: Case, setting: str) -> float:
    found = {one.key: one.value for one in iter_results(take(case))}[CALIBRATED_RESULTS[setting]]
    return math.nan if found is None else float(found)


def _factor(book: Book, evidence: tuple[Evidence, ...]) -> tuple[Factor | None, str]:
    count = len(evidence)
    if not count:
        return None, "No trial can be compared with its estimate."
    estimate = np.array([one.estimate for one in evidence])
    measured = np.array([one.measured for one in evidence])
    if count >= LEAST_TRIALS:
        doubt = np.array([one.uncertainty for one in evidence])
        of_mean = np.array([one.scatter / math.sqrt(len(one.trial.record.readings)) for one in evidence])
        if np.any(doubt > 0) and np.all(of_mean > 0):
            return both_uncertain(
                estimate=estimate,
                measured=measured,
                estimate_uncertainty=doubt,
                measured_uncertainty=of_mean,
            ), ""
        return through_origin(estimate=estimate, measured=measured), ""
    limits = book.limits
    prior = limits.settings.get(PRIOR) if limits else None
    if prior is None:
        return None, f"{count} of {LEAST_TRIALS} trials; setting {PRIOR} lets fewer calibrate."
    spread = [one.scatter / one.estimate for one in evidence if one.scatter > 0]
    if not spread:
        return None, "Fewer than four trials need at least two readings each."
    scatter = math.sqrt(float(np.mean(np.square(spread))))
    return with_prior(
        ratio=measured / estimate, prior=1.0, prior_uncertainty=float(prior.value), scatter=scatter
    ), ""


def _line(evidence: tuple[Evidence, ...]) -> FittedLine | None:
    try:
        return straight_line(
            estimate=np.array([one.estimate for one in evidence]),
            measured=np.array([one.measured for one in evidence]),
        )
    except ValueError:
        return None


def _declared(setting: str) -> Result:
    key = CALIBRATED_RESULTS[setting]
    one = DECLARED[key]
    return Result(key, one.words, one.unit, one.show, math.nan, one)
