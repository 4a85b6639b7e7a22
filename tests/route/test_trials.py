"""Trials of the plant: what they say of an estimate, where that is valid, and what the route does with it."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest

from kb.book.load import Book, load
from kb.folders import shipped
from kb.output.calibration import interval, with_factors, written
from kb.route.assemble import assemble
from kb.route.trials import calibration, calibrations

pytest.importorskip("scipy")

SETTING = "dome-calibration"
Changed = Callable[..., Book]


@pytest.fixture
def changed(tmp_path: Path) -> Changed:
    """The demo book with a text in place of another in one file, and without some trials."""

    def make(file: str = "", old: str = "", new: str = "", *, without: str = "") -> Book:
        root = Path(shutil.copytree(shipped("specs"), tmp_path / "specs", dirs_exist_ok=True))
        for path in (root / "trials").glob(f"{without}*.yaml") if without else ():
            path.unlink()
        if file:
            text = (root / file).read_text(encoding="utf-8")
            assert old in text
            (root / file).write_text(text.replace(old, new), encoding="utf-8")
        return load(root, shown="specs")

    return make


def test_the_factor_is_near_the_mean_ratio(demo: Book) -> None:
    """Eight trials give a factor within its uncertainty of their mean ratio, and the interval holds most."""
    one = calibration(demo, SETTING)
    assert one.factor is not None
    ratios = [each.ratio for each in one.evidence]
    assert one.factor.factor == pytest.approx(sum(ratios) / len(ratios), abs=one.factor.uncertainty)
    low, high = interval(one)
    assert all(low < ratio < high for ratio in ratios)
    assert one.factor.trials == len(ratios) == 8


def test_the_estimate_does_not_hold_the_factor_already(changed: Changed) -> None:
    """The trials give the same factor at each value of the setting."""
    text = f"value: {written(calibration(changed(), SETTING))}"
    other = changed("limits.yaml", text, "value: 1.200")
    assert written(calibration(other, SETTING)) == text.removeprefix("value: ")


def test_the_demo_has_the_factors_of_its_trials(demo: Book) -> None:
    """Nothing is left to write into limits.yaml."""
    text, names = with_factors(demo, calibrations(demo))
    assert names == []
    assert text == (demo.root / "limits.yaml").read_text(encoding="utf-8")


def test_written_factors_are_read_back(changed: Changed) -> None:
    """A setting that was not calibrated gets value, source and `calibrated: true`; other lines stay."""
    fresh = changed("limits.yaml", "    calibrated: true\n", "")
    text, names = with_factors(fresh, calibrations(fresh))
    assert names == [SETTING]
    (fresh.root / "limits.yaml").write_text(text, encoding="utf-8")
    limits = load(fresh.root, shown="specs").limits
    assert limits is not None
    assert limits.settings[SETTING].calibrated
    assert limits.settings[SETTING].source.startswith("8 trials of the plant, 2026-03-18 to 2026-09-15")
    before = (shipped("specs") / "limits.yaml").read_text(encoding="utf-8")
    assert sorted(text.splitlines()) == sorted(before.splitlines())


def test_outside_the_range_it_is_an_estimate_again(demo: Book) -> None:
    """Another body, or a thinner gauge than that of the trials, has the factor 1 and is not calibrated."""
    for ident, inside in (("b211-330", True), ("b211-440-light", False), ("b204-330", False)):
        assembled = assemble(demo, ident)
        assert assembled is not None
        assert (SETTING in assembled.calibrated) is inside
        assert (float(assembled.case.setting[SETTING]) == 1.0) is not inside


def test_a_calibration_of_an_end_is_for_ends_alike(demo: Book, tmp_path: Path) -> None:
    """Trials of the 202 end calibrate every format with that end, on each body, and none with another end."""
    root = tmp_path / "book"
    shutil.copytree(demo.root, root)
    for i, format_ in enumerate(("b211-330", "b211-330", "b211-440", "b211-355")):
        (root / f"trials/end-{i}.yaml").write_text(
            f"kind: trial\nid: end-{i}\ntitle: Pressure at which the end buckles\nowner: quality\n"
            f'date: "2026-06-1{i}"\nformat: {format_}\nrevision: 1\nsetting: end-calibration\n'
            f"readings: [{680 + i} kPa, {684 + i} kPa, {676 + i} kPa]\ngauge: Pressure gauge\n",
            encoding="utf-8",
        )
    limits = (root / "limits.yaml").read_text(encoding="utf-8")
    at = limits.index("    value", limits.index("  end-calibration:"))
    (root / "limits.yaml").write_text(f"{limits[:at]}    calibrated: true\n{limits[at:]}", encoding="utf-8")
    book = load(root, shown="specs")
    assert set(calibration(book, "end-calibration").ranges) == {"gauge", "panel_diameter"}
    for ident, inside in (
        ("b211-330", True),
        ("b204-325", True),
        ("b211-355-206", False),
        ("b202-200", False),
    ):
        assembled = assemble(book, ident)
        assert assembled is not None
        assert ("end-calibration" in assembled.calibrated) is inside, ident


def test_the_range_is_known_where_one_format_is_read(demo: Book) -> None:
    """A book of which one format was selected judges the range by the same trials."""
    for ident in ("b204-330", "b211-440"):
        alone = load(demo.root, shown="specs", formats=[demo.root / "formats" / f"{ident}.yaml"])
        one, all_of_it = assemble(alone, ident), assemble(demo, ident)
        assert one is not None
        assert all_of_it is not None
        assert one.calibrated == all_of_it.calibrated


def test_few_trials_need_a_prior(demo: Book, changed: Changed) -> None:
    """Two trials give no factor; with the setting of a prior they move it from 1 toward their ratio."""
    few = calibration(demo, "axial-calibration")
    assert few.factor is None
    assert "2 of 4 trials" in few.why_not
    prior = "settings:\n  trial-prior:\n    value: 0.15\n    source: Demo\n    owner: quality\n"
    with_it = changed("limits.yaml", "settings:\n", prior + '    review: "2027-06-30"\n')
    factor = calibration(with_it, "axial-calibration").factor
    assert factor is not None
    ratios = [one.ratio for one in few.evidence]
    assert sum(ratios) / 2 < factor.factor < 1.0


def test_measured_sizes_move_the_estimate(demo: Book, changed: Changed) -> None:
    """Cans of thicker metal have a higher estimate, and a tolerance gives it an uncertainty."""
    old = "gauge: Base pressure tester, ±3 kPa\n"
    at = old + "at: {format.stock.gauge: 0.264 ±0.002 mm}\n"
    book = changed("trials/reversal-2026-03-330.yaml", old, at)
    before, after = (calibration(one, SETTING).evidence[0] for one in (demo, book))
    assert after.estimate > before.estimate
    assert (before.uncertainty, after.uncertainty > 0) == (0.0, True)
