from __future__ import annotations

import numpy as np
import pytest

from kb.process.seam import (
    body_hook_butting,
    free_space,
    overlap,
    overlap_share,
    plug_chuck_clearance,
    thickness_target,
)

SEAM = {"body_hook": 1.65, "end_hook": 1.55, "end_gauge": 0.208, "length": 2.50}
BODY_WALL = 0.160


def test_hooks_that_just_meet_do_not_overlap():
    """Hooks and one end thickness that fill the length exactly give no overlap; shorter ones a gap."""
    assert overlap(body_hook=1.4, end_hook=1.4, end_gauge=0.2, length=3.0) == pytest.approx(0)
    assert overlap(body_hook=1.3, end_hook=1.4, end_gauge=0.2, length=3.0) == pytest.approx(-0.1)


def test_hooks_that_fill_the_seam_overlap_and_butt_wholly():
    """Hooks as long as the seam allows make share and butting one."""
    length, end_gauge, body_wall = 2.5, 0.2, 0.15
    longest_body_hook = length - 2 * end_gauge
    longest_end_hook = length - end_gauge - body_wall
    share = overlap_share(
        body_hook=longest_body_hook,
        end_hook=longest_end_hook,
        end_gauge=end_gauge,
        body_wall=body_wall,
        length=length,
    )
    butting = body_hook_butting(
        body_hook=longest_body_hook, length=length, end_gauge=end_gauge, body_wall=body_wall
    )
    assert share == pytest.approx(1)
    assert butting == pytest.approx(1)


def test_share_is_overlap_over_internal_length():
    """By hand: 0.908 of overlap in 2.5 - 0.416 - 0.16 = 1.924 of room is 47.2 %."""
    assert overlap(**SEAM) == pytest.approx(0.908)
    assert overlap_share(body_wall=BODY_WALL, **SEAM) == pytest.approx(0.908 / 1.924)


def test_target_thickness_leaves_the_allowance_free():
    """A seam made to the target has the allowance as its free space."""
    target = thickness_target(end_gauge=0.208, body_wall=BODY_WALL, allowance=0.25)
    assert free_space(thickness=target, end_gauge=0.208, body_wall=BODY_WALL) == pytest.approx(0.25)


def test_beverage_seam_target_in_inches():
    """End 0.0082 in, body 0.0065 in and the 0.010 in beverage allowance: 0.0476 in, 1.209 mm."""
    target = thickness_target(end_gauge=0.0082 * 25.4, body_wall=0.0065 * 25.4, allowance=0.010 * 25.4)
    assert target == pytest.approx(1.209, abs=5e-4)


def test_crushed_metal_shows_as_negative_free_space():
    """A seam thinner than its five layers is reported as such, not refused."""
    assert free_space(thickness=0.9, end_gauge=0.2, body_wall=0.16) == pytest.approx(-0.02)


def test_chuck_larger_than_plug_interferes():
    """The sign shows clearance from interference."""
    assert plug_chuck_clearance(plug_diameter=52.4, chuck_diameter=52.5) == pytest.approx(-0.1)


def test_seam_without_room_is_refused():
    """A length that the metal alone fills has no share to give."""
    with pytest.raises(ValueError, match="internal_seam_length"):
        overlap_share(body_hook=0.5, end_hook=0.5, end_gauge=0.3, body_wall=0.4, length=1.0)


@pytest.mark.parametrize("argument", ["body_hook", "end_hook", "end_gauge", "length"])
def test_negative_size_is_refused_by_name(argument):
    """A negative reading is refused by its name."""
    with pytest.raises(ValueError, match=argument):
        overlap(**(SEAM | {argument: -0.1}))


def test_share_and_butting_do_not_change_with_the_unit():
    """The same seam read in inches gives the same shares."""
    inches = {name: value / 25.4 for name, value in SEAM.items()}
    assert overlap_share(body_wall=BODY_WALL / 25.4, **inches) == pytest.approx(
        overlap_share(body_wall=BODY_WALL, **SEAM)
    )


def test_arrays_equal_single_numbers():
    """Each sample of an array comes out as it would alone."""
    hooks, lengths = np.array([1.5, 1.6, 1.7]), np.array([[2.4], [2.5]])
    shares = overlap_share(body_wall=BODY_WALL, **(SEAM | {"body_hook": hooks, "length": lengths}))
    butting = body_hook_butting(body_hook=hooks, length=lengths, end_gauge=0.208, body_wall=BODY_WALL)
    assert shares.shape == butting.shape == (2, 3)
    for row, column in np.ndindex(shares.shape):
        alone = SEAM | {"body_hook": float(hooks[column]), "length": float(lengths[row, 0])}
        assert shares[row, column] == overlap_share(body_wall=BODY_WALL, **alone)
        del alone["end_hook"]
        assert butting[row, column] == body_hook_butting(body_wall=BODY_WALL, **alone)
