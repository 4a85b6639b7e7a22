"""What the floor asks the site for: at most two taps from the home page, and no scrolling on a tablet."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.browser.conftest import CLOCK, PATIENCE
from tests.browser.settled import ask, settled
from tests.browser.visit import Visit

playwright = pytest.importorskip("playwright.sync_api", reason="Playwright is not installed")
expect = playwright.expect

MOST_TAPS = 2
SHOWN_RUNS = "#heron ~ .sb-runs > li:visible .sb-when"
RESULT = ".md-search-result__link"

ISSUED = """format => sizebookKit.book().then(({ sheets }) => sheets.findLast(one =>
  one.kind === 'setup' && one.format === format && one.since <= sizebookKit.today()).code)"""
"""The code of a format that was issued last by the day of the reader's clock."""


class Floor:
    """A person at a tablet, who begins at the home page and counts taps; a search is one tap."""

    def __init__(self, visit: Visit) -> None:
        self.page = visit.page
        self.taps = 0
        visit.go("index.html")

    def tap(self, target: Any) -> None:
        """Tap what is on the screen; what must be scrolled to fails."""
        expect(target).to_be_in_viewport()
        target.click()
        self.taps += 1
        settled(self.page)

    def find(self, question: str) -> None:
        """Ask the search, then take the first result."""
        button = self.page.locator("label.sb-search-button")
        if button.is_visible():
            button.click()
        ask(self.page, question)
        self.taps += 1
        self.tap(self.page.locator(RESULT).first)

    def sees(self, target: Any) -> None:
        """What was wanted is on the screen after two taps at most."""
        expect(target).to_be_in_viewport()
        assert self.taps <= MOST_TAPS


def setup_sheet(floor: Floor) -> None:
    """The setup sheet of a format on a line."""
    floor.find("setup sheet b211-500 heron")
    floor.sees(floor.page.get_by_role("heading", level=1).filter(has_text="500 ml"))


def setup_sheet_of_now(floor: Floor) -> None:
    """The setup sheet of what runs now."""
    floor.tap(floor.page.locator("#heron ~ .sb-runs > li:visible a", has_text="Setup sheet").first)
    floor.sees(floor.page.get_by_role("heading", level=1))


def ring_bores(floor: Floor) -> None:
    """The ring bores of a format."""
    floor.find("ring 2 bore b211-440")
    floor.sees(floor.page.get_by_text("Ring 2").first)


def changeover(floor: Floor) -> None:
    """The changeover from A to B: how long the line is stopped, and its sheets."""
    floor.find("b211-330 b211-500")
    floor.sees(floor.page.get_by_text("Typical stop"))


def changeover_of_now(floor: Floor) -> None:
    """The sheet of the next changeover."""
    floor.tap(floor.page.locator("#plover ~ .sb-runs > li:visible a", has_text="Changeover sheet").first)
    floor.sees(floor.page.get_by_role("heading", level=1))


def fault(floor: Floor) -> None:
    """A fault by its symptom."""
    floor.find("wall too thick on one side")
    floor.sees(floor.page.get_by_role("heading", level=1).filter(has_text="wall"))


def term(floor: Floor) -> None:
    """A term."""
    floor.find("mandrel")
    floor.sees(floor.page.locator("#mandrel"))


def current(floor: Floor) -> None:
    """Whether a sheet is current."""
    code = floor.page.evaluate(ISSUED, "b211-330")
    floor.tap(floor.page.locator("#sb-code"))
    floor.page.locator("#sb-code").fill(code)
    floor.sees(floor.page.get_by_text("Current", exact=True))


def limit(floor: Floor) -> None:
    """A limit and why."""
    floor.find("ironing.ring-reduction")
    floor.sees(floor.page.locator("dt", has_text="Why"))
    floor.sees(floor.page.locator("dt", has_text="Limit"))


TASKS = (
    setup_sheet,
    setup_sheet_of_now,
    ring_bores,
    changeover,
    changeover_of_now,
    fault,
    term,
    current,
    limit,
)


@pytest.fixture
def floor(chromium: Any, published: Path) -> Iterator[Floor]:
    """A person at a tablet on the Monday of the published week."""
    visit = Visit(chromium, published, PATIENCE, 768)
    visit.page.add_init_script(CLOCK.replace("TODAY", "2026-11-30T07:00:00"))
    yield Floor(visit)
    visit.close()
    assert visit.errors == []


@pytest.mark.parametrize("task", TASKS, ids=lambda task: task.__name__)
def test_a_task_takes_two_taps_and_one_screen(floor: Floor, task: Callable[[Floor], None]) -> None:
    """Every task begins at the home page, needs two taps at most, and no scrolling."""
    task(floor)


def clock(shown: str, today: str) -> str:
    """A moment of the order as a card shows it to a reader of that day."""
    day, hour = shown.split(" ")
    return f"today {hour}" if day == today else f"{int(day[-2:])} Dec 2026 {hour}"


def order_of(chromium: Any, published: Path) -> list[tuple[str, str]]:
    """The first and last minute of each run, as the page of the week lists them; first the run before it."""
    visit = Visit(chromium, published, PATIENCE, java_script_enabled=False)
    visit.page.goto((published / "changeovers" / "week-heron-49.html").as_uri())
    began = re.search(r"from (\S+ \d\d:\d\d);", visit.page.locator("article").inner_text())
    assert began is not None
    rows = visit.page.locator("table").first
    starts, ends = (rows.locator(f"td[data-head={head}]").all_inner_texts() for head in ("starts", "ends"))
    visit.close()
    return [("", began[1]), *zip(starts, ends, strict=True)]


@pytest.mark.parametrize("run", [0, 1])
@pytest.mark.parametrize("running", [True, False])
def test_a_card_says_what_runs_now_and_next(chromium: Any, published: Path, run: int, running: bool) -> None:
    """Now and next are those of the published order at the reader's clock."""
    order = order_of(chromium, published)
    stop, start, later = order[run][1], order[run + 1][0], order[run + 2][0]
    moment = datetime.fromisoformat(stop) + timedelta(minutes=-60 if running else 60)
    today = moment.date().isoformat()
    visit = Visit(chromium, published, PATIENCE)
    visit.page.add_init_script(CLOCK.replace("TODAY", moment.isoformat()))
    visit.go("index.html")
    expect(visit.page.locator(SHOWN_RUNS)).to_have_text(
        [f"Now, until {clock(stop, today)}:", f"Next, starts {clock(start, today)}:"]
        if running
        else [f"Changeover now; starts {clock(start, today)}:", f"Next, starts {clock(later, today)}:"]
    )
    visit.close()


def test_a_week_that_has_ended_says_so(chromium: Any, published: Path) -> None:
    """After the published weeks no run is shown as of now."""
    visit = Visit(chromium, published, PATIENCE)
    visit.page.add_init_script(CLOCK.replace("TODAY", "2027-03-01T10:00:00"))
    visit.go("index.html")
    expect(visit.page.get_by_text("The published weeks have ended.").first).to_be_visible()
    expect(visit.page.locator(".sb-runs > li:visible")).to_have_count(0)
    visit.close()


def test_without_scripts_the_plan_is_text(chromium: Any, published: Path) -> None:
    """A browser without scripts shows what the week starts with and the first change, with their times."""
    visit = Visit(chromium, published, PATIENCE, java_script_enabled=False)
    visit.page.goto((published / "index.html").as_uri())
    first, second = order_of(chromium, published)[:2]
    expect(visit.page.locator(SHOWN_RUNS)).to_have_text([f"Until {first[1]}:", f"From {second[0]}:"])
    visit.close()
