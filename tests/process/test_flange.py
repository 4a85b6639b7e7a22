from __future__ import annotations

import pytest

from kb.process import neck

FLANGE = {"neck_diameter": 52.4, "flange_diameter": 57.0}


def test_width_is_on_both_sides() -> None:
    """The flange is wider than the plug by two widths."""
    assert neck.flange_diameter(plug_diameter=52.4, width=2.08) == pytest.approx(56.56)


def test_nothing_flanged() -> None:
    """An edge left where it was is neither stretched nor thinned."""
    same = {"neck_diameter": 52.4, "flange_diameter": 52.4}
    assert neck.edge_strain(**same) == 0.0
    assert neck.edge_wall(wall=0.16, edge_strain=0.0) == 0.16


def test_edge_keeps_its_volume() -> None:
    """Stretched round, the free edge thins and shortens alike and keeps its volume."""
    strain = neck.edge_strain(**FLANGE)
    thinner = neck.edge_wall(wall=0.16, edge_strain=strain) / 0.16
    assert (1 + strain) * thinner**2 == pytest.approx(1.0)


def test_edge_squeezed_to_nothing_is_refused() -> None:
    """A strain of -1 leaves no edge."""
    with pytest.raises(ValueError, match="stretch"):
        neck.edge_wall(wall=0.16, edge_strain=-1.0)
