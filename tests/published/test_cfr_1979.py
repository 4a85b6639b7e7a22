"""21 CFR 113.60(a)(1), Containers, in 44 FR 16215, 16 March 1979, as amended.

Of part 113, Thermally processed low-acid foods packaged in hermetically sealed containers. From memory, high
confidence: overlap is CH + BH + T - W; T may be taken as 0.010 in where it is not known. The regulation
prints no worked example; the seam is made up.
"""

from __future__ import annotations

import pytest

from kb.process.seam import overlap

MM_PER_INCH = 25.4
COVER_THICKNESS_IN = 0.010
COVER_HOOK_IN, BODY_HOOK_IN, WIDTH_IN = 0.078, 0.080, 0.118
OVERLAP_IN = 0.050


def test_overlap_length():
    """The seam overlaps by 0.050 in, exactly as the sum is done by hand."""
    found = overlap(
        body_hook=BODY_HOOK_IN * MM_PER_INCH,
        end_hook=COVER_HOOK_IN * MM_PER_INCH,
        end_gauge=COVER_THICKNESS_IN * MM_PER_INCH,
        length=WIDTH_IN * MM_PER_INCH,
    )
    assert found / MM_PER_INCH == pytest.approx(OVERLAP_IN, abs=1e-12)
