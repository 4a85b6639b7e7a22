"""The story of a book, made once for all tests of this folder."""

from __future__ import annotations

from pathlib import Path

import pytest

from kb.book.load import Book
from tests.review.story import END, NO_IDENTITY, R330, R355, SLEEK, SLIM, Story, git


@pytest.fixture(autouse=True)
def nobody(monkeypatch: pytest.MonkeyPatch) -> None:
    """Git reads no settings of the user who runs the tests."""
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
    history = Story(tmp_path_factory.mktemp("story"), demo)
    for chapter in (_sizes, _writing, _limits, _names, _metal_and_lines, _rules, _branches, _faults):
        chapter(history)
    return history


def _sizes(history: Story) -> None:
    history.raised(R330, ("gauge: 0.262 ±0.004 mm", "gauge: 0.254 ±0.004 mm"))
    history.commit("gauge-down")
    history.raised(R330, ("gauge: 0.254 ±0.004 mm", "gauge: 0.262 ±0.004 mm"))
    history.commit("gauge-back")
    history.raised(R330, ("bore: 66.030 ±0.001 mm", "bore: 66.031 ±0.001 mm"))
    history.commit("ring-regrind")
    history.raised(R330, ("step_height: 84.0 ±0.2 mm", "step_height: 84.0 ±0.1 mm"))
    history.commit("tolerance-tightened")
    history.raised(R330, ("step_height: 84.0 ±0.1 mm", "step_height: 84.0 ±0.3 mm"))
    history.commit("tolerance-widened")
    history.raised(R330, ("end: curlew-202", "end: dunlin-200"))
    history.write(
        "ends/dunlin-200.yaml", (history.demo.root / "ends/dunlin-200.yaml").read_text(encoding="utf-8")
    )
    history.commit("end-not-seam")
    history.raised(R330, ("end: dunlin-200", "end: curlew-202"))
    history.commit("end-back")


def _writing(history: Story) -> None:
    history.put(R330, "web: 0.90 mm", "web: 900 um")
    history.commit("unit-rewritten")
    history.put(R330, "stock:\n", "# the spring coil\nstock:\n")
    history.commit("comment")
    history.put(R330, "  across: 12\n  web: 900 um\n", "  web: 900 um\n  across: 12\n")
    history.commit("key-order")
    history.put(R330, "title: 330 ml, 211 body, 202 end", 'title: "330 ml, 211 body, 202 end"')
    history.commit("quotes")
    history.put(R330, "chime_radius: 6.0 mm", "chime_radius: 6.00 mm")
    history.commit("decimals")


def _limits(history: Story) -> None:
    history.put("limits.yaml", "  trim.allowance:\n    least: 1.5 mm", "  trim.allowance:\n    least: 3.5 mm")
    history.commit("limit-tightened")
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
    history.write("waivers.yaml", history.text("waivers.yaml") + waiver)
    history.commit("waiver-added")
    history.put("waivers.yaml", "    evidence: Trial 40.\n", "    evidence: Trial 40, second coil.\n")
    history.commit("waiver-reworded")
    head, _, tail = history.text("waivers.yaml").rpartition('expires: "2027-04-30"')
    history.write("waivers.yaml", f'{head}expires: "2026-10-20"{tail}')
    history.commit("waiver-lapsed")
    history.write("waivers.yaml", history.text("waivers.yaml").partition("  - check: trim.allowance")[0])
    history.put("limits.yaml", "  trim.allowance:\n    least: 3.5 mm", "  trim.allowance:\n    least: 1.5 mm")
    history.commit("limit-back")


def _names(history: Story) -> None:
    git(history.book, "mv", R355, "formats/b211-355-tall.yaml")
    history.raised("formats/b211-355-tall.yaml", ("id: b211-355\n", "id: b211-355-tall\n"))
    history.commit("renamed")
    git(history.book, "mv", R330, "formats/r330.yaml")
    history.commit("moved")
    git(history.book, "mv", "formats/r330.yaml", R330)
    history.commit("moved-back")
    history.write(SLIM, (history.demo.root / SLIM).read_text(encoding="utf-8"))
    for name in ("ends/dunlin-200.yaml", "lines/plover.yaml"):
        history.write(name, (history.demo.root / name).read_text(encoding="utf-8"))
    history.commit("added")
    history.put("formats/b211-355-tall.yaml", "status: released", "status: withdrawn")
    history.commit("withdrawn")
    (history.book / "formats/b211-355-tall.yaml").unlink()
    history.commit("deleted-after")
    (history.book / SLIM).unlink()
    history.commit("deleted-at-once")


def _metal_and_lines(history: Story) -> None:
    reed = "materials/reed-3104.yaml"
    history.write(reed, (history.demo.root / reed).read_text(encoding="utf-8"))
    history.raised(R330, ("material: marsh-3104", "material: reed-3104"))
    history.commit("metal-swapped")
    history.raised(R330, ("material: reed-3104", "material: marsh-3104"))
    history.commit("metal-back")
    history.put("lines/heron.yaml", "speed: 2000 /min", "speed: 2100 /min")
    history.commit("line-speed")
    history.put("floor.yaml", "return_to: toolroom window", "return_to: toolroom door")
    history.commit("floor-words")


def _rules(history: Story) -> None:
    history.put(R330, "depth: 10.60 ±0.10 mm", "depth: 10.61 ±0.10 mm")
    history.commit("revision-forgotten")
    history.raised(R330)
    history.key(R330, "effective", '"2025-04-01"')
    history.commit("effective-back")
    git(history.folder, "revert", "--no-edit", "HEAD", day=history.day)
    history.mark("reverted")
    history.put(SLEEK, "status: trial", "status: withdrawn")
    history.commit("withdrawn-with-waiver")
    history.put(SLEEK, "status: withdrawn", "status: trial")
    history.commit("trial-again")


def _branches(history: Story) -> None:
    git(history.folder, "checkout", "--quiet", "-b", "aside")
    history.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    history.commit("on-a-branch")
    git(history.folder, "checkout", "--quiet", "main")
    history.put("plant.yaml", "title: Saltmarsh can works", "title: Saltmarsh works")
    history.commit("meanwhile")
    git(history.folder, "merge", "--quiet", "--no-ff", "--no-edit", "aside", day=history.day)
    history.mark("merged")


def _faults(history: Story) -> None:
    history.put(R330, "  depth: 10.61 ±0.10 mm\n", "\tdepth: 10.61 ±0.10 mm\n")
    history.commit("broken")
    history.put(R330, "\tdepth: 10.61 ±0.10 mm\n", "  depth: 10.61 ±0.10 mm\n")
    history.commit("repaired")
    end = history.text(END)
    (history.book / END).unlink()
    history.commit("end-deleted")
    history.write(END, end)
    history.commit("end-restored")
