"""Neck diameters and the number of operations that made them.

European patent application EP 0 537 773 A1, necking and flanging of two-piece containers, 1993 (year
from memory), paragraph 4: containers of 68.26 mm (211) are necked to 65.09 mm (209) typically in a
single operation, to 62.71 mm (207 1/2) in a double one, to 60.34 mm (206) in a triple or quadruple one.

Units of the source are mm. The diameters are nominal size codes, so only counts are tested.
"""

from __future__ import annotations

import pytest

from kb.process import material, neck

BODY, NECK_209, NECK_207_HALF, NECK_206 = 68.26, 65.09, 62.71, 60.34


def single_reduction() -> float:
    """What the published single operation takes off."""
    return float(material.reduction(before=BODY, after=NECK_209))


def test_single_operation() -> None:
    """The single operation takes 4.64 % off."""
    assert 100 * single_reduction() == pytest.approx(4.64, abs=0.005)


@pytest.mark.parametrize(("diameter", "operations"), [(NECK_207_HALF, 2), (NECK_206, 3), (NECK_206, 4)])
def test_no_operation_is_harder_than_the_single_one(diameter: float, operations: int) -> None:
    """Shared evenly, no published operation takes off more than the published single one."""
    schedule = neck.equal_schedule(before=BODY, after=diameter, stages=operations)
    assert len(schedule) == operations + 1
    taken = material.reduction(before=schedule[:-1], after=schedule[1:])
    assert max(taken) < single_reduction()
