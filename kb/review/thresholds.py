"""From when on a move is worth telling: the plant's own settings, none of them in code."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from kb.book.load import Book
from kb.checks.words import number


@dataclass(frozen=True, slots=True)
class Thresholds:
    """The settings of the review; where a book leaves one out, every change is reported.

    Attributes:
        result: share of its old value by which a result must move to be reported.
        band: share of the window its limits leave, likewise.
        near: margin below which a limit is near.
        margin: by how much a margin must move to be reported, at any value.
    """

    result: float
    band: float
    near: float
    margin: float
    missing: tuple[str, ...]

    def is_significant(self, share: float | None, of_band: float | None) -> bool:
        """Whether a result that prints otherwise has moved enough."""
        far = share is None or abs(share) > self.result
        return far or (of_band is not None and abs(of_band) > self.band)

    @property
    def words(self) -> tuple[str, ...]:
        """The thresholds in words."""
        return tuple(self._words())

    def _words(self) -> Iterator[str]:
        def percent(value: float) -> str:
            return f"{number(100 * value, figures=2)} %"

        yield (
            f"listed: results that changed by more than {percent(self.result)}, or by more than "
            f"{percent(self.band)} of the range between their limits"
        )
        yield (
            f"listed: margins below {percent(self.near)} that changed, or that changed by more than "
            f"{percent(self.margin)}"
        )
        if self.missing:
            yield f"limits.yaml has no {', '.join(self.missing)}; 0 is used"


SETTINGS = {
    "result": "review-result-move",
    "band": "review-band-move",
    "near": "review-near-limit",
    "margin": "review-margin-move",
}


def thresholds(old: Book, new: Book) -> Thresholds:
    """The thresholds of the newer book, or of the older one where the newer cannot be read."""
    limits = new.limits or old.limits
    given = limits.settings if limits else {}
    found = {key: float(given[name].value) if name in given else 0.0 for key, name in SETTINGS.items()}
    missing = tuple(name for name in SETTINGS.values() if name not in given)
    return Thresholds(**found, missing=missing)
