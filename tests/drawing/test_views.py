"""What the drawings say, and where."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import combinations
from math import atan2, degrees, dist

import pytest

from kb.book import keys
from kb.book.load import load
from kb.book.quantity import as_quantity
from kb.drawing import THICKENED, TRUE, VIEWS, draw, drawings
from kb.drawing.draft import PAPER_WIDTH, SCALES, fitting, spread
from kb.drawing.marks import LETTERS, Thin, box, em, marks, wrapped
from kb.drawing.model import Dimension, Drawing, Straight, Text
from kb.drawing.outline import extent
from kb.drawing.top import necked_to
from kb.output.svg import svg
from kb.route import take
from kb.route.assemble import Assembled, assemble
from kb.route.stations import Route
from tests.conftest import MakeBook
from tests.drawing.geometry import crosses, sampled, surrounds

AWKWARD = (
    ("  gauge: 0.285 ±0.004 mm", "  gauge: 0.285 ±0.004 mm (0.01122 ±0.00016 in)"),
    ("  earing: 2.2 %", "  earing: 0.1 %"),
    ("    - {bore: 66.142 ±0.001 mm, distance: 190.0 mm}\n", ""),
    ("  leg_angle: 4 deg", "  leg_angle: 0 deg"),
    ("  stages: 11", "  stages: 1"),
    ("  plug_diameter: 52.40 ±0.10 mm", "  plug_diameter: 52.40 +0.12/-0.08 mm"),
    (
        "  angle: 3 deg\n  finished_height: 122.15 ±0.35 mm",
        "  angle: -2 deg\n  finished_height: 4.811 ±0.015 in",
    ),
)


def named(text: Text) -> str:
    """A text as one line."""
    return " / ".join("".join(words for _, words in line) for line in text.lines)


def faults(drawing: Drawing) -> list[str]:
    """Every place where a text of a drawing is on a line, on a cut face or on another text."""
    texts = [(named(text), box(text, drawing.pixel)) for text in drawing.texts()]
    found = [f"{a} on {b}" for (a, one), (b, other) in combinations(texts, 2) if one.overlaps(other)]
    lines = [mark.piece for mark in marks(drawing) if isinstance(mark, Thin)]
    for name, area in texts:
        if any(crosses(area, piece) for piece in lines):
            found.append(f"{name} on a dimension's line")
        middle = (area.left + area.right) / 2, (area.bottom + area.top) / 2
        for shape in drawing.shapes:
            if any(crosses(area, piece) for piece in shape.pieces):
                found.append(f"{name} on {shape.role} {shape.words}")
            if shape.closed and shape.role != "strip" and surrounds(shape.pieces, middle):
                found.append(f"{name} in {shape.role} {shape.words}")
    return found


def measured(one: Dimension) -> float:
    """What a dimension spans, taken from its points."""
    if one.kind in {"horizontal", "diameter"}:
        return abs(one.end[0] - one.start[0])
    if one.kind == "vertical":
        return abs(one.end[1] - one.start[1])
    if one.kind == "angle":
        assert one.apex is not None
        legs = [degrees(atan2(p[1] - one.apex[1], p[0] - one.apex[0])) for p in (one.start, one.end)]
        return (legs[1] - legs[0] + 180.0) % 360.0 - 180.0
    return dist(one.start, one.end)


def test_every_view_is_drawn_for_every_format(
    formats: Mapping[str, Assembled], drawn: Mapping[str, Mapping[str, Drawing]]
) -> None:
    """All views exist for all demo formats, named after what they show, with words, shapes and numbers."""
    assert set(drawn) == set(formats)
    assert {*THICKENED, *TRUE, "ironing"} == set(VIEWS)
    for ident, views in drawn.items():
        assert list(views) == list(VIEWS)
        for view, drawing in views.items():
            assert (drawing.id, drawing.format) == (view, ident)
            assert formats[ident].case.format.title in drawing.title
            assert drawing.about.endswith(".")
            assert drawing.shapes
            assert len(drawing.rows()) >= 4


@pytest.mark.parametrize("view", VIEWS)
def test_no_text_is_on_a_line_or_on_another_text(
    drawn: Mapping[str, Mapping[str, Drawing]], view: str
) -> None:
    """In no format does a text overlap a line, a cut face or another text."""
    assert {ident: faults(views[view]) for ident, views in drawn.items() if faults(views[view])} == {}


@pytest.mark.parametrize("view", VIEWS)
def test_a_text_put_on_another_is_found(views: Mapping[str, Drawing], view: str) -> None:
    """The search for overlaps sees a text that is moved onto another one, and one moved onto a line."""
    drawing = views[view]
    first, other, *_ = drawing.texts()
    piece = drawing.shapes[0].pieces[0]
    for at in (other.at, piece.end if isinstance(piece, Straight) else sampled(piece)[5]):
        moved = replace(first, at=at, anchor="middle")
        dimensions = [replace(d, text=moved) if d.text == first else d for d in drawing.dimensions]
        labels = [replace(one, text=moved) if one.text == first else one for one in drawing.labels]
        assert faults(replace(drawing, dimensions=tuple(dimensions), labels=tuple(labels)))


@pytest.mark.parametrize("view", VIEWS)
def test_a_dimension_spans_the_number_it_says(drawn: Mapping[str, Mapping[str, Drawing]], view: str) -> None:
    """The points of each dimension are as far apart as its number; only a target may be missed by its can."""
    for views in drawn.values():
        for one in views[view].dimensions:
            if one.size.key == "format.flange.finished_height":
                continue
            assert abs(measured(one)) == pytest.approx(abs(one.size.value), abs=1e-6), one.size.name


def test_the_finished_height_is_drawn_as_the_route_has_it(
    routes: Mapping[str, Route], drawn: Mapping[str, Mapping[str, Drawing]]
) -> None:
    """The declared height is on the can that the route makes, not on a can stretched to it."""
    for ident, views in drawn.items():
        (one,) = [d for d in views["can"].dimensions if d.size.key == "format.flange.finished_height"]
        assert measured(one) == pytest.approx(float(routes[ident].flanged.height), abs=1e-9)


def test_drawings_fit_a_phone_with_letters_of_eleven_pixels(
    drawn: Mapping[str, Mapping[str, Drawing]],
) -> None:
    """Every drawing is 358 px wide in its own units, so that on such a screen no letter is below 11 px."""
    assert PAPER_WIDTH == 358
    assert min(LETTERS.values()) >= 11
    for views in drawn.values():
        for drawing in views.values():
            assert 'viewBox="0 0 358 ' in svg(drawing), (drawing.format, drawing.id)


def test_declared_numbers_stand_as_their_spec_has_them(
    regular: Assembled, views: Mapping[str, Drawing]
) -> None:
    """A declared number keeps its decimals, tolerance and unit; the degree sign is the only other word."""
    declared = [size for drawing in views.values() for size in drawing.sizes() if not size.computed]
    assert len(declared) > 40
    for size in declared:
        part, _, key = size.key.partition(".")
        quantity = as_quantity(keys.at(regular.specs[part].record, key))
        assert size.whole == size.sign + quantity.text.replace(" deg", "°")
        assert size.value == quantity.nominal
    by_key = {size.key: size.whole for size in declared}
    assert by_key["format.punch.wall_diameter"] == "Ø65.840 ±0.0010 mm"
    assert by_key["format.dome.leg_angle"] == "4°"


def test_computed_numbers_are_marked_and_rounded(route: Route, views: Mapping[str, Drawing]) -> None:
    """A computed number says so beside its name, and has the figures that a gauge could show."""
    rows = {row.name: row for row in views["can"].rows()}
    assert (rows["thin wall"].value, rows["thin wall"].unit, rows["thin wall"].computed) == (
        "0.093",
        "mm",
        True,
    )
    assert (rows["plug"].value, rows["plug"].computed) == ("Ø52.40 ±0.10", False)
    titles = {size.title for size in views["can"].sizes()}
    assert {"thin wall, calc.", "body, calc.", "plug"} <= titles
    (reduction,) = [s for s in views["ironing"].sizes() if s.name == "reduction by ring 3"]
    assert reduction.shown == f"{100 * float(route.ironed[2].reduction):.1f} %"


def test_rows_hold_every_number_once(drawn: Mapping[str, Mapping[str, Drawing]]) -> None:
    """The table of a drawing has each number of its dimensions and labels, and none twice."""
    for views in drawn.values():
        for drawing in views.values():
            names = [row.name for row in drawing.rows()]
            assert len(names) == len(set(names)), drawing.id
            assert {one.size.name for one in drawing.dimensions} <= set(names)
            assert {one.size.name for one in drawing.labels if one.size} <= set(names)


def test_awkward_formats_are_drawn_too(make_book: MakeBook) -> None:
    """Two rings, one neck stage, hardly an ear, upright legs, a drooping flange, other units draw cleanly."""
    root = make_book(["b211-355"], [("formats/b211-355.yaml", old, new) for old, new in AWKWARD])
    book = load(root, shown="specs")
    assert book.findings == []
    assembled = assemble(book, "b211-355")
    assert assembled is not None
    views = drawings(assembled, take(assembled.case))
    assert {view: faults(drawing) for view, drawing in views.items() if faults(drawing)} == {}
    can, stand, neck = views["can"], views["stand"], views["neck"]
    listed = {row.name: (row.value, row.unit) for row in (*can.rows(), *stand.rows(), *neck.rows())}
    assert listed["finished height"] == ("4.811 ±0.015", "in")
    assert listed["gauge"] == ("0.285 ±0.004 (0.01122 ±0.00016 in)", "mm")
    assert listed["plug"] == ("Ø52.40 +0.12/−0.08", "mm")
    assert [shape.words for shape in neck.shapes if shape.role == "metal"] == ["stage 1"]
    assert not any("in)" in named(text) for text in stand.texts())


def test_exaggerated_drawings_say_so(regular: Assembled, route: Route) -> None:
    """A thickness drawn thicker than true is stated under the drawing, and kept with it."""
    for view in THICKENED:
        drawing = draw(regular, route, view, 4.0)
        assert drawing.exaggerate == 4.0
        assert "Thickness drawn 4 times true." in drawing.notes
        assert "Thickness drawn 4 times true." in svg(drawing)
        assert draw(regular, route, view).exaggerate == 1.0
    ironing = draw(regular, route, "ironing")
    assert ironing.exaggerate > 10
    assert f"Thickness drawn {ironing.exaggerate:g} times true." in ironing.notes
    assert draw(regular, route, "ironing", 1.0).exaggerate == 1.0


def test_exaggeration_leaves_positions_true(regular: Assembled, route: Route) -> None:
    """Dimensions and the inside of the metal do not move when the metal is drawn thicker."""
    true, thick = draw(regular, route, "dome"), draw(regular, route, "dome", 3.0)
    assert true.dimensions == thick.dimensions
    one, other = (next(s for s in d.shapes if s.role == "metal") for d in (true, thick))
    assert one.pieces[:8] == other.pieces[:8]
    assert one.pieces != other.pieces


def test_views_with_their_own_thickness_take_no_other(regular: Assembled, route: Route) -> None:
    """Enlarged views refuse to be exaggerated, and no view is drawn thinner than true."""
    for view in TRUE:
        with pytest.raises(ValueError, match="own thickness"):
            draw(regular, route, view, 2.0)
    with pytest.raises(ValueError, match="true or thicker"):
        draw(regular, route, "can", 0.5)


def test_ironing_shows_walls_to_one_exaggeration(regular: Assembled, route: Route) -> None:
    """Each wall in the ironing view is its true thickness times the exaggeration, at its true height."""
    drawing = draw(regular, route, "ironing")
    walls = [shape for shape in drawing.shapes if shape.words == "wall"]
    assert len(walls) == 1 + len(route.ironed)
    for shape, ring in zip(walls[1:], route.ironed, strict=True):
        left, _, right, top = extent([shape])
        foot = [piece.start[0] for piece in shape.pieces if piece.start[1] == shape.pieces[0].start[1]]
        assert max(foot) - min(foot) == pytest.approx(drawing.exaggerate * float(ring.thin), abs=1e-9)
        # a wall that ends on the step ends square to it, so its outer edge is a little higher
        on_step = ring.shape.pieces[-1].z0 < regular.case.format.punch.step_height + 8
        assert top == pytest.approx(float(ring.height), abs=2e-3 if on_step else 1e-9)
        assert right > left


def test_the_neck_shows_all_stages_with_the_metal_they_have(route: Route) -> None:
    """Every stage drawn over the others has the volume of the trimmed can and its own diameter."""
    for stage in route.necked:
        part = necked_to(route, stage)
        assert float(part.metal()) == pytest.approx(float(route.trimmed.shape.metal()), rel=1e-12)
        assert float(part.pieces[-1].points(2)[0][-1]) == pytest.approx(float(stage.diameter) / 2)


def test_a_route_of_other_numbers_is_refused(regular: Assembled) -> None:
    """A route taken with another number than the spec declares is not drawn under the spec's words."""
    other = take(regular.case.put({"format.dome.depth": 10.0}))
    with pytest.raises(ValueError, match=r"another format\.dome\.depth than the 10\.60 ±0\.10 mm"):
        draw(regular, other, "dome")


