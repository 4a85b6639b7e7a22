"""The sheet code: the same for the same content, another for another, unchanged by the rest."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import replace

import pytest

from kb.book.load import Book
from kb.sheet import issue as code_module
from kb.sheet.issue import SIGNS, code, digest
from kb.sheet.model import Content, Sheet
from tests.conftest import Edit
from tests.sheet.conftest import LINE, MADE, RELEASED, CopyBook, sheet_of

SAME: dict[str, Edit] = {
    "a comment": ("floor.yaml", "kind: floor\n", "# read again in spring\nkind: floor\n"),
    "the review date of a limit": (
        "limits.yaml",
        '"Geometry: with less, the profile has a kink"\n    owner: necking\n    review: "2027-09-30"',
        '"Geometry: with less, the profile has a kink"\n    owner: necking\n    review: "2028-09-30"',
    ),
    "another format": ("formats/b202-200.yaml", "title: 200 ml, 202 body, 200 end", "title: 200 ml slim can"),
    "another line": ("lines/heron.yaml", "speed: 2000 /min", "speed: 2100 /min"),
    "the order of keys": (
        "formats/b204-330.yaml",
        "  stages: 7\n  shoulder_height: 132.7 mm\n",
        "  shoulder_height: 132.7 mm\n  stages: 7\n",
    ),
    "another way of writing the same limits": (
        "formats/b204-330.yaml",
        "thick_wall: 0.156 ±0.005 mm",
        "thick_wall: 0.151 to 0.161 mm",
    ),
    "what nothing on the sheet is computed from": (
        "formats/b204-330.yaml",
        "headspace: 11.0 ±1.2 mm",
        "headspace: 11.0 ±1.1 mm",
    ),
}
OTHER: dict[str, Edit] = {
    "a size": ("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.91 ±0.10 mm"),
    "a tolerance": ("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.90 ±0.09 mm"),
    "a trailing zero": ("formats/b204-330.yaml", "depth: 9.90 ±0.10 mm", "depth: 9.900 ±0.10 mm"),
    "the revision": ("formats/b204-330.yaml", "revision: 8", "revision: 9"),
    "the status": ("formats/b204-330.yaml", "status: released", "status: trial"),
    "a borrowed limit": (
        "limits.yaml",
        "  seam.overlap:\n    least: 0.70 mm",
        "  seam.overlap:\n    least: 0.71 mm",
    ),
    "the end": ("ends/curlew-202.yaml", "countersink: 6.86 ±0.13 mm", "countersink: 6.86 ±0.12 mm"),
    "the metal": ("materials/marsh-3104.yaml", 'alloy: "3104"', 'alloy: "3004"'),
    "a machine of the line": ("lines/plover.yaml", "title: Trimmers P1 to P7", "title: Trimmers P1 to P8"),
    "a setting of the plant": ("plant.yaml", "punch_temperature: 45 degC", "punch_temperature: 70 degC"),
    "a caution": ("floor.yaml", "hazard: Running knives", "hazard: Running knives and chips"),
    "a gauge": ("floor.yaml", "    resolution: 0.0005 mm", "    resolution: 0.0002 mm"),
    "a reaction": (
        "floor.yaml",
        "never: ram stroke or air to correct the depth",
        "never: ram stroke to correct the depth",
    ),
    "how long a copy holds": ("floor.yaml", "good_for: 7", "good_for: 8"),
}


@pytest.mark.parametrize("name", SAME)
def test_what_the_sheet_does_not_say_leaves_the_code(
    copy_book: CopyBook, sheets: Mapping[str, Sheet], name: str
) -> None:
    """A change that alters nothing on the sheet does not obsolete a print."""
    before = sheets[f"{RELEASED}/{LINE}"]
    assert sheet_of(copy_book([SAME[name]])).digest == before.digest


@pytest.mark.parametrize("name", OTHER)
def test_what_the_sheet_says_changes_the_code(
    copy_book: CopyBook, sheets: Mapping[str, Sheet], name: str
) -> None:
    """A change of anything the sheet says, in its own file or a shared one, gives another code."""
    before = sheets[f"{RELEASED}/{LINE}"]
    after = sheet_of(copy_book([OTHER[name]]))
    assert after.digest != before.digest
    assert after.code != before.code


def test_the_day_and_the_register_are_outside_the_code(
    demo: Book, copy_book: CopyBook, sheets: Mapping[str, Sheet]
) -> None:
    """When a copy is made, and whether its code is recorded, do not enter it."""
    before = sheets[f"{RELEASED}/{LINE}"]
    assert sheet_of(demo, made=MADE.replace(year=2027)).digest == before.digest
    assert sheet_of(copy_book(without=["sheet-codes.yaml"])).digest == before.digest


def test_every_field_of_a_content_enters_its_code(contents: Mapping[str, Content]) -> None:
    """No part of what is controlled is left out of the fingerprint."""
    said = contents[f"{RELEASED}/{LINE}"]
    altered = {
        "identity": replace(said.identity, owner="another"),
        "good_for": 99,
        "safety": "another",
        "return_to": "another",
        "out_of_limits": ("another",),
        "missing": ("another",),
        "waivers": contents["b204-355/plover"].waivers,
    }
    for name in said.__dataclass_fields__:
        other = replace(said, **{name: altered.get(name, ())})
        assert digest(other) != digest(said), name


def test_the_template_enters_the_code(
    contents: Mapping[str, Content], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fixed words that come to mean something else give every sheet another code."""
    said = contents[f"{RELEASED}/{LINE}"]
    before = digest(said)
    monkeypatch.setattr(code_module, "TEMPLATE", "next")
    assert digest(said) != before


def test_the_fingerprint_is_the_same_everywhere() -> None:
    """A known fingerprint gives a known code: on this machine, on another, in ten years."""
    assert code("0" * 64) == "CCC-CC"
    assert code("fedcb" + "0" * 59) == "974-3Y"
    assert len(set(map(code, (f"{i:05x}" + "0" * 59 for i in range(0, 16**5, 4093))))) == len(
        range(0, 16**5, 4093)
    )


def test_codes_have_their_form_and_differ(sheets: Mapping[str, Sheet]) -> None:
    """Three signs, a hyphen, two signs, none that looks like another; no two sheets share one."""
    assert not set(SIGNS) & set("0O1IL5S8B2ZAEGNPQUV6")
    assert len(set(SIGNS)) == 16
    for sheet in sheets.values():
        assert re.fullmatch(rf"[{SIGNS}]{{3}}-[{SIGNS}]{{2}}", sheet.code)
    assert len({sheet.code for sheet in sheets.values()}) == len(sheets)


def test_the_square_code_says_which_sheet_it_is(sheets: Mapping[str, Sheet]) -> None:
    """Sheet, revision, status, code and whole fingerprint stand in plain text."""
    sheet = sheets[f"{RELEASED}/{LINE}"]
    assert sheet.qr.split() == [
        *("B204-330/PLOVER", "REVISION", "8", "RELEASED", "CODE"),
        sheet.code,
        sheet.digest.upper(),
    ]
