"""The folder of a site: what publish refuses to replace, two at once, kills, sites that are not complete."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.book.load import load
from kb.cli import main
from kb.publish import build, plugin, target
from kb.publish.build import publish
from kb.publish.target import MARKER, PublishError, default_target, publishing, put_in_place, seal, verify
from tests.browser.small_site import pages as small_pages
from tests.publish.conftest import DAY
from tests.publish.kill import NAMES, publish_small, whole

HERE = Path(__file__).resolve().parents[2]


def everything(folder: Path) -> dict[str, bytes | None]:
    """All files, links and folders below a folder, with what they hold."""
    return {
        path.relative_to(folder).as_posix(): path.read_bytes() if path.is_file() else None
        for path in folder.rglob("*")
    }


def refused(out: Path | str, book: Path, *more: str) -> str:
    """The one line by which a publish is refused with exit code 2."""
    done = CliRunner().invoke(main, ["publish", str(book), "--to", str(out), "--changes", "0", *more])
    assert done.exit_code == 2, done.output
    assert done.output.count("\n") == 1, done.output
    return done.output


@pytest.fixture
def plant(tmp_path: Path, small: Path) -> Path:
    """A folder with a repository that is a book, a folder of photos, notes, and links."""
    shutil.copytree(small, tmp_path / "book")
    (tmp_path / "book/.git").mkdir()
    (tmp_path / "book/.git/HEAD").write_text("ref: refs/heads/main\n", encoding="utf-8")
    (tmp_path / ".book-photos").mkdir()
    (tmp_path / ".book-photos/seam.jpg").write_bytes(b"\xff\xd8")
    (tmp_path / "notes").mkdir()
    (tmp_path / "notes/seam.txt").write_text("mine", encoding="utf-8")
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for name in ("checkout", "worktree"):
        publish_small(tmp_path / name, tmp_path / "book", "old")
    (tmp_path / "checkout/.git").mkdir()
    (tmp_path / "worktree/.git").write_text("gitdir: elsewhere\n", encoding="utf-8")
    publish_small(tmp_path / "mixed", tmp_path / "book", "old")
    (tmp_path / "mixed/a/readings.csv").write_text("mine", encoding="utf-8")
    (tmp_path / "forged").mkdir()
    (tmp_path / "forged" / MARKER).write_text('{"kind": "sizebook-site", "files": ["a"]}', encoding="utf-8")
    (tmp_path / "link").symlink_to("book")
    (tmp_path / "link-inside").symlink_to("book/formats")
    (tmp_path / "link-notes").symlink_to("notes")
    (tmp_path / "loop").symlink_to("loop")
    return tmp_path


@pytest.mark.parametrize(
    ("out", "why"),
    [
        ("book", "is the book's folder"),
        ("book/.", "is the book's folder"),
        ("link", "is the book's folder"),
        ("book/build/site", "is inside the book"),
        ("book/formats/../site", "is inside the book"),
        ("link-inside/site", "is inside the book"),
        (".", "contains the book"),
        ("notes/..", "contains the book"),
        ("/", "contains the book"),
        ("notes", "contains files that publish did not write (seam.txt)"),
        ("link-notes", "contains files that publish did not write (seam.txt)"),
        ("mixed", "contains files that publish did not write (a/readings.csv)"),
        ("forged", "contains files that publish did not write (.sizebook-site.json)"),
        ("checkout", "contains .git"),
        ("worktree", "contains .git"),
        ("file", "is not a folder"),
        ("loop", "is not a folder"),
    ],
)
def test_a_folder_that_publish_did_not_write_is_refused(
    plant: Path, monkeypatch: pytest.MonkeyPatch, out: str, why: str
) -> None:
    """One line says why and what to do, the exit code is 2, and no file has changed."""
    monkeypatch.chdir(plant)
    before = everything(plant)
    said = refused(out, Path("book"))
    assert f"{out} {why}" in said or why == "is the book's folder"
    assert why in said
    assert "--to" in said
    assert everything(plant) == before


def test_a_book_that_is_a_repository_is_not_replaced(plant: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`publish . --to .` in a book that is a repository removes neither book, `.git` nor neighbours."""
    monkeypatch.chdir(plant / "book")
    before = everything(plant)
    assert "is the book's folder" in refused(".", Path("."))
    assert everything(plant) == before


