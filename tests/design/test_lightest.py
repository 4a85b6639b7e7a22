"""Lighter formats of the demo: they hold every check, and their prices are true."""

from __future__ import annotations

import json
import math
import shutil
from dataclasses import replace
from pathlib import Path

import jsonschema
import numpy as np
import pytest
from click.testing import CliRunner

from kb.book.compose import values_of
from kb.book.load import Book, load
from kb.checks import check_book
from kb.checks.catalog import GEOMETRY, MECHANICS
from kb.checks.consistency.limits import yardstick
from kb.checks.judge import judge_case, judge_route
from kb.cli import main
from kb.design.draft import draft
from kb.design.lightest import CurvePoint, Lighter, lightest
from kb.design.sizes import FreeSizes, free_sizes
from kb.design.targets import NoDesign
from kb.folders import shipped
from kb.output.lightweight import as_json, as_text
from kb.route.assemble import assemble
from tests.conftest import TODAY, MakeBook

ONE = "b211-330"


@pytest.fixture(scope="session")
def lighter(demo: Book) -> Lighter:
    """The lightest b211-330 with the usual free sizes."""
    return lightest(demo, ONE)


@pytest.mark.parametrize("ident", ["b211-330", "b204-330", "b202-250", "b211-568-206"])
def test_room_is_the_margin_that_check_gives(demo: Book, ident: str) -> None:
    """Every rule has the margin of its verdict, near the present sizes too: there is no second judge."""
    free = ["stock.gauge", "blank.diameter", "ironing.rings[].bore", "trim.height", "dome.depth"]
    sizes = _sizes(demo, ident, [f"format.{one}" for one in free])
    for point in (sizes.start, sizes.start * (1 + 1e-4)):
        there = sizes.around(point)
        verdicts = judge_case(there.study.case, GEOMETRY, there.limits)
        verdicts += judge_route(there.study, MECHANICS, there.limits)
        margins = {(one.rule.name, one.at, one.what): one.margin for one in verdicts}
        tightest: dict[tuple[str, str, str], float] = {}
        for side, room in zip(there.sides, there.problem.rules(point[None])[0], strict=True):
            key = side.rule.name, side.at, side.what
            tightest[key] = min(room, tightest.get(key, np.inf))
        assert len(tightest) > 30
        assert tightest == pytest.approx({key: margins[key] for key in tightest}, rel=1e-9, abs=1e-12)


def _sizes(book: Book, ident: str, free: list[str]) -> FreeSizes:
    assembled = assemble(book, ident)
    assert assembled is not None
    keys = free_sizes(assembled.case, free)
    ranges = tuple((0.9 * float(assembled.case.at(key)), 1.1 * float(assembled.case.at(key))) for key in keys)
    return FreeSizes(assembled.study, yardstick(book).limits, keys, ranges)


def test_it_is_lighter_by_a_twentieth_and_holds_every_check(lighter: Lighter) -> None:
    """The dome kept, b211-330 needs at least 5 % less coil, and no check fails."""
    assert lighter.after <= 0.95 * lighter.before
    assert lighter.exact <= lighter.after
    assert all(one.passed for one in lighter.verdicts)


def test_nothing_the_model_does_not_know_is_moved(lighter: Lighter) -> None:
    """Dome, stand, neck, flange, seam, end and finished height keep their size unless they are freed."""
    blocks = {one.key.split(".")[0] for one in lighter.changes if not one.follows}
    assert blocks <= {"stock", "blank", "cup", "redraw", "punch", "ironing", "trim"}


def test_the_conditions_of_a_best_point_hold(lighter: Lighter) -> None:
    """The prices explain the slope of the coil."""
    assert lighter.residual < 1e-4
    assert lighter.ends == ()


def test_each_price_is_true_on_one_side_at_least(lighter: Lighter) -> None:
    """Solved again with the limit 0.2 % looser or tighter, the coil moves as the price says."""
    assert len(lighter.binding) >= 3
    for one in lighter.binding:
        assert one.price == pytest.approx(one.looser, rel=0.05) or one.price == pytest.approx(
            one.tighter, rel=0.05
        )


