"""The fix of a finding is written into the file, and the whole book is checked again."""

from __future__ import annotations

import itertools
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import NamedTuple

import pytest

from kb.book.finding import Finding
from kb.book.load import Book, load
from kb.book.quantity import parse
from kb.book.records import Limit
from kb.checks import check_book, fix_search, one_format
from kb.checks.catalog import GEOMETRY, MECHANICS, RULES
from kb.checks.fix import Fix, Search, fixes
from kb.checks.fix_search import judged as judged_study
from kb.checks.fix_search import with_values
from kb.checks.judge import Verdict, judge_case, judge_route
from kb.route.assemble import Assembled, assemble
from tests.conftest import TODAY, MakeBook, judged
from tests.test_specs_bad import PATCHES, name_of, patched, read

SENTENCE = re.compile(r"set (?P<values>(?:\S+ to [\d.]+[^(]* \(now [\d.]+.*?\)(?:, )?)+)[^:]*: (?P<rest>.*)")
VALUE = re.compile(r"(?P<key>\S+) to (?P<new>[\d.]+)[^(]* \(now (?P<old>[\d.]+)")
MOVED = re.compile(r"(coil|trim allowance|body weight) ([+−][\d.]+) ")


class Value(NamedTuple):
    """One number to write, as the sentence says it."""

    key: str
    new: str
    old: str


@dataclass(frozen=True, slots=True)
class Said:
    """One fix as its sentence says it."""

    values: tuple[Value, ...]
    moves: Mapping[str, float]
    breaks: frozenset[str]
    more: bool

    @property
    def key(self) -> str:
        """The key of the first number."""
        return self.values[0].key


def said(text: str) -> Said | None:
    """A fix read back from its sentence; nothing when it is advice without a number."""
    found = SENTENCE.fullmatch(text)
    if found is None:
        return None
    moves = {what: float(by.replace("−", "-")) for what, by in MOVED.findall(found["rest"])}
    _, _, broken = found["rest"].partition("but then fails ")
    names = broken.partition(";")[0].removesuffix(" and more")
    return Said(
        values=tuple(Value(*one) for one in VALUE.findall(found["values"])),
        moves=moves,
        breaks=frozenset(names.split(", ")) if names else frozenset(),
        more=broken.partition(";")[0].endswith(" and more"),
    )


class Looked:
    """A book read and judged once, with the values whose side effects a fix lists."""

    def __init__(self, root: Path) -> None:
        self.root, self.book = root, load(root, shown="")
        self.report = check_book(self.book, today=TODAY)

    def failing(self) -> set[str]:
        """Names of the checks that some number of the formats fails."""
        verdicts = itertools.chain.from_iterable(self.report.verdicts.values())
        return {one.rule.name for one in verdicts if not one.passed}

    def numbers(self, ident: str) -> dict[str, float] | None:
        """Coil, trim and mass of a format; nothing when its shape does not close."""
        if not all(one.passed for one in self.report.verdicts[ident] if one.rule.reads == "case"):
            return None
        assembled = assemble(self.book, ident)
        assert assembled is not None
        route = assembled.study.nominal
        return {
            "coil": float(route.blank.coil_mass) / 1000,
            "trim allowance": float(route.trimmed.allowance),
            "body weight": float(route.flanged.mass),
        }

    def with_fix(self, ident: str, fix: Said) -> Looked:
        """The book with the numbers of a fix in the files of the format and its end."""
        before: dict[Path, str] = {}
        for value in fix.values:
            spec, key = self.book.of("size-format")[ident], value.key
            if key.startswith("end."):
                spec, key = self.book.of("end")[spec.record.end], key.removeprefix("end.")  # type: ignore[assignment]
            place = spec.place(key)
            path = self.root / place.file
            text = path.read_text(encoding="utf-8")
            before.setdefault(path, text)
            lines = text.split("\n")
            line, column = lines[place.span.line - 1], place.span.column - 1
            assert line[column:].startswith(value.old)
            lines[place.span.line - 1] = line[:column] + value.new + line[column + len(value.old) :]
            path.write_text("\n".join(lines), encoding="utf-8")
        changed = Looked(self.root)
        for path, text in before.items():
            path.write_text(text, encoding="utf-8")
        return changed


FORMAT_PATCHES = [path for path in PATCHES if path.parent.name == "checks"]


