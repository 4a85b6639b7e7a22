"""What the trials of a plant say of its estimates, as text for a person and as JSON for a program."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from kb.book.conversion import factor_and_offset, reader_unit
from kb.book.load import Book
from kb.design.draft import with_edits
from kb.output.json_reports import json_text
from kb.process.calibration import coverage
from kb.route.trials import Calibration, Evidence

SCHEMA = "sizebook-calibration/1"


def as_text(found: Sequence[Calibration]) -> str:
    """Each factor with its doubt and range, then its trials one line each."""
    if not found:
        return "No trials in the book: every strength is an estimate. A trial is a file in trials/.\n"
    return "\n".join("\n".join(_lines(one)) for one in found)


def _lines(one: Calibration) -> list[str]:
    words = one.result.words
    lines = [f"{one.setting}: {words}"]
    factor = one.factor
    if factor is None:
        lines.append(f"  no factor: {one.why_not}")
    else:
        low, high = interval(one)
        lines += [
            f"  factor {factor.factor:.4f}, standard uncertainty {factor.uncertainty:.4f}, "
            f"scatter {factor.scatter:.4f}, {factor.trials} trials",
            f"  95 % of new trials: {low:.3f} to {high:.3f} times the estimate",
        ]
    if one.misses_origin:
        lines.append(
            "  the trials do not point to the origin: the factor changes with the size of the estimate"
        )
    lines += [f"  valid for {key} {low:g} to {high:g} mm" for key, (low, high) in one.ranges.items()]
    for each in one.evidence:
        record = each.trial.record
        lines.append(
            f"  {record.date} {record.id}: {record.format} rev {record.revision}, measured "
            f"{_shown(one, each.measured)}, estimate {_shown(one, each.estimate)}, ratio {each.ratio:.4f}"
        )
    return [*lines, ""]


def interval(one: Calibration) -> tuple[float, float]:
    """Ratio of measured to estimate between which 95 % of new trials are.

    Raises:
        ValueError: if the calibration has no factor.
    """
    if one.factor is None:
        raise ValueError("no factor")
    wide = coverage(trials=max(one.factor.trials, 2)) * one.factor.next_uncertainty
    return one.factor.factor - wide, one.factor.factor + wide


def with_factors(book: Book, found: Sequence[Calibration]) -> tuple[str, list[str]]:
    """The text of limits.yaml with the factors of the trials, and the settings that change in it."""
    spec = book.only("limits")
    assert spec is not None
    edits, changed = {}, []
    for one in found:
        setting = spec.record.settings.get(one.setting)
        if one.factor is None or setting is None:
            continue
        key, value = f"settings.{one.setting}", written(one)
        if setting.calibrated and setting.value.text == value:
            continue
        changed.append(one.setting)
        edits[f"{key}.value"] = (spec.place(f"{key}.value").span, value, "")
        edits[f"{key}.source"] = (spec.place(f"{key}.source").span, f'"{_source(one)}"', "")
        if not setting.calibrated:
            edits[f"{key}.review"] = (
                spec.place(f"{key}.review").span,
                f'"{setting.review}"\n    calibrated: true',
                "",
            )
    return with_edits(spec.document.text, edits), changed


def written(one: Calibration) -> str:
    """A factor as limits.yaml has it.

    Raises:
        ValueError: if the calibration has no factor.
    """
    if one.factor is None:
        raise ValueError("no factor")
    return f"{one.factor.factor:.3f}"


def _source(one: Calibration) -> str:
    days = [each.trial.record.date for each in one.evidence]
    factor = one.factor
    assert factor is not None
    return (
        f"{factor.trials} trials of the plant, {days[0]} to {days[-1]}; standard uncertainty "
        f"{factor.uncertainty:.4f}, scatter {factor.scatter:.4f}"
    )


def _shown(one: Calibration, value: float) -> str:
    scale, _ = factor_and_offset(one.result.unit, one.result.show)
    return f"{value * float(scale):.4g} {reader_unit(one.result.show)}"


def as_json(found: Sequence[Calibration]) -> str:
    """The same for a program, in the units inside."""
    return json_text({"schema": SCHEMA, "calibrations": [_data(one) for one in found]})


def _data(one: Calibration) -> dict[str, Any]:
    factor = one.factor
    return {
        "setting": one.setting,
        "result": one.result.key,
        "unit": one.result.unit,
        "factor": None
        if factor is None
        else {
            "value": factor.factor,
            "uncertainty": factor.uncertainty,
            "scatter": factor.scatter,
            "trials": factor.trials,
            "interval": list(interval(one)),
        },
        "why_not": one.why_not,
        "misses_origin": one.misses_origin,
        "ranges": {key: list(ends) for key, ends in one.ranges.items()},
        "trials": [_trial(each) for each in one.evidence],
    }


def _trial(one: Evidence) -> dict[str, Any]:
    record = one.trial.record
    return {
        "id": record.id,
        "date": record.date,
        "format": record.format,
        "revision": record.revision,
        "measured": one.measured,
        "estimate": one.estimate,
        "estimate_uncertainty": one.uncertainty,
        "ratio": one.ratio,
    }
