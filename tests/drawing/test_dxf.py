"""The DXF face, read back and measured."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import replace
from math import atan, degrees

import ezdxf
import pytest
from ezdxf.document import Drawing as Document
from ezdxf.entities import LWPolyline
from ezdxf.math import Vec2, bulge_center, bulge_radius

from kb.drawing import VIEWS, draw, drawings
from kb.drawing.model import Bend, Drawing, Straight
from kb.output.dxf import LAYERS, dxf
from kb.route.assemble import Assembled
from kb.route.stations import Route
from tests.drawing.geometry import revolved


@pytest.fixture(scope="module")
def true(regular: Assembled, route: Route) -> Mapping[str, Drawing]:
    """All views of one format with true thickness."""
    return drawings(regular, route, true=True)


def read(data: bytes) -> Document:
    """A DXF file as ezdxf reads it."""
    doc = ezdxf.read(io.StringIO(data.decode("utf-8")))
    audit = doc.audit()
    assert audit.errors == []
    assert audit.fixes == []
    return doc


def contour(doc: Document, layer: str = "METAL") -> LWPolyline:
    """The one closed contour on a layer."""
    (found,) = doc.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    assert isinstance(found, LWPolyline)
    assert found.closed
    return found


def pieces(line: LWPolyline) -> list[Straight | Bend]:
    """A closed polyline as lines and arcs, by the bulges alone."""
    points = [(x, y, bulge) for x, y, bulge in line.get_points("xyb")]
    found: list[Straight | Bend] = []
    for (x0, y0, bulge), (x1, y1, _) in zip(points, [*points[1:], points[0]], strict=True):
        if bulge == 0:
            found.append(Straight((x0, y0), (x1, y1)))
            continue
        centre = bulge_center((x0, y0), (x1, y1), bulge)
        radius = bulge_radius((x0, y0), (x1, y1), bulge)
        begin = (Vec2(x0, y0) - centre).angle_deg
        found.append(Bend((centre.x, centre.y), radius, begin, begin + degrees(4 * atan(bulge))))
    return found


def test_the_finished_can_measures_as_the_route_has_it(
    routes: Mapping[str, Route], formats: Mapping[str, Assembled]
) -> None:
    """Walls, diameters, dome depth and height off the file's contour are the route's within 1e-6 mm."""
    for ident, route in routes.items():
        spec = route.case.format
        line = contour(read(dxf({"can": draw(formats[ident], route, "can")})))
        corners = [(x, y) for x, y, _ in line.get_points("xyb")]
        inner = float(spec.punch.wall_diameter / 2)
        # doming draws the wall down the punch, and the step of the wall with it
        step = float(spec.punch.step_height - route.domed.drawn_down)
        at_step = sorted(x for x, y in corners if abs(y - step) < 0.01)
        assert at_step[0] == pytest.approx(inner, abs=1e-6)
        assert at_step[-1] - inner == pytest.approx(float(route.ironed[-1].thin), abs=1e-6)
        shoulder = sorted(x for x, y in corners if abs(y - float(spec.neck.shoulder_height)) < 1e-6)
        assert shoulder[-1] - shoulder[0] == pytest.approx(float(route.ironed[-1].thick), abs=1e-6)
        assert max(y for _, y in corners) == pytest.approx(float(route.flanged.height), abs=1e-6)
        edge = max(corners, key=lambda corner: corner[1])
        assert 2 * edge[0] == pytest.approx(float(route.flanged.flange_diameter), abs=1e-6)
        neck = [x for x, y in corners if y > float(spec.neck.shoulder_height) + 1]
        assert 2 * min(neck) == pytest.approx(float(spec.neck.plug_diameter), abs=1e-6)
        axis = sorted(y for x, y in corners if abs(x) < 1e-9)
        assert axis[0] == pytest.approx(float(spec.dome.depth), abs=1e-6)
        assert axis[1] - axis[0] == pytest.approx(float(route.domed.wall), abs=1e-6)
        outside_nose = float(spec.punch.nose_radius + spec.stock.gauge)
        (nose,) = [
            piece
            for piece in pieces(line)
            if isinstance(piece, Bend) and abs(piece.radius - outside_nose) < 1e-6
        ]
        assert 2 * nose.centre[0] == pytest.approx(float(spec.dome.stand_diameter), abs=1e-6)


@pytest.mark.parametrize(("view", "part"), [("cup", "cup"), ("redrawn", "redrawn")])
def test_a_contour_in_the_file_holds_the_metal_of_the_route(
    formats: Mapping[str, Assembled], routes: Mapping[str, Route], view: str, part: str
) -> None:
    """The contour read back, revolved, has the route's volume, so its arcs came through as arcs."""
    for ident, route in routes.items():
        line = contour(read(dxf({view: draw(formats[ident], route, view)})))
        shape = getattr(route, part).shape
        assert revolved(pieces(line)) == pytest.approx(float(shape.metal()), rel=1e-6)