@pytest.mark.parametrize("path", FORMAT_PATCHES, ids=map(name_of, FORMAT_PATCHES))
def test_every_fix_fixes_its_finding(
    path: Path, demo: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each fix works on a broken format, breaks what it says, and moves coil, trim and mass so."""
    patch, root = read(path), tmp_path / "specs"
    patched(patch, demo, root)
    before = Looked(root)
    monkeypatch.setattr(one_format, "MOST_FIXED", 0)
    for finding in [one for one in before.report.findings if one.subject]:
        fixes_found = [fix for text in finding.fixes if (fix := said(text)) is not None]
        assert len(finding.fixes) <= 2
        assert len(fixes_found) in {0, len(finding.fixes)}
        for fix in fixes_found:
            try_out(fix, finding, before)


def try_out(fix: Said, finding: Finding, before: Looked) -> None:
    """Write one fix into the book and check the whole again."""
    ident = finding.subject
    after = before.with_fix(ident, fix)
    here = (finding.name, finding.place.key)
    still = [one for one in after.report.findings if (one.name, one.place.key) == here]
    assert still == [], f"{fix.values} do not fix {finding.name}"
    broken = after.failing() - before.failing()
    assert fix.breaks <= broken
    assert fix.more == (len(broken) > 3)
    assert fix.more or fix.breaks == broken
    old, new = before.numbers(ident), after.numbers(ident)
    for what, least in (("coil", 0.005), ("trim allowance", 0.05), ("body weight", 0.005)):
        if old is None or new is None:
            assert what not in fix.moves
        elif what in fix.moves:
            assert fix.moves[what] == pytest.approx(new[what] - old[what], abs=0.0051)
        else:
            assert abs(new[what] - old[what]) < least or finding.message.startswith(what)


@pytest.mark.slow
def test_the_broken_books_have_many_fixes(demo: Book, tmp_path: Path) -> None:
    """Most broken formats get a number to write, so that the test above tries many."""
    shown = 0
    for path in FORMAT_PATCHES[::6]:
        root = tmp_path / path.stem
        patched(read(path), demo, root)
        shown += any(said(text) for one in judged(root).findings for text in one.fixes)
    assert shown >= 0.7 * len(FORMAT_PATCHES[::6])


# --- order and number -------------------------------------------------------------------------


def all_fixes(assembled: Assembled, limits: Mapping[str, Limit], name: str) -> tuple[Verdict, list[Fix]]:
    """A failed check of a format, and the fix by each of its levers alone."""
    verdicts = judge_case(assembled.case, GEOMETRY, limits) + judge_route(assembled.study, MECHANICS, limits)
    verdict = next(one for one in verdicts if one.rule.name == name and not one.passed)
    search = Search(assembled, verdict, verdicts, limits)
    moves = (moved for key in verdict.levers if (moved := search.moved((key,))))
    return verdict, [search.fix(search.inside(moved)) for moved in moves]


@pytest.mark.parametrize("name", ["trim.allowance", "can.body-mass", "dome.reversal", "cup.draw-clearance"])
def test_the_cheapest_two_fixes_are_reported(
    name: str, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """Those fixes are offered that break least, touch no tool, cost least coil, change the fewest parts."""
    assembled = formats["b211-440-light"]
    verdict, each = all_fixes(assembled, limits, name)
    verdicts = judge_case(assembled.case, GEOMETRY, limits) + judge_route(assembled.study, MECHANICS, limits)
    fixes_found = fixes(assembled, verdict, verdicts, limits)
    ranked = sorted(
        each,
        key=lambda fix: (
            len(fix.breaks),
            fix.tool_sizes,
            round(max(fix.metal, 0.0), 1),
            len(fix.tools),
            len(fix.values),
            fix.change,
            next(iter(fix.values)),
        ),
    )
    assert list(fixes_found) == ranked[:2]
    assert each, "no lever fixes it"


def test_a_fix_that_breaks_nothing_comes_before_one_that_saves_metal(
    formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """For the light can's trim a larger blank is reported before a tighter ring that breaks other checks."""
    _, each = all_fixes(formats["b211-440-light"], limits, "trim.allowance")
    by_key = {next(iter(fix.values)): fix for fix in each}
    blank, ring = by_key["format.blank.diameter"], by_key["format.ironing.rings[2].bore"]
    assert blank.metal > 0 >= round(ring.metal, 6)
    assert not blank.breaks
    assert "ironing.thin-wall" in ring.breaks


def test_a_value_moves_with_its_tolerance(formats: Mapping[str, Assembled]) -> None:
    """A study with another nominal value keeps the width of its tolerance."""
    study = with_values(formats["b211-330"].study, {"format.stock.gauge": 0.270})
    (gauge,) = [one for one in study.inputs if one.key == "format.stock.gauge"]
    assert (gauge.low, gauge.nominal, gauge.high) == pytest.approx((0.266, 0.270, 0.274))
    assert study.case.format.stock.gauge == 0.270


def test_a_fix_keeps_the_written_decimals(make_book: MakeBook) -> None:
    """A blank written to a hundredth is reported to a hundredth, away from the limit."""
    root = make_book(["b211-330"], [("formats/b211-330.yaml", "diameter: 137.80", "diameter: 133.58")])
    finding = next(one for one in judged(root).findings if one.name == "trim.allowance")
    fix = said(finding.fixes[0])
    assert fix is not None
    assert fix.key == "blank.diameter"
    assert re.fullmatch(r"\d{3}\.\d{2}", fix.values[0].new)


def test_levers_are_keys_of_a_format_or_its_end(formats: Mapping[str, Assembled]) -> None:
    """Every lever that a check names is a number of every format or of its end, or a ring it may lack."""
    for rule in RULES.values():
        for key in rule.levers or ():
            assert key.startswith(("format.", "end."))
            value = formats["b211-330"].case.at(key)
            assert isinstance(value, int | float), (rule.name, key)


def test_without_a_fix_the_advice_is_reported(make_book: MakeBook) -> None:
    """Where no number within reach fixes a finding, the check's own advice is in its place."""
    root = make_book(["b211-330"], [("formats/b211-330.yaml", 'body: "211"', 'body: "204"')])
    (finding,) = judged(root).findings
    assert finding.fixes == ("Correct the code.",)


def test_only_so_many_findings_are_cured(make_book: MakeBook, monkeypatch: pytest.MonkeyPatch) -> None:
    """Past the most that are fixed, findings carry their checks' advice alone."""
    root = make_book(["b211-330"], [("formats/b211-330.yaml", "bore: 66.030", "bore: 66.039")])
    monkeypatch.setattr(one_format, "MOST_FIXED", 1)
    report = judged(root, TODAY)
    listed = [one.fixes[0].startswith("set ") for one in report.findings]
    assert len(listed) > 2
    assert sum(listed) == 1


def test_a_gauge_is_offered_before_a_smaller_stand(make_book: MakeBook) -> None:
    """If neither breaks a check, a number without a tool comes before a tool, though it costs metal."""
    root = make_book(["b211-330"], [("formats/b211-330.yaml", "gauge: 0.262", "gauge: 0.255")])
    finding = next(one for one in judged(root).findings if one.name == "dome.reversal")
    offered = [fix for text in finding.fixes if (fix := said(text)) is not None]
    assert [fix.key for fix in offered] == ["stock.gauge", "dome.depth"]
    assert not any(fix.breaks for fix in offered)
    assert offered[0].moves["coil"] > 0


@pytest.mark.parametrize(("ident", "share"), [("b211-330", 0.94), ("b204-330", 0.94), ("b202-250", 0.86)])
def test_a_smaller_stand_never_comes_before_a_number_without_a_tool(
    ident: str, share: float, formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """In a format of each body whose dome is too weak no tool is offered before a number that needs none."""
    whole = formats[ident]
    study = with_values(whole.study, {"format.stock.gauge": share * float(whole.case.format.stock.gauge)})
    thin = replace(whole, study=study)
    verdicts = judge_case(thin.case, GEOMETRY, limits) + judge_route(thin.study, MECHANICS, limits)
    weak = next(one for one in verdicts if one.rule.name == "dome.reversal" and not one.passed)
    assert "format.dome.stand_diameter" in weak.levers
    offered = fixes(thin, weak, verdicts, limits)
    order = [(len(one.breaks), one.tool_sizes, round(max(one.metal, 0.0), 1)) for one in offered]
    assert order
    assert order == sorted(order)
    assert not offered[0].tool_sizes


def test_a_number_between_two_checks_goes_to_their_middle(
    formats: Mapping[str, Assembled], limits: Mapping[str, Limit]
) -> None:
    """A blank that trim bounds below and another check above goes half-way; both ends are true."""
    light = formats["b211-440-light"]
    verdict, each = all_fixes(light, limits, "trim.allowance")
    blank = next(one for one in each if "format.blank.diameter" in one.values)
    (change,) = blank.edit.changes
    assert change.window is not None
    low, high = change.window
    assert low is not None
    assert high is not None
    assert change.new == pytest.approx((low + high) / 2, abs=0.011)
    assert f"passes from {low:.2f} to {high:.2f} mm" in blank.edit.text
    before = failing(light, {}, limits)
    for value, held in ((low, True), (high, True), (low - 0.05, False), (high + 0.05, False)):
        now = failing(light, {"format.blank.diameter": value}, limits)
        assert (verdict.rule.name not in now and now <= before) is held, value


def failing(assembled: Assembled, values: Mapping[str, float], limits: Mapping[str, Limit]) -> set[str]:
    """Names of the checks that fail with other numbers."""
    return {
        one.rule.name for one in judged_study(with_values(assembled.study, values), limits) if not one.passed
    }


@pytest.mark.parametrize("toleranced", [True, False])
def test_a_number_with_one_end_goes_inside_it(
    toleranced: bool,
    formats: Mapping[str, Assembled],
    limits: Mapping[str, Limit],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where no check bounds the other side, the number is a quarter of its tolerance or one step inside."""
    light = formats["b211-440-light"]
    (verdict,) = [one for one in judged_study(light.study, limits) if one.rule.name == "trim.allowance"]
    moved = Search(light, verdict, [verdict], limits).moved(("format.blank.diameter",))
    assert moved is not None
    written = fix_search.written_quantity(light, "format.blank.diameter")
    assert written is not None
    edge = 152.59
    monkeypatch.setattr(fix_search, "_window", lambda *_: fix_search.Window(edge, None))
    if not toleranced:
        bare = parse("148.74 mm", "mm")
        monkeypatch.setattr(fix_search, "written_quantity", lambda *_: bare)
    else:
        assert written.high - written.low == pytest.approx(0.06)
        monkeypatch.setattr(fix_search, "INSIDE", 1.0)
    found = fix_search.centred(light, moved, verdict, limits)
    inside = found.values["format.blank.diameter"] - edge
    assert inside == pytest.approx(0.03 if toleranced else 0.01)
    assert found.same.passed


def test_a_fix_goes_to_the_middle_of_its_window(make_book: MakeBook) -> None:
    """Between two limits a fix brings the worst corners to the middle, not just inside."""
    root = make_book(["b211-330"], [("formats/b211-330.yaml", "height: 117.21", "height: 118.41")])
    looked = Looked(root)
    finding = next(one for one in looked.report.findings if one.name == "flange.finished-height")
    fix = next(fix for text in finding.fixes if (fix := said(text)) is not None)
    after = looked.with_fix("b211-330", fix)
    (verdict,) = [one for one in after.report.verdicts["b211-330"] if one.rule.name == finding.name]
    assert verdict.least is not None
    assert verdict.most is not None
    below, above = verdict.spread.low - verdict.least, verdict.most - verdict.spread.high
    assert below == pytest.approx(above, abs=0.02)


@pytest.mark.parametrize(("contents", "below"), [("345 ml", 5.9), ("316 ml", 16.6)])
def test_heights_move_together(make_book: MakeBook, contents: str, below: float) -> None:
    """A liquid 4 to 6 mm off its height is fixed by all heights together, and no check fails."""
    root = make_book(["b211-330"], [("formats/b211-330.yaml", "contents: 330 ml", f"contents: {contents}")])
    looked = Looked(root)
    finding = next(one for one in looked.report.findings if one.name == "can.headspace")
    assert finding.measure is not None
    assert finding.measure.nominal == pytest.approx(below, abs=0.1)
    (fix,) = [fix for text in finding.fixes if (fix := said(text)) is not None]
    keys = [one.key for one in fix.values]
    assert keys[:4] == ["trim.height", "punch.step_height", "neck.shoulder_height", "flange.finished_height"]
    assert len({round(float(one.new) - float(one.old), 6) for one in fix.values[:4]}) == 1
    assert not fix.breaks
    after = looked.with_fix("b211-330", fix)
    assert after.report.findings == []
    (verdict,) = [one for one in after.report.verdicts["b211-330"] if one.rule.name == "can.headspace"]
    assert verdict.least is not None
    assert verdict.most is not None
    middle = (verdict.least + verdict.most) / 2
    assert (verdict.spread.low + verdict.spread.high) / 2 == pytest.approx(middle, abs=0.35)


def test_a_narrow_window_between_two_values_is_found(make_book: MakeBook) -> None:
    """A cup die 0.7 mm off a window of 0.03 mm is fixed, though no value of a coarse search is in it."""
    root = make_book(["b211-330"], [("formats/b211-330.yaml", "die_bore: 88.59", "die_bore: 89.29")])
    finding = next(one for one in judged(root).findings if one.name == "cup.draw-clearance")
    fix = said(finding.fixes[0])
    assert fix is not None
    assert [one.key for one in fix.values] == ["cup.die_bore"]
    assert not fix.breaks
