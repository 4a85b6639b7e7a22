"""The story of a book, told once for all tests of this folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.book.load import Book
from tests.review.story import END, NO_IDENTITY, R330, R355, SLEEK, SLIM, Story, git


@pytest.fixture(autouse=True)
def nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    """Git reads no settings of whoever runs the tests."""
    for name, value in NO_IDENTITY.items():
        monkeypatch.setenv(name, value)
    for name in ("GIT_DIR", "GIT_WORK_TREE", "GIT_INDEX_FILE", "GIT_OBJECT_DIRECTORY"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture
def small(tmp_path: Path, demo: Book) -> Story:
    """A repository with one commit, to go on from."""
    folder = tmp_path / "house"
    folder.mkdir()
    return Story(folder, demo)


@pytest.fixture(scope="session")
def story(tmp_path_factory: pytest.TempPathFactory, demo: Book) -> Story:
    """Some forty commits, each tagged with what it does; the work tree ends as the last one."""
    told = Story(tmp_path_factory.mktemp("story"), demo)
    for chapter in (_sizes, _writing, _limits, _names, _metal_and_lines, _rules, _branches, _faults):
        chapter(told)
    return told


def _sizes(told: Story) -> None:
    told.raised(R330, ("gauge: 0.262 ±0.004 mm", "gauge: 0.258 ±0.004 mm"))
    told.tell("gauge-down")
    told.raised(R330, ("gauge: 0.258 ±0.004 mm", "gauge: 0.262 ±0.004 mm"))
    told.tell("gauge-back")
    told.raised(R330, ("bore: 66.030 ±0.001 mm", "bore: 66.031 ±0.001 mm"))
    told.tell("ring-regrind")
    told.raised(R330, ("step_height: 84.0 ±0.2 mm", "step_height: 84.0 ±0.1 mm"))
    told.tell("tolerance-tightened")
    told.raised(R330, ("step_height: 84.0 ±0.1 mm", "step_height: 84.0 ±0.3 mm"))
    told.tell("tolerance-widened")
    told.raised(R330, ("end: curlew-202", "end: dunlin-200"))
    told.write("ends/dunlin-200.yaml", (told.demo.root / "ends/dunlin-200.yaml").read_text(encoding="utf-8"))
    told.tell("end-not-seam")
    told.raised(R330, ("end: dunlin-200", "end: curlew-202"))
    told.tell("end-back")


def _writing(told: Story) -> None:
    told.put(R330, "web: 0.90 mm", "web: 900 um")
    told.tell("unit-rewritten")
    told.put(R330, "stock:\n", "# the spring coil\nstock:\n")
    told.tell("comment")
    told.put(R330, "  across: 12\n  web: 900 um\n", "  web: 900 um\n  across: 12\n")
    told.tell("key-order")
    told.put(R330, "title: 330 ml, 211 body, 202 end", 'title: "330 ml, 211 body, 202 end"')
    told.tell("quotes")
    told.put(R330, "chime_radius: 6.0 mm", "chime_radius: 6.00 mm")
    told.tell("decimals")


def _limits(told: Story) -> None:
    told.put("limits.yaml", "  trim.allowance:\n    least: 1.5 mm", "  trim.allowance:\n    least: 3.5 mm")
    told.tell("limit-tightened")
    waiver = (
        "  - check: trim.allowance\n"
        "    format: b211-330\n"
        "    reason: One coil to use up.\n"
        "    owner: body tooling\n"
        "    approver: quality\n"
        "    evidence: Trial 40.\n"
        '    created: "2026-10-01"\n'
        '    expires: "2027-04-30"\n'
        "    ceiling: 1.0 mm\n"
    )
    told.write("waivers.yaml", told.text("waivers.yaml") + waiver)
    told.tell("waiver-added")
    told.put("waivers.yaml", "    evidence: Trial 40.\n", "    evidence: Trial 40, second coil.\n")
    told.tell("waiver-reworded")
    head, _, tail = told.text("waivers.yaml").rpartition('expires: "2027-04-30"')
    told.write("waivers.yaml", f'{head}expires: "2026-10-20"{tail}')
    told.tell("waiver-lapsed")
    told.write("waivers.yaml", told.text("waivers.yaml").partition("  - check: trim.allowance")[0])
    told.put("limits.yaml", "  trim.allowance:\n    least: 3.5 mm", "  trim.allowance:\n    least: 1.5 mm")
    told.tell("limit-back")


def _names(told: Story) -> None:
    git(told.book, "mv", R355, "formats/b211-355-tall.yaml")
    told.raised("formats/b211-355-tall.yaml", ("id: b211-355\n", "id: b211-355-tall\n"))
    told.tell("renamed")
    git(told.book, "mv", R330, "formats/r330.yaml")
    told.tell("moved")
    git(told.book, "mv", "formats/r330.yaml", R330)
    told.tell("moved-back")
    told.write(SLIM, (told.demo.root / SLIM).read_text(encoding="utf-8"))
    for name in ("ends/dunlin-200.yaml", "lines/plover.yaml"):
        told.write(name, (told.demo.root / name).read_text(encoding="utf-8"))
    told.tell("added")
    told.put("formats/b211-355-tall.yaml", "status: released", "status: withdrawn")
    told.tell("withdrawn")
    (told.book / "formats/b211-355-tall.yaml").unlink()
    told.tell("deleted-after")
    (told.book / SLIM).unlink()
    told.tell("deleted-at-once")


def _metal_and_lines(told: Story) -> None:
    reed = "materials/reed-3104.yaml"
    told.write(reed, (told.demo.root / reed).read_text(encoding="utf-8"))
    told.raised(R330, ("material: marsh-3104", "material: reed-3104"))
    told.tell("metal-swapped")
    told.raised(R330, ("material: reed-3104", "material: marsh-3104"))
    told.tell("metal-back")
    told.put("lines/heron.yaml", "speed: 2000 /min", "speed: 2100 /min")
    told.tell("line-speed")
    told.put("floor.yaml", "return_to: toolroom window", "return_to: toolroom door")
    told.tell("floor-words")


def _rules(told: Story) -> None:
    told.put(R330, "depth: 10.60 ±0.10 mm", "depth: 10.61 ±0.10 mm")
    told.tell("revision-forgotten")
    told.raised(R330)
    told.key(R330, "effective", '"2025-04-01"')
    told.tell("effective-back")
    git(told.folder, "revert", "--no-edit", "HEAD", day=told.day)
    told.mark("reverted")
    told.put(SLEEK, "status: trial", "status: withdrawn")
    told.tell("withdrawn-with-waiver")
    told.put(SLEEK, "status: withdrawn", "status: trial")
    told.tell("trial-again")


def _branches(told: Story) -> None:
    git(told.folder, "checkout", "--quiet", "-b", "aside")
    told.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    told.tell("on-a-branch")
    git(told.folder, "checkout", "--quiet", "main")
    told.put("plant.yaml", "title: Saltmarsh can works", "title: Saltmarsh works")
    told.tell("meanwhile")
    git(told.folder, "merge", "--quiet", "--no-ff", "--no-edit", "aside", day=told.day)
    told.mark("merged")


def _faults(told: Story) -> None:
    told.put(R330, "  depth: 10.61 ±0.10 mm\n", "\tdepth: 10.61 ±0.10 mm\n")
    told.tell("broken")
    told.put(R330, "\tdepth: 10.61 ±0.10 mm\n", "  depth: 10.61 ±0.10 mm\n")
    told.tell("mended")
    end = told.text(END)
    (told.book / END).unlink()
    told.tell("end-deleted")
    told.write(END, end)
    told.tell("end-restored")