def test_dimensions_are_dimensions_that_measure_right(true: Mapping[str, Drawing]) -> None:
    """Each dimension is a real one: what CAD measures on it is the drawing's number, its text the spec's."""
    doc = read(dxf(true))
    entities = doc.modelspace().query("DIMENSION")
    expected = [one for drawing in true.values() for one in drawing.dimensions]
    assert len(entities) == len(expected) > 40
    for entity, one in zip(entities, expected, strict=True):
        assert one.size.whole in entity.dxf.text
        assert entity.dxf.layer == "DIMENSION"
        assert entity.get_geometry_block() is not None
        if one.size.key != "format.flange.finished_height":
            assert entity.get_measurement() == pytest.approx(abs(one.size.value), abs=1e-6), one.size.name


def test_the_file_says_millimetres_and_names_layers_in_trade_words(true: Mapping[str, Drawing]) -> None:
    """The unit is the millimetre, and all shapes are on layers with trade names, none left out."""
    doc = read(dxf(true))
    assert doc.header["$INSUNITS"] == 4
    assert doc.header["$MEASUREMENT"] == 1
    used = {entity.dxf.layer for entity in doc.modelspace()}
    named = {layer for layer, *_ in LAYERS.values()} | {"DIMENSION", "TEXT"}
    assert used == named
    assert {"METAL", "TOOL", "CENTRE", "TRIM"} <= used


def test_shapes_become_the_entities_they_are(true: Mapping[str, Drawing]) -> None:
    """Closed shapes are closed polylines, blanks circles, the axis a line."""
    doc = read(dxf({"blank": true["blank"], "can": true["can"]}))
    space = doc.modelspace()
    assert len(space.query('CIRCLE[layer=="BLANK"]')) == 12
    assert {c.dxf.radius for c in space.query('CIRCLE[layer=="BLANK"]')} == {133.76 / 2}
    assert len(space.query('LINE[layer=="CENTRE"]')) == 1
    assert contour(doc).closed


def test_views_stand_side_by_side_to_one_size(true: Mapping[str, Drawing]) -> None:
    """The first view keeps its coordinates, the others are moved by whole centimetres without overlapping."""
    alone = contour(read(dxf({"dome": true["dome"]})))
    doc = read(dxf({"can": true["can"], "dome": true["dome"]}))
    _, moved = doc.modelspace().query('LWPOLYLINE[layer=="METAL"]')
    shifts = {
        round(b[0] - a[0], 9) for a, b in zip(alone.get_points("xyb"), moved.get_points("xyb"), strict=True)
    }
    (shift,) = shifts
    assert shift % 10 == 0
    assert shift >= 50


def test_the_same_drawings_give_the_same_bytes(
    regular: Assembled, route: Route, true: Mapping[str, Drawing]
) -> None:
    """Two runs give the same file, without dates or random names, and leave the library as it was."""
    before = ezdxf.options.write_fixed_meta_data_for_testing
    assert dxf(true) == dxf(drawings(regular, route, true=True))
    assert ezdxf.options.write_fixed_meta_data_for_testing == before


def test_exaggerated_drawings_are_refused(regular: Assembled, route: Route) -> None:
    """A drawing thicker than true does not get into a CAD file."""
    with pytest.raises(ValueError, match=r"true sizes only.*: ironing"):
        dxf(drawings(regular, route))
    with pytest.raises(ValueError, match=r"true sizes only.*: can"):
        dxf({"can": draw(regular, route, "can", 2.0)})


def test_every_view_of_every_format_makes_a_valid_file(
    formats: Mapping[str, Assembled], routes: Mapping[str, Route]
) -> None:
    """The file of each demo format is read back without an error or a repair."""
    for ident, route in routes.items():
        doc = read(dxf(drawings(formats[ident], route, true=True)))
        assert {style.dxf.name for style in doc.dimstyles} >= {view.upper() for view in VIEWS}


def test_signs_that_cad_takes_for_commands_are_put_as_text(true: Mapping[str, Drawing]) -> None:
    """A title with control codes of CAD comes out as harmless words."""
    hostile = replace(true["can"], title="%%c %%%%u ^J {\\fArial;x} \\U+00D8 \n\x00 end")
    texts = [text.dxf.text for text in read(dxf({"can": hostile})).modelspace().query("TEXT")]
    line = next(text for text in texts if text.endswith("end"))
    assert not any(sign in line for sign in ("%%", "^", "\\", "{", "\n", "\x00"))


def test_the_neck_file_has_each_stage_at_its_diameter(true: Mapping[str, Drawing], route: Route) -> None:
    """The last contour of the neck view has the plug diameter, the first that of the first stage."""
    doc = read(dxf({"neck": true["neck"]}))
    lines = doc.modelspace().query('LWPOLYLINE[layer=="METAL"]')
    inner = [min(x for x, _, _ in line.get_points("xyb")) for line in lines]
    assert [2 * x for x in inner] == pytest.approx(
        [float(route.necked[0].diameter), float(route.necked[-1].diameter)], abs=1e-6
    )
