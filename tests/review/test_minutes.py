"""How long changeovers take before and after a change."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import NamedTuple

import pytest

from kb.book.load import Book, load
from kb.changeover.plan import Changeovers, Matrix
from kb.changeover.times import minutes as whole_minutes
from kb.output.json_reports import review_json
from kb.output.review import review_markdown, review_text
from kb.review import minutes
from kb.review.compare import review
from kb.review.minutes import Stops
from kb.review.model import LineTouched, Review
from tests.conftest import TODAY, copy_book, put

R330, LANTERN, R440 = "b211-330", "b211-330-lantern", "b211-440"
FORMATS = (R330, LANTERN, R440)
CREW = "heron-days"
LIBRARY = "changeover.yaml"


class Books(NamedTuple):
    """Two copies of a small book."""

    old: Path
    new: Path

    def looked_at(self) -> Review:
        """A review of one against the other."""
        return review(str(self.old), str(self.new), today=TODAY)

    def line(self) -> LineTouched:
        """The one line that the review shows."""
        (line,) = self.looked_at().lines
        return line

    def put(self, file: str, old: str, new: str) -> None:
        """Put a text in place of another in the newer book."""
        put(self.new, file, old, new)


@pytest.fixture
def books(tmp_path: Path, demo: Book) -> Books:
    """Two equal books of three formats of one line, with its crews and steps."""
    root = tmp_path / "old"
    copy_book(demo, root, FORMATS)
    (root / "floor.yaml").write_bytes((demo.root / "floor.yaml").read_bytes())
    text = (demo.root / LIBRARY).read_text(encoding="utf-8").partition("\npast:")[0] + "\n"
    text = re.sub(r"  - id: plover-\w+\n(?:    .*\n)+", "", text)
    (root / LIBRARY).write_text(text, encoding="utf-8")
    assert load(root, shown="").findings == []
    shutil.copytree(root, tmp_path / "new")
    return Books(root, tmp_path / "new")


def another_ring(books: Books) -> None:
    """Give the lantern a third ring of its own, so that the tool packs have to be exchanged for it."""
    text = (books.new / f"formats/{LANTERN}.yaml").read_text(encoding="utf-8")
    (bore,) = re.findall(r"bore: ([\d.]+) ±0.001 mm, distance: 310.0 mm", text)
    books.put(f"formats/{LANTERN}.yaml", f"bore: {bore} ±", f"bore: {float(bore) + 0.001:.3f} ±")


def longer_step(books: Books) -> None:
    """Let the stop of the feed take nine minutes, in a library that gives it two."""
    text = (books.new / LIBRARY).read_text(encoding="utf-8")
    longer, count = re.subn(
        r"(- id: stop-feed\n(?:    .*\n)*?    time: {typical: )2 min, worst: 4 min",
        r"\g<1>9 min, worst: 12 min",
        text,
    )
    assert count == 1
    (books.new / LIBRARY).write_text(longer, encoding="utf-8")


@pytest.mark.parametrize(
    ("before", "after", "moved"),
    [
        ((340, 300), (352, 300), False),  # only the search found another plan
        ((352, 300), (340, 300), False),
        ((340, 300), (352, 307), True),  # the work grew
        ((352, 307), (340, 300), True),
        ((340, 307), (352, 300), False),  # the work shrank, and the search did worse
        ((74, 74), (148, 120), True),  # no schedule is as short as before
        ((148, 120), (74, 74), True),
        ((74, 74), (74, 74), False),
        ((74, 74), (None, 0), True),  # no plan any more
        ((None, 0), (None, 0), False),
    ],
)
def test_search_noise_is_no_effect(
    before: tuple[int | None, int], after: tuple[int | None, int], moved: bool
) -> None:
    """A stop [min] moved if its work moved: two plans that differ by the luck of the search are alike."""

    def stop(minutes_and_bound: tuple[int | None, int]) -> minutes._Stop:
        length, bound = minutes_and_bound
        return minutes._Stop("metal", None if length is None else 60 * length, 60 * bound)

    assert minutes._moved(stop(before), stop(after)) is moved


@pytest.mark.parametrize("change", [another_ring, longer_step])
def test_what_is_not_planned_is_as_it_was(books: Books, change: object) -> None:
    """Planning all pairs of both versions shows the pairs that the review shows, and no others."""
    assert callable(change)
    change(books)
    long = [Changeovers(load(root, shown=""), "heron", CREW).matrix() for root in books]

    def reported(found: Matrix, pair: tuple[str, str]) -> tuple[str, int]:
        return found.stops[pair].kind, whole_minutes(found.stops[pair].seconds)

    expected = {
        pair: (reported(long[0], pair), reported(long[1], pair))
        for pair in long[1].stops
        if reported(long[0], pair) != reported(long[1], pair)
    }
    line = books.line()
    assert expected
    assert {
        (one.old, one.new): (
            (one.kind_before, whole_minutes(60 * (one.before or 0))),
            (one.kind_after, whole_minutes(60 * (one.after or 0))),
        )
        for one in line.moved
    } == expected
    for one in line.moved:
        stops = [found.stops[one.old, one.new] for found in long]
        assert (one.proven_before, one.proven_after) == tuple(stop.proven for stop in stops)
        assert (one.before, one.after) == tuple(stop.minutes for stop in stops)


def test_only_pairs_with_other_work_are_planned(books: Books) -> None:
    """A ring of the lantern touches four changeovers; two of them call for the work they always did."""
    another_ring(books)
    stops = Stops(load(books.old, shown=""), load(books.new, shown=""))
    pairs = [(one, other) for one in FORMATS for other in FORMATS if one != other and LANTERN in {one, other}]
    found = stops.lengths("heron", [(pair, pair) for pair in pairs])
    assert (found.compared, len(found.moved)) == (4, 2)
    planners = {id(side.planner): side.planner for side in stops._lines["heron"]}
    assert len(planners) == 1  # the way of changing over is the same, so one planner serves both
    (planner,) = planners.values()
    assert planner.solved == 2  # the label alone before; the packs now, the same both ways


def test_all_outputs_show_the_class_that_changed(books: Books) -> None:
    """A label change that became one of tool packs is reported with both classes and both times."""
    another_ring(books)
    made = books.looked_at()
    (line,) = made.lines
    assert (line.changeovers, line.compared, line.came, line.went) == (4, 4, 0, 0)
    assert {(one.kind_before, one.kind_after) for one in line.moved} == {("label", "bodymaker")}
    text = review_text(made)
    assert "  line heron: 2 of 4 changeovers changed\n" in text
    assert re.search(rf"    {R330} → {LANTERN} \(and 1 more\): label \d+ min; bodymaker \d+ min\n", text)
    comment = review_markdown(made, as_of=TODAY)
    assert "<summary>Changeovers</summary>" in comment
    assert re.search(rf"\| {R330} → {LANTERN} &#40;and 1 more&#41; \| label \d+", comment)
    record = json.loads(review_json(made, as_of=TODAY))
    assert [one["kind_after"] for one in record["lines"][0]["moved"]] == ["bodymaker", "bodymaker"]


def test_a_longer_step_is_reported_for_all_pairs(books: Books) -> None:
    """The time of a step touches no format but every changeover of the line; all are reported."""
    longer_step(books)
    made = books.looked_at()
    (line,) = made.lines
    assert (made.touched, line.formats) == ((), ())
    assert line.changeovers == line.compared == len(line.moved) == 6
    assert all((one.after or 0) > (one.before or 0) for one in line.moved)
    assert made.verdict == "Passes: no check moved; 1 line, 6 changeovers."
    assert "  line heron: changeover steps changed; changeovers touched: 6\n" in review_text(made)


def test_judging_all_shows_the_same_changeovers(books: Books) -> None:
    """Reading and judging everything finds no changeover that the reach of the change leaves out."""
    another_ring(books)
    old, new = (str(root) for root in books)
    assert review(old, new, today=TODAY, whole=True) == books.looked_at()


def test_words_of_a_step_touch_no_changeover(books: Books) -> None:
    """A step written in other words takes as long as before, so nothing is said of the line."""
    books.put(
        LIBRARY,
        "text: Stop the feed of the first machine that changes; note the time",
        "text: Stop the feed; note the time",
    )
    made = books.looked_at()
    assert (made.lines, made.not_judged) == ((), ())
    assert [one.id for one in made.files] == ["changeover"]


def test_a_hand_less_is_reported(books: Books) -> None:
    """A crew without a skill that it needs cannot change over any more, and why is said."""
    text = (books.new / LIBRARY).read_text(encoding="utf-8")
    lab = "      - {id: lab, title: quality technician, skills: [quality, coating]}\n"
    assert text.count(lab) == 1
    (books.new / LIBRARY).write_text(text.replace(lab, ""), encoding="utf-8")
    line = books.line()
    assert len(line.moved) == 6
    assert all(one.before and one.after is None and "quality" in one.why for one in line.moved)
    assert " min; no plan (" in review_text(books.looked_at())


def test_a_format_that_the_line_cannot_run(books: Books) -> None:
    """Where a machine cannot take a format any more, changeovers to it have no plan, and why is said."""
    books.put("lines/heron.yaml", "    can_height: 90 to 190 mm\n", "    can_height: 90 to 140 mm\n")
    line = books.line()
    assert {one.new for one in line.moved} == {R440}
    assert all(one.before and one.after is None for one in line.moved)
    assert all(one.why.startswith("can height at heron/bodymakers") for one in line.moved)


def test_a_book_without_the_way_of_changing_over(books: Books) -> None:
    """Where neither book says how the plant changes over, nothing is said of minutes."""
    for root in books:
        (root / LIBRARY).unlink()
    another_ring(books)
    made = books.looked_at()
    (line,) = made.lines
    assert (line.changeovers, line.compared, line.moved) == (4, 0, ())
    assert made.not_judged == ()
    assert "as before" not in review_text(made)
    assert "Changeovers</summary>" not in review_markdown(made, as_of=TODAY)


def test_a_faulty_library_is_not_judged(books: Books) -> None:
    """Where one of the versions says it with faults, the minutes are among what was not checked."""
    another_ring(books)
    books.put(LIBRARY, "kind: changeover\n", "kind: changeover\n\tx: 1\n")
    assert "line heron: changeovers, changeover.yaml has errors" in books.looked_at().not_judged


def test_too_many_changeovers_are_not_compared(books: Books, monkeypatch: pytest.MonkeyPatch) -> None:
    """A line with more pairs than are planned is reported with the command that plans them."""
    monkeypatch.setattr(minutes, "MOST_PAIRS", 3)
    another_ring(books)
    made = books.looked_at()
    assert made.lines[0].compared == 0
    assert made.not_judged == (
        "line heron: 4 changeovers, more than the 3 that are compared; "
        "`sizebook changeover --matrix --line heron` lists them",
    )


def test_changeovers_that_came_and_went_are_counted(books: Books) -> None:
    """A withdrawn format takes its changeovers along, and one that is made again brings its own."""
    books.put(f"formats/{R440}.yaml", "status: released", "status: withdrawn")
    line = books.line()
    assert (line.changeovers, line.came, line.went) == (0, 0, 4)
    back = Books(books.new, books.old).line()
    assert (back.changeovers, back.came, back.went, back.compared) == (4, 4, 0, 0)
    assert "changeovers touched: 0, 4 went\n" in review_text(books.looked_at())


def test_a_renamed_format_keeps_its_changeovers(books: Books) -> None:
    """Under another id the changeovers of a format stay, and they are reported under the new names."""
    (books.new / f"formats/{LANTERN}.yaml").rename(books.new / "formats/b211-330-lamp.yaml")
    books.put("formats/b211-330-lamp.yaml", f"id: {LANTERN}\n", "id: b211-330-lamp\n")
    line = books.line()
    assert (line.changeovers, line.compared, line.came, line.went, line.moved) == (4, 4, 0, 0, ())
    assert "changeovers as before" not in review_text(books.looked_at())


def test_an_unreadable_format_takes_no_changeovers_along(books: Books) -> None:
    """Of a format that cannot be read nothing is known: its changeovers have neither gone nor moved."""
    books.put(f"formats/{R440}.yaml", "kind: size-format\n", "kind: size-format\n\tx: 1\n")
    line = books.line()
    assert (line.changeovers, line.went, line.moved) == (0, 0, ())
