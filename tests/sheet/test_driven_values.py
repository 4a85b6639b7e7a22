"""Parts, settings and supplies of the floor are driven by the size of the can that they meet.

The sizes are read off the meridian of the can as it arrives, never from the formula of the value.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping

import numpy as np
import pytest

from kb.book.load import Book
from kb.book.records_floor import ChangePart, MachineSetting
from kb.checks.consistency.floor_index import Item, items
from kb.process.meridian import Meridian
from kb.route.assemble import Assembled
from kb.route.stations import Route
from kb.sheet.values import Values, Wanted

Surface = Callable[[Route], float]


# --- surfaces, read off the meridian ------------------------------------------------------------


def wall_of(shape: Meridian, route: Route) -> Meridian:
    """What is above the base: the straight wall, and the neck where there is one."""
    return Meridian(shape.pieces[len(route.domed.base.pieces) :])


def blank_outside(route: Route) -> float:
    """Diameter of the disc that holds the metal of the drawn cup at the coil's gauge."""
    return 2 * float(np.sqrt(route.cup.shape.metal() / (np.pi * route.case.format.stock.gauge)))


def cup_inside(route: Route) -> float:
    """Inside diameter of the cup at its rim."""
    return 2 * float(route.cup.shape.points()[0][-1])


def cup_outside(route: Route) -> float:
    """Greatest outside diameter of the cup."""
    return 2 * float(route.cup.shape.points(outside=True)[0].max())


def stand(route: Route) -> float:
    """Diameter of the lowest ring on the outside of the domed can."""
    r, z = route.domed.shape.points(outside=True)
    return 2 * float(r[np.argmin(z)])


def dome_depth(route: Route) -> float:
    """Height of the outside of the base on the axis, over its lowest point."""
    _, z = route.domed.shape.points(outside=True)
    return float(z[0] - z.min())


def dome_outside_radius(route: Route) -> float:
    """Radius of the outside of the dome, from two points on it at and near the axis."""
    r, z = route.domed.shape.points(per_arc=41, outside=True)
    run, drop = float(r[1]), float(z[0] - z[1])
    return (run**2 + drop**2) / (2 * drop)


def mouth_untrimmed(route: Route) -> float:
    """Inside diameter of the domed can at its rim."""
    return 2 * float(route.domed.shape.points()[0][-1])


def mouth(route: Route) -> float:
    """Inside diameter of the trimmed can at its edge."""
    return 2 * float(route.trimmed.shape.points()[0][-1])


def body_inside(route: Route) -> float:
    """Greatest inside diameter of the straight wall of the trimmed can."""
    return 2 * float(wall_of(route.trimmed.shape, route).points()[0].max())


def body_outside(route: Route) -> float:
    """Greatest outside diameter of the straight wall of the trimmed can."""
    return 2 * float(wall_of(route.trimmed.shape, route).points(outside=True)[0].max())


def trimmed_height(route: Route) -> float:
    """Height of the trimmed can, from its lowest point to its edge."""
    _, low = route.trimmed.shape.points(outside=True)
    return float(route.trimmed.shape.points()[1][-1] - low.min())


def shoulder(route: Route) -> float:
    """Height up to which the finished can has the inside diameter of the mouth before necking."""
    r, z = wall_of(route.flanged.shape, route).points()
    return float(z[np.isclose(2 * r, mouth(route), atol=1e-9)].max())


def neck_inside(route: Route) -> float:
    """Least inside diameter of the finished can above the base."""
    return 2 * float(wall_of(route.flanged.shape, route).points()[0].min())


def flange_outside(route: Route) -> float:
    """Diameter of the finished can at its rim."""
    return 2 * float(route.flanged.shape.points()[0][-1])


def finished_height(route: Route) -> float:
    """Height of the finished can, from its lowest point to its rim."""
    _, low = route.flanged.shape.points(outside=True)
    return float(route.flanged.shape.points()[1][-1] - low.min())


# --- which part meets which surface -------------------------------------------------------------

MEETS: Mapping[tuple[str, str], Surface] = {
    ("cut-edge", "format.blank.diameter"): blank_outside,
    ("draw-pad", "format.blank.diameter"): blank_outside,
    ("cup-punch", "format.cup.punch_diameter"): cup_inside,
    ("redraw-sleeve", "format.cup.punch_diameter"): cup_inside,
    ("cup-feed", "route.cup.outside"): cup_outside,
    ("punch", "format.punch.wall_diameter"): body_inside,
    ("punch", "format.punch.neck_diameter"): mouth_untrimmed,
    ("stripper", "route.domed.mouth_inside"): mouth_untrimmed,
    ("dome-tool", "format.dome.radius"): dome_outside_radius,
    ("hold-down-ring", "format.dome.stand_diameter"): stand,
    ("dome-setting", "format.dome.depth"): dome_depth,
    ("trim-spindle", "route.domed.mouth_inside"): mouth_untrimmed,
    ("trim-pad", "format.dome.stand_diameter"): stand,
    ("trim-spacer", "format.trim.height"): trimmed_height,
    ("trim-height", "format.trim.height"): trimmed_height,
    ("hold-down-mat", "format.trim.height"): trimmed_height,
    ("printer-mandrel", "route.domed.mouth_inside"): mouth,
    ("printer-mandrel", "format.punch.wall_diameter"): body_inside,
    ("blanket-length", "format.neck.shoulder_height"): shoulder,
    ("blanket-length", "route.domed.body_outside"): body_outside,
    ("print-infeed", "format.trim.height"): trimmed_height,
    ("spray-pocket", "route.domed.body_outside"): body_outside,
    ("spray-guide", "format.trim.height"): trimmed_height,
    ("spray-recipe", "format.trim.height"): trimmed_height,
    ("oven-rail", "format.trim.height"): trimmed_height,
    ("neck-pusher", "format.dome.stand_diameter"): stand,
    ("neck-star", "route.domed.body_outside"): body_outside,
    ("can-in", "format.trim.height"): trimmed_height,
    ("neck-start", "format.neck.shoulder_height"): shoulder,
    ("flange-head", "format.neck.plug_diameter"): neck_inside,
    ("flange-pad", "format.dome.stand_diameter"): stand,
    ("flange-height", "format.flange.finished_height"): finished_height,
    ("tester-seal", "route.flanged.flange_diameter"): flange_outside,
    ("tester-height", "format.flange.finished_height"): finished_height,
    ("pallet-can-height", "format.flange.finished_height"): finished_height,
}