def test_each_binding_limit_holds_the_sizes_back(demo: Book, lighter: Lighter) -> None:
    """The dearest limits are those that stop the walls: their names are the answer to `why not lower`."""
    names = {one.side.rule.name for one in lighter.binding}
    assert {"can.axial-load", "dome.reversal"} <= names


def test_a_draft_passes_its_check_and_no_size_is_lost(
    demo: Book, lighter: Lighter, make_book: MakeBook
) -> None:
    """The draft is read, checked without a finding, and needs the coil that was said."""
    root = make_book([ONE])
    text = draft(demo, lighter, "b211-330-thin")
    (root / "formats/b211-330-thin.yaml").write_text(text, encoding="utf-8")
    book = load(root, shown="specs")
    report = check_book(book, today=TODAY, formats=["b211-330-thin"])
    assert [one.name for one in report.findings] == []
    record = book.of("size-format")["b211-330-thin"].record
    assert (record.status, record.revision) == ("draft", 1)
    for one in lighter.changes:
        assert one.new in text
        assert one.old in text


def test_a_draft_of_a_short_format_is_short(
    demo: Book, short_demo: Book, lighter: Lighter, tmp_path: Path
) -> None:
    """The draft of a format on a standard names it, and has the values and notes of the draft in full."""
    root = Path(shutil.copytree(shipped("specs"), tmp_path / "specs"))
    texts = draft(short_demo, lighter, "b211-330-thin"), draft(demo, lighter, "b211-330-full")
    for name, text in zip(("thin", "full"), texts, strict=True):
        (root / f"formats/b211-330-{name}.yaml").write_text(text, encoding="utf-8")
    book = load(root, shown="")
    assert book.findings == []
    short, full = (book.of("size-format")[f"b211-330-{one}"].record for one in ("thin", "full"))
    values, others = values_of(short), values_of(full)
    assert {key for key in values if values[key] != others[key]} == {"id"}
    assert (short.standard, full.standard) == ("211", "")
    assert all(f"was {one.old}" in texts[0] for one in lighter.changes)


def test_what_is_kept_keeps_its_size(demo: Book) -> None:
    """Without the punch, the gain is smaller and no size of the punch changes."""
    found = lightest(demo, ONE, keep=["punch", "cup", "redraw"])
    assert not [one.key for one in found.changes if one.key.startswith(("punch.", "cup.", "redraw."))]
    assert found.after < found.before


def test_more_freedom_is_never_heavier(demo: Book, lighter: Lighter) -> None:
    """With the dome's depth free too, the best coil is no worse."""
    assert lightest(demo, ONE, free=["dome.depth"]).exact <= lighter.exact + 1e-4


def test_more_strength_asked_costs_coil(demo: Book) -> None:
    """Along a target from less to more, the least coil never falls."""
    coils = [one.coil for one in lightest(demo, ONE, against="axial_load").curve]
    assert len(coils) == 5
    assert coils == sorted(coils)
    assert coils[-1] > coils[0]


@pytest.mark.parametrize(
    ("keep", "free", "words"),
    [
        (["flange"], [], "flange is not a free size"),
        ([], ["dome.deepness"], "b211-330 has no key dome.deepness"),
        (["stock", "blank", "cup", "redraw", "punch", "ironing", "trim"], [], "nothing can change"),
    ],
)
def test_a_question_without_an_answer_says_why(
    demo: Book, keep: list[str], free: list[str], words: str
) -> None:
    """A key that is none, or nothing left free, is one line."""
    with pytest.raises(NoDesign, match=words):
        lightest(demo, ONE, keep=keep, free=free)


def test_a_target_that_only_follows_has_no_curve(demo: Book) -> None:
    """The wall is what the tools make; coil against it says nothing."""
    with pytest.raises(NoDesign, match="give dome_reversal or axial_load"):
        lightest(demo, ONE, against="thin_wall")


@pytest.mark.parametrize("ident", ["B211", "../x", "b211-330", "-a", "a--b", ""])
def test_a_name_that_cannot_be_is_refused(demo: Book, lighter: Lighter, ident: str) -> None:
    """Ids of a draft are small letters and digits with hyphens, and not taken."""
    with pytest.raises(NoDesign):
        draft(demo, lighter, ident)


