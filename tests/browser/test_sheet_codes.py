"""The answer to the code on a sheet, opened from disk."""

from __future__ import annotations

import pytest

from tests.browser.conftest import OpenPage
from tests.browser.settled import settled
from tests.browser.small_site import print_of

expect = pytest.importorskip("playwright.sync_api", reason="playwright is not installed").expect

FIELD = "Code on the sheet"
ANSWER = ".sb-answer"
WORD = ".sb-answer__word"


@pytest.mark.parametrize(
    ("typed", "word", "says"),
    [
        ("K7F-4X", "CURRENT", "Sheet issued 11 May 2026"),
        ("k7f4x", "CURRENT", "Setup sheet: b211-330 on heron, revision 8"),
        ("Setup sheet\nregular-330 rev 8 R3C-9T until 2026-12-01", "CURRENT", "b202-250 on plover"),
        ("WXY-HM", "SUPERSEDED", "gauge 0.265 mm to 0.262 mm"),
        ("WXY-HM", "SUPERSEDED", "dome depth 10.40 mm to 10.60 mm"),
        ("CDJ-37", "SUPERSEDED", "Current sheet: revision 8, K7F-4X, issued 11 May 2026"),
        ("4XX-7D", "NOT CURRENT YET", "It begins on 1 Dec 2026"),
        ("X4D-MJ", "TRIAL", "only with engineering present"),
        ("TT9-3C", "DRAFT", "Do not set a machine from this sheet"),
        ("WJ3-77", "NOT RECORDED", "Do not use it"),
        ("C9R-HH", "NOT FOR USE", "the waiver of cup.draw-ratio ended on 2026-10-31"),
        (
            "3J-X7W",
            "CURRENT",
            "and job cards: b211-330 to b211-440 on heron, day crew",
        ),
        ("3jx7w", "CURRENT", "Both its setup sheets are current"),
        ("WX-YHM", "SUPERSEDED", "The setup sheet CDJ-37 that it refers to is superseded"),
        ("KK-XT4", "NOT RECORDED", "one of its setup sheets"),
        ("Z-HHH-HH", "DRAFT", "No draft is current"),
        (print_of("K7F-4X"), "CURRENT", "Setup sheet: b211-330 on heron"),
        (print_of("K7F-4X").upper()[:8], "CURRENT", "Setup sheet: b211-330 on heron"),
        (print_of("K7F-4X").replace("0", "O").replace("1", "l")[:10], "CURRENT", "b211-330 on heron"),
        (print_of("WX-YHM")[:16] + "\n" + print_of("WX-YHM")[16:32], "SUPERSEDED", "Changeover sheet"),
        (print_of("CDJ-37"), "SUPERSEDED", "Current sheet: revision 8, K7F-4X"),
        ("0123456789", "UNKNOWN", "Do not use the sheet"),
        (
            "B211-330/HERON REVISION 8 CODE K7F-4X " + 64 * "D",
            "UNKNOWN",
            "DDDDDDDD is not in this site build",
        ),
        ("HERON SETUP K7F-4X TO CDJ-37 CODE WX-YHM " + print_of("WX-YHM").upper(), "SUPERSEDED", "day crew"),
        ("HERON SETUP K7F-4X TO R3C-9T CODE HH-HHH", "UNKNOWN", "HERON SETUP K7F-4X"),
        ("HHH-HH", "UNKNOWN", "update the tablet, or get a new sheet"),
        ("K7E-4X", "CURRENT, IF IT IS K7F-4X", "Compare it with the sheet"),
        ("K7F-9X", "UNKNOWN", "It looks like:"),
    ],
)
def test_a_code_is_answered(open_page: OpenPage, typed: str, word: str, says: str) -> None:
    """A sheet code is current, superseded or unknown; a sign no code has is read as one that looks alike."""
    page = open_page("sheets/index.html")
    page.get_by_label(FIELD).fill(typed)
    answer = page.locator(ANSWER)
    expect(answer.locator(WORD)).to_have_text(word, use_inner_text=True)
    expect(answer).to_contain_text(says)
    expect(answer.locator("svg path")).to_have_count(1)


def test_one_code_of_two_sheets_is_answered_for_both(open_page: OpenPage) -> None:
    """Without its hyphen a code may be that of a setup sheet and of a changeover sheet: both are answered."""
    page = open_page("sheets/index.html")
    page.get_by_label(FIELD).fill("WXYHM")
    expect(page.locator(WORD)).to_have_count(2)
    expect(page.locator(ANSWER)).to_contain_text(["Setup sheet: b211-330", "Changeover sheet"])


