"""The page of trials: what was measured, what was estimated, and the factor between them."""

from __future__ import annotations

import math
from typing import Any

from kb.book.conversion import factor_and_offset, reader_unit
from kb.errors import installed
from kb.output.calibration import interval
from kb.publish.format_page import Axis, line_plot
from kb.publish.page import Context, Pages, Rendered, page
from kb.route.trials import Calibration, calibrations


def trial_page(context: Context) -> Rendered:
    """Each calibration with its plot and its trials."""
    book = context.edition.book
    found = calibrations(book) if installed("strength") else ()
    yield (
        "trials.md",
        page("trials.md", title="Trials and calibration", up="", found=[_shown(one) for one in found]),
    )


def _shown(one: Calibration) -> dict[str, Any]:
    scale = float(factor_and_offset(one.result.unit, one.result.show)[0])
    unit = reader_unit(one.result.show)
    rows = [
        {
            "record": each.trial.record,
            "measured": f"{each.measured * scale:.4g} {unit}",
            "estimate": f"{each.estimate * scale:.4g} {unit}",
            "ratio": f"{each.ratio:.3f}",
        }
        for each in one.evidence
    ]
    return {
        "setting": one.setting,
        "words": one.result.words,
        "why_not": one.why_not,
        "factor": one.factor,
        "interval": interval(one) if one.factor else None,
        "misses_origin": one.misses_origin,
        "ranges": one.ranges,
        "rows": rows,
        "plot": _plot(one, scale, unit) if one.evidence else "",
    }


def _plot(one: Calibration, scale: float, unit: str) -> Any:
    """Ratio over estimate; the spread about the factor is what the factor does not explain."""
    points = [(each.estimate * scale, each.ratio) for each in one.evidence]
    marks = []
    if one.factor is not None:
        low, high = interval(one)
        marks = [("95 % of new trials", high), ("factor", one.factor.factor), ("", low)]
    levels = [ratio for _, ratio in points] + [level for _, level in marks]
    across = [estimate for estimate, _ in points]
    margin = max(0.01, 0.15 * (max(levels) - min(levels)))
    step = 10 ** math.floor(math.log10(max(across)) - 1)
    return line_plot(
        points,
        x=Axis(f"estimate, {unit}", math.floor(min(across) / step) * step - step, max(across) + step),
        y=Axis("measured ÷ estimate", min(levels) - margin, max(levels) + margin),
        title=f"Measured over estimated {one.result.words}",
        marks=marks,
        joined=False,
    )


PAGES = (Pages("Trials", "trials.md", trial_page, under="Reference"),)