def test_the_home_folder_is_refused(plant: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A folder of a person with files in it is no folder for a site, whether or not the book is in it."""
    (plant / "home/desk").mkdir(parents=True)
    (plant / "home/desk/letter").write_text("mine", encoding="utf-8")
    assert "did not write (desk/letter)" in refused(plant / "home", plant / "book")


@pytest.mark.parametrize(
    ("here", "draft", "wanted"),
    [
        (".", False, "build/site"),
        (".", True, "build/draft"),
        ("book", False, "../book-site"),
        ("book/formats", True, "../../book-draft"),
        ("link", False, "../book-site"),
    ],
)
def test_the_default_folder_is_never_inside_the_book(
    plant: Path, monkeypatch: pytest.MonkeyPatch, here: str, draft: bool, wanted: str
) -> None:
    """Without --to the site goes below the current folder, or beside the book if that is inside it."""
    monkeypatch.chdir(plant / here)
    found = Path(os.path.realpath(default_target(plant / "book", draft)))
    assert found == Path(os.path.realpath(wanted))
    assert plant / "book" not in found.parents


def test_neighbours_stay(plant: Path) -> None:
    """A publish changes no folder but its own, even if names begin alike."""
    for name in (".site-photos", ".site-old", ".site.sizebook-notes", ".other.sizebook", "site-2"):
        (plant / name).mkdir()
        (plant / name / "kept").write_text("mine", encoding="utf-8")
    (plant / ".other.sizebook/other.target").touch()
    before = everything(plant)
    for words in ("old", "new"):
        publish_small(plant / "site", plant / "book", words)
    after = everything(plant)
    assert {name: after.get(name) for name in before} == before
    assert {name.split("/")[0] for name in set(after) - set(before)} == {"site"}


def test_a_folder_of_the_scratch_folders_name_stays(plant: Path) -> None:
    """Without the marker of this target inside, it is no scratch folder, and publish says so."""
    scratch = plant / ".site.sizebook"
    scratch.mkdir()
    (scratch / "kept").write_text("mine", encoding="utf-8")
    (scratch / "other.target").touch()
    before = everything(plant)
    assert ".site.sizebook was not written by publish; move it to another folder" in refused(
        plant / "site", plant / "book"
    )
    assert everything(plant) == before
    shutil.rmtree(scratch)
    scratch.symlink_to("notes")
    assert "was not written by publish" in refused(plant / "site", plant / "book")
    assert (plant / "notes/seam.txt").is_file()


def test_what_a_desktop_puts_into_a_folder_is_no_file_of_anybody(plant: Path) -> None:
    """A site that was looked at in a file browser can be published again."""
    publish_small(plant / "site", plant / "book", "old")
    (plant / "site/a/.DS_Store").write_bytes(b"\0")
    publish_small(plant / "site", plant / "book", "new")
    assert whole(plant / "site") == "new"
    assert not (plant / "site/a/.DS_Store").exists()


def test_an_empty_folder_is_filled_and_keeps_its_permissions(plant: Path) -> None:
    """An empty folder becomes the site; who may read it stays as it was, then and later."""
    (plant / "site").mkdir(mode=0o750)
    for words in ("old", "new"):
        publish_small(plant / "site", plant / "book", words)
        assert whole(plant / "site") == words
        assert (plant / "site").stat().st_mode & 0o777 == 0o750


# --- two at once ------------------------------------------------------------------------------


def test_a_second_publish_into_the_same_folder_is_refused(plant: Path) -> None:
    """While one is under way another is refused and changes nothing; the first ends with a whole site."""
    publish_small(plant / "site", plant / "book", "old")
    with publishing(plant / "site", plant / "book") as scratch:
        before = everything(plant)
        said = refused(plant / "site", plant / "book")
        assert f"another publish into {plant / 'site'} is running" in said
        assert everything(plant) == before
        publish_small(plant / "elsewhere", plant / "book", "other")
        made = scratch / "site"
        for name in NAMES:
            (made / name).parent.mkdir(parents=True, exist_ok=True)
            (made / name).write_text("new", encoding="utf-8")
        seal(made, NAMES)
        put_in_place(made, plant / "site")
    assert whole(plant / "site") == "new"
    assert not (plant / ".site.sizebook").exists()


MANY = """
import sys, time
from pathlib import Path
from kb.publish.target import PublishError
from tests.publish.kill import publish_small
out, book, words, start = Path(sys.argv[1]), Path(sys.argv[2]), sys.argv[3], float(sys.argv[4])
time.sleep(max(0, start - time.time()))
left = 12
while left:
    try:
        publish_small(out, book, words)
        left -= 1
        print("won")
    except PublishError as error:
        assert "another publish" in str(error), error
        print("refused")
"""


def test_many_at_once_leave_a_whole_site(tmp_path: Path) -> None:
    """Of processes that publish into one folder again and again, each wins whole or is refused."""
    (tmp_path / "book").mkdir()
    out = tmp_path / "out/site"
    start = str(time.time() + 2)
    command = [sys.executable, "-c", MANY, str(out), str(tmp_path / "book")]
    running = [
        subprocess.Popen([*command, words, start], cwd=HERE, stdout=subprocess.PIPE, stderr=subprocess.PIPE)
        for words in ("one", "two", "three")
    ]
    said = [one.communicate() for one in running]
    assert [error.decode() for _, error in said] == [""] * 3
    outcomes = b"".join(text for text, _ in said).split()
    assert outcomes.count(b"won") == 3 * 12
    assert outcomes.count(b"refused") > 0
    assert whole(out) in {"one", "two", "three"}
    assert os.listdir(tmp_path / "out") == ["site"]


def test_a_folder_that_goes_while_it_is_read_is_no_failure(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The publish before may remove its folder at any moment; the next one then makes its own."""
    (tmp_path / "book").mkdir()
    scratch = tmp_path / ".site.sizebook"
    listed = os.listdir

    def gone(path: Path) -> list[str]:
        if path == scratch:
            scratch.rmdir()
            monkeypatch.setattr(os, "listdir", listed)
        return listed(path)

    scratch.mkdir()
    monkeypatch.setattr(os, "listdir", gone)
    with target.publishing(tmp_path / "site", tmp_path / "book") as work:
        assert work.is_dir()
    assert not scratch.exists()


# --- kills ------------------------------------------------------------------------------------


@pytest.mark.slow
@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked to be killed")
@pytest.mark.parametrize(
    "way",
    [
        pytest.param(
            "exchange", marks=pytest.mark.skipif(sys.platform != "linux", reason="Linux exchanges folders")
        ),
        "moves",
    ],
)
def test_a_kill_at_any_line_loses_no_site(tmp_path: Path, way: str) -> None:
    """A whole site is there after the kill, or after the next run where two moves are needed.

    The next run leaves nothing beside it.
    """
    program = [sys.executable, "tests/publish/kill.py", str(tmp_path), way]
    environment = {**os.environ, "PYTHONPATH": str(HERE)}
    done = subprocess.run(program, cwd=HERE, env=environment, capture_output=True, text=True, check=False)
    assert done.stderr == ""
    *wrong, kills = done.stdout.splitlines()
    assert wrong == []
    assert int(kills) > 300


def test_an_interruption_between_two_moves_brings_the_site_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where two moves are needed and the second is stopped, the former site is back at once."""
    (tmp_path / "book").mkdir()
    out = tmp_path / "out/site"
    publish_small(out, tmp_path / "book", "old")
    monkeypatch.setattr(target, "_exchange", lambda _one, _other: False)
    rename: Callable[..., Path] = Path.rename

    def second_stops(path: Path, to: Path) -> Path:
        if to == out and path.name == "site":
            raise KeyboardInterrupt
        return rename(path, to)

    monkeypatch.setattr(Path, "rename", second_stops)
    with pytest.raises(KeyboardInterrupt):
        publish_small(out, tmp_path / "book", "new")
    assert whole(out) == "old"
    assert os.listdir(tmp_path / "out") == ["site"]


# --- completeness -----------------------------------------------------------------------------


def test_a_marker_lists_every_file_and_says_the_same_each_time(tmp_path: Path) -> None:
    """The marker has names and sizes alone, so that two builds of one book have one marker."""
    (tmp_path / "book").mkdir()
    for name in ("one", "two"):
        publish_small(tmp_path / name, tmp_path / "book", "words")
    first, second = ((tmp_path / name / MARKER).read_bytes() for name in ("one", "two"))
    assert first == second
    record = json.loads(first)
    assert record == {"kind": "sizebook-site", "version": 1, "files": dict.fromkeys(sorted(NAMES), 5)}


@pytest.mark.parametrize("hurt", ["unlink", "truncate", "marker"])
def test_a_site_that_lost_a_file_is_not_whole(tmp_path: Path, hurt: str) -> None:
    """A file missing, cut short, or a missing marker is seen."""
    publish_small(tmp_path / "site", tmp_path / "book", "words")
    verify(tmp_path / "site")
    if hurt == "truncate":
        os.truncate(tmp_path / "site/index.html", 2)
    else:
        (tmp_path / "site" / {"unlink": "a/page.html", "marker": MARKER}[hurt]).unlink()
    with pytest.raises(PublishError):
        verify(tmp_path / "site")


@pytest.mark.parametrize(
    ("moment", "lost"),
    [
        ("after", "process/b211-330.data.js"),
        ("after", "changes.html"),
        ("after", "assets/css/site.css"),
        ("after", "assets/js/parts.js"),
        ("after", "assets/js/site.js"),
        ("after", "glossary.html"),
        ("sealed", "index.html"),
    ],
)
def test_a_build_that_loses_a_file_is_not_published(
    small: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, moment: str, lost: str
) -> None:
    """Something else deletes a page, a script or a style at one of two moments: the old site stays."""
    out = tmp_path / "out/site"
    publish_small(out, small, "old")
    run, close = build._build, build.seal

    def hurt(when: str, folder: Path) -> None:
        if when == moment:
            (folder / lost).unlink()

    def built(edition: object, made: Path) -> set[str]:
        names = run(edition, made)  # type: ignore[arg-type]
        hurt("after", made)
        return names

    def sealed(made: Path, wanted: list[str]) -> None:
        close(made, wanted)
        hurt("sealed", made)

    monkeypatch.setattr(build, "pages", lambda _edition: small_pages().items())
    monkeypatch.setattr(build, "gather", lambda book, day, draft, _past, **_: _Bare(book, day, draft))
    monkeypatch.setattr(plugin, "filled", lambda text, *_: text)
    monkeypatch.setattr(build, "_build", built)
    monkeypatch.setattr(build, "seal", sealed)
    with pytest.raises(PublishError, match=r"not complete|not found|does not exist"):
        publish(load(small, shown="specs"), out, day=DAY)
    assert whole(out) == "old"
    assert os.listdir(tmp_path / "out") == ["site"]


class _Bare:
    """As much of an edition as MkDocs needs."""

    def __init__(self, book: object, day: object, draft: object) -> None:
        self.book, self.day, self.draft = book, day, draft
