"""The repositories of the review's tests, which the history reads too."""

from __future__ import annotations

from tests.review.conftest import nobody, small, story

__all__ = ["nobody", "small", "story"]