WITHOUT_A_SURFACE: Mapping[tuple[str, str], str] = {
    ("draw-die", "format.cup.die_bore"): "size of the tool, with a clearance over the cup",
    ("feed-pitch", "route.blank.pitch"): "the strip, before there is a can",
    ("strip-guides", "route.blank.strip_width"): "the strip, before there is a can",
    ("cups-a-stroke", "format.blank.across"): "a count",
    ("coil", "format.stock.gauge"): "the coil",
    ("redraw-die", "format.redraw.die_bore"): "size of the tool, with a clearance over the wall",
    ("ironing-ring", "format.ironing.rings[].bore"): "size of the cold tool, before load and heat",
    ("punch", "format.punch.step_height"): "size of the tool",
    ("ring-spacer", "format.ironing.rings[].distance"): "place of the tool",
    ("strokes", "machine.ram_speed"): "a speed",
    ("print-rate", "machine.speed"): "a speed",
    ("plates", "format.label"): "a text",
    ("inks", "format.label"): "a text",
    ("neck-die", "route.necked[].die_bore"): "held with the meridian by a test of its own",
    ("neck-pilot", "route.necked[].pilot"): "held with the meridian by a test of its own",
    ("stages", "format.neck.stages"): "a count",
    ("flange-stop", "format.flange.width"): "held with the meridian by a test of its own",
    ("seam-check-ends", "format.end"): "a text",
    ("per-layer", "format.pallet.per_layer"): "a count",
    ("layers", "format.pallet.layers"): "a count",
    ("pallet-labels", "format.label"): "a text",
}


def driven(demo: Book) -> Iterator[tuple[Item, str]]:
    """Every row of the floor with each value that is printed for it."""
    spec = demo.only("floor")
    assert spec is not None
    for item in items(spec.record):
        for key in item.shown:
            yield item, key


def test_every_driven_value_is_placed(demo: Book) -> None:
    """Each printed value meets a surface of the can, or says why it meets none."""
    printed = {(item.id, key) for item, key in driven(demo)}
    assert printed == MEETS.keys() | WITHOUT_A_SURFACE.keys()
    assert not MEETS.keys() & WITHOUT_A_SURFACE.keys()


def shown(assembled: Assembled, demo: Book, item: Item, key: str) -> tuple[float, float]:
    """What a row prints, and how far from it the can may be: half its last digit."""
    line = demo.of("line")[assembled.spec.record.lines[0]]
    record = item.record
    decimals = record.decimals if isinstance(record, ChangePart | MachineSetting) else None
    cell = Values(assembled, line).cell(key, wanted=Wanted(decimals=decimals, plain=True))
    assert cell.unit == "mm"
    last = 0.5 * 10.0 ** -len(cell.target.partition(".")[2])
    return float(cell.target), last + 1e-6


@pytest.mark.parametrize(("ident", "key"), MEETS)
def test_a_driven_value_is_the_size_that_the_part_meets(
    ident: str, key: str, demo: Book, formats: Mapping[str, Assembled]
) -> None:
    """In every demo format the printed value is that of the arriving can, to half its last digit.

    The finished height is a target; there the can is within the target's written tolerance.
    """
    item = next(one for one, of in driven(demo) if (one.id, of) == (ident, key))
    for name, assembled in formats.items():
        value, near = shown(assembled, demo, item, key)
        if key == "format.flange.finished_height":
            written = assembled.spec.record.flange.finished_height
            near = written.high - written.nominal
        meets = MEETS[ident, key](assembled.study.nominal)
        assert value == pytest.approx(meets, abs=near), name


def test_the_neck_tools_fit_the_neck(formats: Mapping[str, Assembled]) -> None:
    """The last die is the outside of the neck, the last pilot clears its inside, the flange has its width."""
    for assembled in formats.values():
        route, spec = assembled.study.nominal, assembled.case.format
        neck = Meridian(route.flanged.shape.pieces[-3:-2])
        assert 2 * float(neck.points(outside=True)[0][0]) == pytest.approx(float(route.necked[-1].die_bore))
        clear = float(spec.neck.pilot_clearance)
        assert neck_inside(route) - 2 * clear == pytest.approx(float(route.necked[-1].pilot))
        assert (flange_outside(route) - neck_inside(route)) / 2 == pytest.approx(float(spec.flange.width))


def test_a_size_over_all_is_no_smaller_than_the_body(formats: Mapping[str, Assembled]) -> None:
    """Body outside is larger than the punch, mouth inside smaller."""
    for assembled in formats.values():
        domed, punch = assembled.study.nominal.domed, assembled.case.format.punch
        assert domed.body_outside > punch.wall_diameter > domed.mouth_inside


def test_labels_say_which_size_they_show(demo: Book) -> None:
    """A part that goes by a size of the can names it: inside or outside, at the mouth or of the body."""
    bare = [
        item.name
        for item, _ in driven(demo)
        if item.name.endswith((", for can", ", for body", ", for cup", "can inside"))
    ]
    assert bare == []
