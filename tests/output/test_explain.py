"""What checks, names and settings mean."""

from __future__ import annotations

from kb.book.load import Book
from kb.checks.catalog import RULES
from kb.checks.names import finding_names
from kb.output.explain import WIDTH, explained, keys, known, limit_text, listing
from kb.route.settings import SETTINGS


def test_every_name_is_explained_in_lines_that_fit(demo: Book) -> None:
    """Each check, name and setting has its title and parts below it, with a book and without."""
    for name in known():
        for book in (demo, None):
            lines = explained(name, book)
            assert lines[0].startswith(f"{name} – "), name
            assert len(lines) > 2, name
            assert max(map(len, lines[1:])) <= WIDTH + 30, name


def test_check_shows_reason_formula_limit_and_remedy(demo: Book) -> None:
    """A check shows reason, formula, the limit in this book with owner and review, and the remedy."""
    text = "\n".join(explained("ironing.ring-reduction", demo))
    assert demo.limits is not None
    limit = demo.limits.limits["ironing.ring-reduction"]
    for part in ("Why:", "Data:", "Formula:", "Limit:", "To fix:", "Waivable:"):
        assert part in text
    assert limit.owner in text
    assert limit.review in text
    assert "at most" in text


def test_limit_is_elsewhere_without_a_book() -> None:
    """Without a book the limit is said to be in limits.yaml, and a target's limit in the specs."""
    assert "limits.yaml" in "\n".join(explained("ironing.ring-reduction", None))
    assert "in the specs" in "\n".join(explained("ironing.thin-wall", None))


def test_share_of_a_target_is_reported_as_one(demo: Book) -> None:
    """A limit that multiplies a requirement is reported as a multiple, not in the unit of the value."""
    assert demo.limits is not None
    text = limit_text(RULES["can.capacity"], demo.limits.limits["can.capacity"])
    assert "times the target" in text
    assert " ml" not in text


def test_seal_and_pressure_are_not_waivable(demo: Book) -> None:
    """A check that guards the seal says that it cannot be waived."""
    assert "no, it checks seal or pressure" in "\n".join(explained("seam.overlap", demo))
    assert "yes, for one format" in "\n".join(explained("trim.waste", demo))


def test_station_lists_its_checks() -> None:
    """The name of a station lists its checks."""
    lines = explained("ironing", None)
    assert len(lines) == 1 + sum(one.startswith("ironing.") for one in RULES)


def test_a_calibrated_setting_says_for_which_sizes_it_is_valid(demo: Book) -> None:
    """The trials of the book give their number and range; a setting that none calibrated says no."""
    shown = " ".join(" ".join(explained("dome-calibration", demo)).split())
    assert "Calibrated: on 8 trials, for stock.gauge 0.262 to 0.285 mm;" in shown
    assert "For other sizes the strength is an estimate." in shown
    assert "Calibrated: no" in " ".join(" ".join(explained("axial-calibration", demo)).split())


def test_unknown_name_has_no_lines(demo: Book) -> None:
    """Nothing is said of a name that is not known."""
    assert explained("ironing.nonsense", demo) == []


def test_listing_holds_every_name_once() -> None:
    """The list of all checks holds every check, name and setting once, by station."""
    first = [line.split()[0] for line in listing() if line.startswith("  ")]
    assert sorted(first) == sorted((*RULES, *finding_names(), *SETTINGS))


def test_keys_are_those_of_the_schema() -> None:
    """Keys of a kind come with list positions and named groups open."""
    assert {"ironing.rings[].bore", "blank.diameter", "neck.diameters[]"} <= set(keys("size-format"))
    assert "limits.<check>.most" in keys("limits")
