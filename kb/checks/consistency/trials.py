"""What is wrong with the trials of a book, and where its factors are not those of its trials."""

from __future__ import annotations

from collections.abc import Iterator

from kb.book import keys
from kb.book.conversion import in_unit, numbers, reader_unit
from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.book.records import Trial
from kb.book.schema import shipped_schemas
from kb.checks.consistency.fault import did_you_mean, fault
from kb.route.assemble import assemble
from kb.route.stations import DECLARED
from kb.route.trials import LEAST_TRIALS, calibrations
from kb.route.validity import CALIBRATED_RESULTS

_ROUNDING = 0.0006
"""A factor is written with three decimals."""


def trial_faults(book: Book) -> Iterator[Finding]:
    """Findings on each trial, then on the calibration settings that differ from their trials."""
    faults = [one for spec in book.of("trial").values() for one in _of_trial(book, spec)]
    yield from faults
    if not faults:
        yield from _factors(book)


def _of_trial(book: Book, spec: Spec[Trial]) -> Iterator[Finding]:
    record = spec.record
    key = CALIBRATED_RESULTS.get(record.setting)
    if key is None:
        message = f"no estimate is calibrated by a setting {record.setting}"
        yield fault(
            spec, "setting", "trial.setting", message, did_you_mean(record.setting, CALIBRATED_RESULTS)
        )
        return
    wanted = DECLARED[key]
    for i, one in enumerate(record.readings):
        if one.canonical != wanted.unit:
            message = f"{one.text} is no reading of {wanted.words}"
            fix = f"write it in {wanted.show}"
            yield fault(spec, f"readings[{i}]", "trial.reading", message, fix)
    found = book.of("size-format").get(record.format)
    if found is None:
        return
    if record.revision > found.record.revision:
        message = f"revision {record.revision} of {record.format} is later than that of its file, "
        message += str(found.record.revision)
        yield fault(spec, "revision", "trial.revision", message, "correct the revision")
    yield from _measured_sizes(book, spec)


def _measured_sizes(book: Book, spec: Spec[Trial]) -> Iterator[Finding]:
    assembled = assemble(book, spec.record.format) if spec.record.at else None
    if assembled is None:
        return
    for key, one in spec.record.at.items():
        part, _, rest = key.partition(".")
        written = keys.quantity_at(assembled.specs[part].record, rest)
        if written is None:
            message = f"{key} is no size of the format or of its body stock"
            yield fault(spec, f"at.{key}", "trial.key", message, "`sizebook explain` lists the keys")
        elif written.canonical != one.canonical:
            message = f"{one.text} does not suit {key}, which is {written.text}"
            yield fault(spec, f"at.{key}", "trial.key", message, f"write it like {written.text}")
        else:
            band = _plausible(assembled.specs[part].kind, rest)
            if band and not band[0] <= one.low <= one.high <= band[1]:
                unit = one.unit or one.canonical
                ends = " to ".join(numbers([in_unit(end, one.canonical, unit) for end in band]))
                message = f"{one.text} is not plausible for {key}; plausible: {ends} {reader_unit(unit)}"
                yield fault(spec, f"at.{key}", "trial.key", message, "correct the number or the unit")


def _plausible(kind: str, key: str) -> tuple[float, float] | None:
    """The plausible ends of the quantity under a key, in its unit inside; None if its schema has none."""
    part = shipped_schemas().schema(kind)
    for step in keys.steps(key):
        inner = part.get("items", {}) if isinstance(step, int) else part.get("properties", {}).get(step)
        part = inner or {}
    ends = part.get("quantity", {}).get("band")
    return (float(ends[0]), float(ends[1])) if ends else None


def _factors(book: Book) -> Iterator[Finding]:
    limits = book.only("limits")
    if limits is None or not book.of("trial"):
        return
    for one in calibrations(book):
        setting = limits.record.settings.get(one.setting)
        if setting is None or one.factor is None or one.factor.trials < LEAST_TRIALS:
            continue
        factor = f"{one.factor.factor:.3f} ({one.factor.trials} trials)"
        if not setting.calibrated or abs(float(setting.value) - one.factor.factor) > _ROUNDING:
            now = setting.value.text if setting.calibrated else f"{setting.value.text}, not calibrated"
            message = f"{one.setting} is {now}; its trials give {factor}"
            fix = "`sizebook calibrate --write` writes the factor of the trials"
            yield fault(
                limits, f"settings.{one.setting}.value", "trial.factor", message, fix, severity="warning"
            )
