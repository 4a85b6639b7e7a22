from __future__ import annotations

import math

import numpy as np
import pytest

from kb.process import draw, material

FIRST_DRAW = {"blank_diameter": 138.0, "punch_diameter": 75.0, "gauge": 2.4}


def test_nothing_drawn() -> None:
    """A punch as wide as the blank has draw ratio 1, no reduction and no strain."""
    same = {"before": 88.0, "after": 88.0}
    assert draw.draw_ratio(**same) == 1.0
    assert material.reduction(**same) == 0.0
    assert material.strain(**same) == 0.0


def test_reduction_and_ratio_say_the_same() -> None:
    """Reduction is 1 less the inverse of the draw ratio; the strain is the ratio's logarithm."""
    step = {"before": 138.0, "after": 88.0}
    assert material.reduction(**step) == pytest.approx(1 - 1 / draw.draw_ratio(**step))
    assert material.strain(**step) == pytest.approx(math.log(draw.draw_ratio(**step)))


def test_strain_is_positive_when_drawn_in() -> None:
    """Compression round the rim counts positive, stretching it would count negative."""
    assert material.strain(before=138.0, after=88.0) > 0
    widened = material.strain(before=88.0, after=138.0)
    assert widened == pytest.approx(-material.strain(before=138.0, after=88.0))


def test_twice_the_size_takes_four_times_the_force() -> None:
    """Forces go as areas, pressures and ratios do not change with size."""
    double = {name: 2 * length for name, length in FIRST_DRAW.items()}
    small, large = (draw.drawing_force(tensile=300.0, **sizes) for sizes in (FIRST_DRAW, double))
    assert large == pytest.approx(4 * small)
    small, large = (
        draw.holder_pressure(draw_ratio=1.6, punch_diameter=d, gauge=t, tensile=290.0)
        for d, t in ((88.0, 0.27), (176.0, 0.54))
    )
    assert large == pytest.approx(small)


def test_forces_go_with_the_strength() -> None:
    """Twice the strength, twice the force; no strength is refused."""
    small, large = (draw.drawing_force(tensile=strength, **FIRST_DRAW) for strength in (150.0, 300.0))
    assert large == pytest.approx(2 * small)
    with pytest.raises(ValueError, match="tensile must be above zero"):
        draw.drawing_force(tensile=0.0, **FIRST_DRAW)


def test_holder_pressure_of_an_undrawn_blank() -> None:
    """At draw ratio 1 only the share of the sheet's thinness is left."""
    # 290 / 400 x 88 / (200 x 0.275)
    flat = {"draw_ratio": 1.0, "punch_diameter": 88.0, "gauge": 0.275, "tensile": 290.0}
    assert draw.holder_pressure(**flat) == pytest.approx(1.16)


def test_draw_ratio_below_1_is_refused() -> None:
    """A blank smaller than its punch has no flange to hold."""
    with pytest.raises(ValueError, match="draw_ratio_above_1"):
        draw.holder_pressure(draw_ratio=0.9, punch_diameter=88.0, gauge=0.275, tensile=290.0)


def test_limits_move_the_right_way() -> None:
    """More resistance to thinning raises the limit, a wider punch on the same sheet lowers it."""
    by_sheet = draw.limiting_ratio_from_anisotropy(mean_anisotropy=np.linspace(0.4, 2.0, 9), efficiency=0.74)
    assert np.all(np.diff(by_sheet) > 0)
    by_punch = draw.limiting_ratio_from_thickness(
        punch_diameter=np.linspace(30.0, 150.0, 9), gauge=0.27, bound=2.15, slope=1.0
    )
    assert np.all(np.diff(by_punch) < 0)


def test_clearance_is_on_the_radius() -> None:
    """A die 0.6 mm wider than its punch leaves 0.3 mm on each side."""
    assert draw.clearance(die_bore=88.6, punch_diameter=88.0) == pytest.approx(0.3)