def test_a_view_that_does_not_exist_is_a_key_error(regular: Assembled, route: Route) -> None:
    """An unknown view is refused."""
    with pytest.raises(KeyError):
        draw(regular, route, "elevation")


def test_scales_are_standard_and_the_largest_that_fits() -> None:
    """A part is drawn at the largest scale of the standard at which it fits its room."""
    assert fitting(100.0, 400.0) == 1.0
    assert fitting(100.0, 377.0) == 0.5
    assert fitting(0.001, 300.0) == SCALES[-1]
    assert fitting(1e6, 300.0) == SCALES[0]


def test_blocks_are_spread_without_overlapping() -> None:
    """Blocks keep their order, do not overlap, stay between the heights given and near where they want."""
    places = spread([0.0, 1.0, 2.0, 50.0], [10.0] * 4, low=0.0, high=60.0)
    assert places == pytest.approx([5.0, 15.0, 25.0, 50.0])
    assert spread([9.0, 9.0], [2.0, 2.0], high=10.0) == pytest.approx([7.0, 9.0])
    assert spread([], []) == []


def test_long_titles_are_wrapped() -> None:
    """A title is broken at blanks, a word too long for a line inside it, and no line is too wide."""
    lines = wrapped("a can " + "x" * 300 + " end", 342.0, 14.0)
    assert "".join(lines).replace(" ", "") == "acan" + "x" * 300 + "end"
    assert all(em(line) * 14.0 <= 342.0 for line in lines)