def test_an_issue_takes_over_on_its_day(open_page: OpenPage) -> None:
    """In a copy made before, the new code is current from its first day and the old one is superseded."""
    page = open_page("sheets/index.html", today="2026-12-01")
    word = page.locator(WORD)
    page.get_by_label(FIELD).fill("4XX-7D")
    expect(word).to_have_text("Current")
    page.get_by_label(FIELD).fill("R3C-9T")
    expect(word).to_have_text("Superseded")
    expect(page.locator(ANSWER)).to_contain_text("trimmed height 131.90 mm to 131.85 mm")


@pytest.mark.parametrize("today", ["2026-11-23", "2026-11-28"])
def test_the_last_issued_code_is_the_one_in_force(open_page: OpenPage, today: str) -> None:
    """Of codes of one revision, the later issued overtakes what begins no earlier, on any day."""
    page = open_page("sheets/index.html", today=today)
    answer = page.locator(ANSWER)
    page.get_by_label(FIELD).fill("TCR-44")
    expect(answer.locator(WORD)).to_have_text("Current")
    listed = {
        "MH7-YJ": ["trimmed height 145.60 mm to 145.55 mm"],
        "93D-KC": ["trimmed height 145.60 mm to 145.55 mm", "flange width 2.30 mm to 2.35 mm"],
    }
    for code, later in listed.items():
        page.get_by_label(FIELD).fill(code)
        expect(answer).to_contain_text(f"revision 8, {code}.")
        expect(answer.locator(WORD)).to_have_text("Superseded")
        expect(answer).to_contain_text("Current sheet: revision 8, TCR-44, issued 16 Nov 2026.")
        expect(answer.locator("li")).to_have_text([f"16 Nov 2026, revision 8: {one}" for one in later])


def test_the_oldest_code_lists_all_later_changes(open_page: OpenPage) -> None:
    """Later changes are listed, the last issued first, and future ones are left out."""
    page = open_page("sheets/index.html")
    page.get_by_label(FIELD).fill("JT3-RX")
    changes = ["trimmed height 145.60 mm to 145.55 mm", "flange width 2.30 mm to 2.35 mm"]
    expect(page.locator(f"{ANSWER} li")).to_have_text([f"16 Nov 2026, revision 8: {one}" for one in changes])


def test_an_unfinished_code_has_no_answer_yet(open_page: OpenPage) -> None:
    """Nothing is said before the code is long enough."""
    page = open_page("sheets/index.html")
    page.get_by_label(FIELD).fill("K7F-")
    expect(page.get_by_role("button", name="Clear", exact=True)).to_be_visible()
    expect(page.locator(ANSWER)).to_have_count(0)
    page.get_by_label(FIELD).press_sequentially("4X")
    expect(page.locator(ANSWER)).to_have_count(1)


def test_a_code_that_looks_alike_is_one_tap_away(open_page: OpenPage) -> None:
    """An unknown code offers those it looks like; choosing one answers for it."""
    page = open_page("sheets/index.html")
    page.get_by_label(FIELD).fill("K7F-9X")
    page.get_by_role("button", name="K7F-4X").click()
    expect(page.locator(WORD)).to_have_text("Current")


def test_an_old_copy_does_not_vouch(open_page: OpenPage) -> None:
    """A copy of more than 30 days says current with a doubt."""
    page = open_page("sheets/index.html", today="2027-01-05")
    page.get_by_label(FIELD).fill("K7F-4X")
    expect(page.locator(WORD)).to_have_text("Current in an old site build")
    expect(page.locator(ANSWER)).to_contain_text("46 days old")


def test_codes_in_force_are_listed_by_line(open_page: OpenPage) -> None:
    """Each line has its list of current codes, and no superseded one."""
    page = open_page("sheets/index.html")
    for line, codes in {"heron": ["K7F-4X"], "plover": ["R3C-9T", "TCR-44"]}.items():
        section = page.locator("section", has_text=f"Current on {line}")
        expect(section.locator("tbody .sb-code")).to_have_text(codes)


def test_the_camera_is_offered_where_there_is_one(open_page: OpenPage) -> None:
    """With a reader of square codes in the browser a button scans; without, typing is all there is."""
    reader = """window.BarcodeDetector = class {
      static getSupportedFormats() { return Promise.resolve(['qr_code']); }
      detect() { return Promise.resolve([{ rawValue: 'b211-330 heron CDJ-37' }]); }
    };"""
    page = open_page("sheets/index.html", script=reader)
    page.get_by_role("button", name="Use the camera").click()
    expect(page.locator(WORD)).to_have_text("Superseded")
    bare = open_page("sheets/index.html", script="delete window.BarcodeDetector;")
    bare.get_by_label(FIELD).fill("K7F-4X")
    expect(bare.locator(WORD)).to_have_text("Current")
    settled(bare)
    expect(bare.get_by_role("button", name="Use the camera")).to_have_count(0)