def test_drawing_force_estimate_is_nothing_when_nothing_is_drawn() -> None:
    """Without a draw, holder and bending there is no force; friction and bending add to it."""
    base = {"punch_diameter": 88.0, "gauge": 0.262, "flow_stress": 300.0, "die_radius": 2.8}
    none = draw.drawing_force_estimate(rim_diameter=88.0, bend_stress=0.0, friction=0.1, **base)
    assert none == pytest.approx(0.0, abs=1e-9)
    ideal = draw.drawing_force_estimate(rim_diameter=110.0, bend_stress=0.0, friction=0.0, **base)
    assert ideal == pytest.approx(1.1 * 300.0 * math.log(1.25) * math.pi * 88.262 * 0.262)
    rubbed = draw.drawing_force_estimate(rim_diameter=110.0, bend_stress=0.0, friction=0.1, **base)
    bent = draw.drawing_force_estimate(rim_diameter=110.0, bend_stress=330.0, friction=0.1, **base)
    held = draw.drawing_force_estimate(
        rim_diameter=110.0, bend_stress=330.0, friction=0.1, holder_force=12e3, **base
    )
    assert ideal < rubbed < bent < held


def test_rim_is_between_gauge_and_clearance() -> None:
    """An undrawn rim keeps its gauge; a sheet that does not thicken is drawn without thickening."""
    same = {"gauge": 0.262, "clearance": 0.40}
    assert draw.rim_thickness(before=88.0, after=88.0, mean_anisotropy=0.8, **same) == 0.262
    stiff = draw.rim_thickness(before=138.0, after=88.0, mean_anisotropy=1e9, **same)
    assert stiff == pytest.approx(0.262)


@pytest.mark.parametrize(("anisotropy", "ratio"), [(1.0, 2.096), (0.7, 1.978), (0.6, 1.938)])
def test_real_sheet(anisotropy: float, ratio: float) -> None:
    """At an efficiency of 0.74 the limit falls with the sheet's resistance to thinning."""
    # by hand for 0.7: sqrt(1.7 / 2) = 0.92195, times 0.74 = 0.68225, exp = 1.978
    limit = draw.limiting_ratio_from_anisotropy(mean_anisotropy=anisotropy, efficiency=0.74)
    assert limit == pytest.approx(ratio, abs=0.0005)


# worked by hand from the forms of Tschaetsch, Metal Forming Practise, 2006, which are from memory
INCH = 25.4  # mm
GOOD, POORER = {"bound": 2.15, "slope": 1.0}, {"bound": 2.0, "slope": 1.1}
CAN = {"punch_diameter": 3.5 * INCH, "gauge": 0.011 * INCH}  # d/t = 318


@pytest.mark.parametrize(("sheet", "ratio"), [(GOOD, 2.05), (POORER, 1.89)], ids=["good", "poorer"])
def test_limit_at_a_hundred_gauges(sheet: dict[str, float], ratio: float) -> None:
    """A punch of a hundred gauges loses 0.10 of a good sheet's ratio and 0.11 of a poorer one's."""
    limit = draw.limiting_ratio_from_thickness(punch_diameter=100.0, gauge=1.0, **sheet)
    assert limit == pytest.approx(ratio)


@pytest.mark.parametrize(("sheet", "ratio"), [(GOOD, 1.832), (POORER, 1.650)], ids=["good", "poorer"])
def test_limit_of_can_sheet(sheet: dict[str, float], ratio: float) -> None:
    """Can sheet is thin for its punch, yet a first draw of 1.571 keeps within both limits."""
    limit = draw.limiting_ratio_from_thickness(**CAN, **sheet)
    assert limit == pytest.approx(ratio, abs=0.0005)
    assert draw.draw_ratio(before=5.5, after=3.5) < limit


# blank, cup and body of a can in inches; the ratios are worked by hand
BLANK, CUP, BODY = 5.5, 3.5, 2.6


def test_draws() -> None:
    """The first draw is 1.57, the redraw 1.35, both together 2.12."""
    first = draw.draw_ratio(before=BLANK, after=CUP)
    redraw = draw.draw_ratio(before=CUP, after=BODY)
    assert first == pytest.approx(1.571, abs=0.0005)
    assert redraw == pytest.approx(1.346, abs=0.0005)
    assert first * redraw == pytest.approx(2.115, abs=0.0005)


def test_reductions() -> None:
    """The first draw takes 36.4 % off the diameter, the redraw 25.7 %."""
    assert 100 * material.reduction(before=BLANK, after=CUP) == pytest.approx(36.4, abs=0.05)
    assert 100 * material.reduction(before=CUP, after=BODY) == pytest.approx(25.7, abs=0.05)


def test_hoop_strains_add_up() -> None:
    """Compression round the rim in cup and redraw adds up to that of the whole way."""
    both = material.strain(before=BLANK, after=CUP) + material.strain(before=CUP, after=BODY)
    assert both == pytest.approx(material.strain(before=BLANK, after=BODY))
