"""Every code that the published demo book contains is answered, read from its built files."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from kb.sheet.labels import labels
from tests.browser.visit import Visit

pytest.importorskip("playwright.sync_api", reason="playwright is not installed")

SIGN = "[CDFHJKMRTWXY3479]"
CODE = re.compile(rf"\b(?:Z-)?(?:{SIGN}{{3}}-{SIGN}{{2}}|{SIGN}{{2}}-{SIGN}{{3}}|{SIGN}-{SIGN}{{4}})\b")
SHOWN = re.compile(r'class="(?:sb-code|code)">([^<]*)<')
OF_A_SHEET = re.compile(r'data-code="([^"]+)" data-digest="([0-9a-f]{64})"')
MARK = re.compile(r'<div class="across" aria-hidden="true">([^<]+)</div>')

ASK = """typed => {
  const input = document.getElementById('sb-code');
  return typed.map(one => {
    input.value = one;
    input.dispatchEvent(new Event('input'));
    return [...document.querySelectorAll('.sb-answer')].map(answer => answer.textContent);
  });
}"""


class Printed(NamedTuple):
    """A sheet of the site; `unrecorded` when it says that its code is not in the register."""

    file: str
    code: str
    digest: str
    mark: str
    unrecorded: bool


def printed(site: Path) -> Iterator[Printed]:
    """Every sheet that is a page of the site."""
    for path in sorted([*site.glob("sheets/*.html"), *site.glob("changeovers/*.sheet.html")]):
        text = path.read_text(encoding="utf-8")
        for code, digest in OF_A_SHEET.findall(text):
            mark = MARK.search(text)
            yield Printed(
                path.name, code, digest, mark.group(1) if mark else "", labels("setup").unrecorded in text
            )


def shown(site: Path) -> set[str]:
    """Every code that a page shows: in lists, tables, histories, on sheets and job cards."""
    found: set[str] = set()
    for path in site.rglob("*.html"):
        for text in SHOWN.findall(path.read_text(encoding="utf-8")):
            found.update(CODE.findall(text))
    return found


def answers(visit: Visit, typed: list[str]) -> dict[str, list[str]]:
    """What the box answers to each text."""
    visit.go("sheets/index.html")
    visit.page.wait_for_selector("#sb-code")
    return dict(zip(typed, visit.page.evaluate(ASK, typed), strict=True))


def test_every_code_shown_is_answered(visit: Visit, published: Path) -> None:
    """No code of any page is unknown: with its hyphen, without, and in small letters."""
    codes = sorted(shown(published))
    assert len(codes) > 200
    forms = {form: code for code in codes for form in (code, code.replace("-", ""), code.lower())}
    answered = answers(visit, list(forms))
    silent = {form for form, said in answered.items() if not any(forms[form] in one for one in said)}
    assert silent == set()
    assert [form for form, said in answered.items() if any(one.startswith("Unknown") for one in said)] == []


def test_every_sheet_is_answered_by_its_fingerprint(visit: Visit, published: Path) -> None:
    """The whole fingerprint, and its first eight digits, name the sheet, its line and its state."""
    sheets = list(printed(published))
    assert {one.file.endswith(".sheet.html") for one in sheets} == {True, False}
    assert {"DRAFT", "TRIAL"} <= {one.mark for one in sheets}
    answered = answers(visit, [text for one in sheets for text in (one.digest, one.digest[:8].upper())])
    for one in sheets:
        whole, begun = answered[one.digest], answered[one.digest[:8].upper()]
        assert len(whole) == 1, one
        assert whole[0] in begun, one
        assert one.code in whole[0], one
        change = one.file.endswith(".sheet.html")
        crew_or_line = one.file.split(".")[0] if change else one.file.removesuffix(".html").rpartition("-")[2]
        line = crew_or_line.partition("-")[0]
        assert f" on {line}, " in whole[0], one
        assert ("Changeover sheet and job cards: " if change else "Setup sheet: ") in whole[0], one
        if one.mark:
            assert whole[0].lower().startswith(one.mark.lower()), one
        elif not change:
            assert whole[0].startswith("Not recorded" if one.unrecorded else "Current"), one
        else:
            assert whole[0].startswith(("Not recorded", "Current")), one


def test_the_code_of_reaction_plans_is_answered(visit: Visit, published: Path) -> None:
    """The code on the page of reaction plans is current, and leads to that page."""
    page = next(published.glob("sheets/*.plans.html")).read_text(encoding="utf-8")
    (code,) = set(re.findall(rf'data-code="({SIGN}-{SIGN}{{4}})"', page))
    (said,) = answers(visit, [code])[code]
    assert said.startswith("CurrentReaction plans, ")
    assert visit.page.locator(".sb-answer a").first.get_attribute("href").endswith(".plans.html")


@pytest.mark.parametrize("typed", ["HHH-HH", "hhhhh", 64 * "f", "0123456789abcdef"])
def test_a_code_of_nowhere_stays_unknown(typed: str, visit: Visit) -> None:
    """A code that the copy does not know is unknown, with what to do."""
    (said,) = answers(visit, [typed])[typed]
    assert said.startswith("Unknown")
    assert "Do not use the sheet." in said
