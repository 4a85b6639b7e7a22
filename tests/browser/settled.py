"""When a page opened from disk has settled, and how to put one question to its search."""

from __future__ import annotations

from typing import Any

DRAWN = """
() => {
  const drawn = {
    '.sb-age': (place) => place.querySelector('.sb-printed') !== null,
    '.sb-process': (place) => place.dataset.shown !== undefined,
    '[data-sb=compare]': (place) => place.querySelector('.sb-compare') !== null,
    '[data-sb=codes]': (place) => place.querySelector('#sb-code') !== null,
    'table[data-sb=formats]': () => document.querySelector('.sb-finder .sb-count') !== null,
    'table.sb-table': (table) => table.closest('.sb-wide, .sb-process') !== null,
  };
  return document.readyState === 'complete' && Object.entries(drawn).every(
    ([css, done]) => [...document.querySelectorAll(css)].every(done));
}
"""
"""Whether each place that a script fills has been filled, by the signs the scripts leave."""

STILL = """
async () => {
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  await document.fonts.ready;
  await frame();
  await frame();
  const ends = (one) => Number.isFinite(one.effect.getComputedTiming().endTime);
  await Promise.allSettled(document.getAnimations().filter(ends).map((one) => one.finished));
}
"""
"""Two frames, in which scripts hear of sizes, and the end of all movement."""


def settled(page: Any) -> None:
    """Wait until a page's scripts have drawn all they draw and nothing moves any more."""
    page.wait_for_function(DRAWN)
    page.evaluate(STILL)


def ask(page: Any, question: str) -> None:
    """Put a whole question to the search at once, so that no answer is that of its first letters."""
    field = page.get_by_placeholder("Search")
    field.fill(question)
    field.press("End")  # the search looks at its field when a key comes up
