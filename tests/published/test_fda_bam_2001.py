"""FDA, Bacteriological Analytical Manual, chapter 22A, Examination of Metal Containers for Integrity, 2001.

From memory, high confidence: percent overlap is
100 (CH + BH + T - W) / (W - (2T + Tb)). No worked example was seen; the seam is made up.
"""

from __future__ import annotations

import pytest

from kb.process.seam import overlap_share

MM_PER_INCH = 25.4
SEAM_IN = {"body_hook": 0.080, "end_hook": 0.078, "end_gauge": 0.010, "body_wall": 0.010, "length": 0.118}
PERCENT_OVERLAP = 56.82  # 0.050 / 0.088


def test_percent_overlap():
    """The seam's overlap is 56.82 % of its internal length, to two decimals."""
    seam = {name: value * MM_PER_INCH for name, value in SEAM_IN.items()}
    assert 100 * overlap_share(**seam) == pytest.approx(PERCENT_OVERLAP, abs=0.005)