def test_a_limit_has_its_price_in_money_and_the_saving_its_sources(demo: Book, lighter: Lighter) -> None:
    """Money is coil times the plant's price; the report gives the saving a year and every source."""
    text = as_text(lighter)
    metal = demo.plant.metal  # type: ignore[union-attr]
    assert metal is not None
    dearest = lighter.binding[0]
    money = text.split("In money, EUR per 1000 cans")[1].split("Metal:")[0]
    row = next(one for one in money.splitlines() if dearest.side.rule.name in one).split()
    assert float(row[1]) == pytest.approx(dearest.percent * float(metal.coil[0].price), abs=6e-4)
    assert lighter.metal is not None
    before, after = ({one.key: one.low for one in side.rows} for side in lighter.metal)
    saved = (lighter.before - lighter.after) * float(metal.coil[0].price)
    assert before["coil-cost"] - after["coil-cost"] == pytest.approx(saved)
    assert "metal a year, scrap credited" in text
    assert all(one in text for one in lighter.metal[1].sources)


def test_a_size_that_is_freed_is_warned_of(demo: Book) -> None:
    """The dome may move if the user frees it; the report then says what no check knows of it."""
    found = lightest(demo, ONE, free=["dome.depth"], starts=1)
    assert "dome.depth" in {one.key for one in found.changes}
    (warning,) = [one for one in found.warnings if "conveyors" in one]
    assert f"Not checked: {warning}" in as_text(found)


def test_the_report_says_why_not_lighter_and_who_owns_it(lighter: Lighter) -> None:
    """Each limit that binds has its owner, or where it comes from; coil is given before and after."""
    lines = as_text(lighter).splitlines()
    assert lines[0].startswith(f"{ONE}: coil {lighter.before:.2f} → {lighter.after:.2f} kg per 1000 cans")
    for one in lighter.binding:
        owner = one.side.own.owner if one.side.own else one.side.against
        assert owner
        assert any(one.side.rule.name in line and line.endswith(owner) for line in lines)


def test_the_curve_is_plotted(lighter: Lighter) -> None:
    """The mark goes from left to right with the coil; a value without an answer has none."""
    points = (
        CurvePoint(0.7, "0.7 kN", 10.0, ("a",)),
        CurvePoint(0.8, "0.8 kN", 12.0, ("b",)),
        CurvePoint(0.9, "0.9 kN", math.nan, ()),
    )
    text = as_text(replace(lighter, against="axial_load", curve=points))
    rows = [line for line in text.splitlines() if " kN  " in line and "per kN" not in line]
    assert [row.count("|") for row in rows] == [2, 2, 0]
    left, right = (row[row.index("|") + 1 : row.rindex("|")] for row in rows[:2])
    assert (left.index("o"), right.index("o")) == (0, len(right) - 1)
    assert "nothing passes every check" in rows[2]


def test_a_book_without_prices_prints_no_money(lighter: Lighter) -> None:
    """Without the plant's prices the report has neither money nor energy."""
    plain = replace(lighter, metal=None)
    text = as_text(plain)
    assert not [word for word in ("EUR", "money", "Metal:", "energy", "scrap") if word in text]
    assert json.loads(as_json(plain))["metal"] is None


def test_the_command_writes_a_draft_once(make_book: MakeBook) -> None:
    """JSON as its schema says; a file that exists stays as it is."""
    root = make_book([ONE])
    target = root / "formats/b211-330-thin.yaml"
    arguments = ["lightweight", ONE, "--book", str(root), "--to", str(target), "--output", "json"]
    done = CliRunner().invoke(main, arguments)
    schema = json.loads((shipped("schema") / "output/lighter-format.json").read_text(encoding="utf-8"))
    jsonschema.validate(json.loads(done.stdout), schema)
    written = target.read_bytes()
    again = CliRunner().invoke(main, arguments)
    assert again.exit_code == 2
    assert target.read_bytes() == written
    assert Path(target).parent.joinpath("b211-330.yaml").exists()
