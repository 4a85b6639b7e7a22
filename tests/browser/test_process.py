"""The walk through the stations of a format, opened from disk."""

from __future__ import annotations

import re
from typing import Any

import pytest

from tests.browser.conftest import OpenPage

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

STEADY = """
{
  let frames = 0;
  const ask = window.requestAnimationFrame.bind(window);
  window.requestAnimationFrame = (act) => ask((time) => { frames += 1; act(time); });
  performance.now = () => 50 * frames;
}
"""
"""A clock that goes on 50 ms with every picture drawn, so that a slow machine draws as many as a fast one."""

AS_WIDE = """wide => {
  const now = document.querySelector('figure svg').getAttribute('viewBox').split(' ')[2];
  return Math.abs(now - wide) < 1e-6 * wide;
}"""
"""Whether the view is as wide as this."""


def metal(page: Any) -> dict[str, float]:
    """Extent of the metal drawn, in the units of the drawing."""
    found: dict[str, float] = page.locator(".metals").evaluate(
        "g => { const { x, y, width, height } = g.getBBox(); return { x, y, width, height }; }"
    )
    return found


def shown(page: Any, station: str) -> None:
    """Wait until a station has settled."""
    expect(page.locator(".sb-process")).to_have_attribute("data-shown", station)


def view(page: Any) -> list[float]:
    """What part of the drawing is seen: left, top, width, height."""
    return [float(one) for one in page.locator("figure svg").get_attribute("viewBox").split()]


def test_the_section_is_true_to_scale(open_page: OpenPage) -> None:
    """The section is on both sides of the axis with its real sizes, at one scale from first to last."""
    page = open_page("process/b211-330.html")
    shown(page, "blank")
    assert metal(page) == pytest.approx({"x": -70, "y": -0.25, "width": 140, "height": 0.25}, abs=1e-3)
    scale = view(page)
    page.get_by_role("slider").fill("4")
    shown(page, "neck")
    assert metal(page) == pytest.approx({"x": -33.1, "y": -108, "width": 66.2, "height": 108}, abs=1e-3)
    assert view(page) == scale


def test_thickness_is_exaggerated_from_the_inside(open_page: OpenPage) -> None:
    """Ten times the thickness moves the outside and the ring outward; the drawing says so."""
    page = open_page("process/b211-330.html#ring-1")
    shown(page, "ring-1")
    ring = page.locator(".tools .ring")
    before = ring.evaluate("path => path.getBBox().width")
    page.get_by_role("button", name="×10").click()
    expect(page.get_by_role("button", name="×10")).to_have_attribute("aria-pressed", "true")
    expect(page.locator(".sb-process__note")).to_contain_text("Metal drawn 10 times as thick as it is")
    assert metal(page)["width"] == pytest.approx(2 * (33 + 10 * 0.1), abs=1e-3)
    assert ring.evaluate("path => path.getBBox().width") == pytest.approx(before + 2 * 9 * 0.1, abs=1e-3)


def test_the_walk_goes_by_button_key_and_slider(open_page: OpenPage) -> None:
    """Buttons, arrow keys and the slider step through the stations; the numbers and the address follow."""
    page = open_page("process/b211-330.html")
    expect(page.get_by_role("button", name="Back")).to_be_disabled()
    page.get_by_role("button", name="Next").click()
    shown(page, "cup")
    page.keyboard.press("ArrowRight")
    shown(page, "ring-1")
    row = page.locator(".sb-process tbody tr").first
    expect(row.locator("th, td")).to_have_text(["thin wall", "0.300", "mm"])
    expect(page).to_have_url(re.compile("#ring-1$"))
    page.keyboard.press("ArrowLeft")
    shown(page, "cup")
    page.get_by_role("slider").press("End")
    shown(page, "neck")
    expect(page.get_by_role("button", name="Next")).to_be_disabled()
    expect(page.locator(".sb-process [aria-live]")).to_have_text("Neck, station 4 of 4. What Neck does.")


def test_one_shape_turns_into_the_next(open_page: OpenPage) -> None:
    """On the way the metal is between the two shapes; with less motion set, only the shapes show."""
    heights = """button => new Promise((done) => {
      const seen = [];
      const metals = document.querySelector('.metals');
      new MutationObserver(() => seen.push(metals.getBBox().height))
        .observe(metals, { subtree: true, childList: true, attributes: true });
      button.click();
      const walk = document.querySelector('.sb-process');
      const wait = () => walk.dataset.shown === 'ring-1' ? done(seen) : setTimeout(wait, 10);
      setTimeout(wait);
    })"""
    seen = {}
    for motion in ("no-preference", "reduce"):
        page = open_page("process/b211-330.html#cup", script=STEADY, reduced_motion=motion)
        shown(page, "cup")
        seen[motion] = page.get_by_role("button", name="Next").evaluate(heights)
    assert any(34 < height < 109 for height in seen["no-preference"])
    assert [round(height) for height in seen["reduce"]] == [110]


def test_the_rim_is_seen_closer(open_page: OpenPage) -> None:
    """Four times closer, the view is a quarter as wide with the rim in it; pressed again, it is whole."""
    page = open_page("process/b211-330.html#neck")
    shown(page, "neck")
    whole = view(page)
    near = page.get_by_role("button", name="Rim, 4 times closer")
    near.click()
    expect(near).to_have_attribute("aria-pressed", "true")
    page.wait_for_function(AS_WIDE, arg=whole[2] / 4)
    x, y, wide, high = view(page)
    assert x < 27 < x + wide
    assert y < -108 < y + high
    near.click()
    expect(near).to_have_attribute("aria-pressed", "false")
    expect(page.locator("figure svg")).to_have_attribute("viewBox", " ".join(f"{one:g}" for one in whole))
