"""How versions are found and laid out: branches, bare and shallow clones, links, submodules, folders."""

from __future__ import annotations

import os
import shutil
import tempfile
from pathlib import Path

import pytest

from kb.book.load import Book
from kb.history.git import CannotRead
from kb.output.review import review_markdown, review_text
from kb.review.compare import review
from kb.review.model import Review
from tests.conftest import TODAY
from tests.review.story import FORMATS, R330, Story, git


def looked_at(base: str, head: str | None = None, book: Path | None = None) -> Review:
    """A review of the day of the tests."""
    return review(base, head, book=book, today=TODAY)


def test_histories_are_compared_from_where_they_part(small: Story) -> None:
    """What the other branch did meanwhile is no part of the review, and both commits are named."""
    git(small.folder, "checkout", "--quiet", "-b", "aside")
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    small.commit("mine")
    git(small.folder, "checkout", "--quiet", "main")
    small.put("plant.yaml", "title: Saltmarsh can works", "title: Saltmarsh works")
    small.commit("theirs")
    made = looked_at("main", "aside", small.book)
    assert [one.id for one in made.files] == ["b211-330"]
    start = git(small.folder, "rev-parse", "start")
    assert made.base.commit == start
    assert made.notes == (f"compared from {start[:12]}, the last common commit of main and aside",)
    git(small.folder, "checkout", "--quiet", "aside")
    assert [one.id for one in looked_at("main", None, small.book).files] == ["b211-330"]


def test_a_commit_is_reported_with_its_day_and_its_words(small: Story, tmp_path: Path) -> None:
    """A revision has its short name, day and subject; a folder its path; the work tree says so."""
    small.put(R330, "land: 0.50 mm", "land: 0.52 mm")
    git(small.folder, "add", "--all")
    words = "land \u001b[31m\u202e<b>| `x`"
    git(small.folder, "commit", "--quiet", "--message", f"{words}\n\nmore of it", day=40)
    made = looked_at("start", "HEAD", small.book)
    commit = git(small.folder, "rev-parse", "HEAD")
    assert made.head.label == rf"HEAD ({commit[:12]}), 2026-02-13 08:00, land \u001b[31m\u202e<b>| `x`"
    assert (made.base.subject, made.base.moment) == ("start", "2026-01-02T08:00:00+00:00")
    comment = review_markdown(made, as_of=TODAY)
    assert "<b>" not in comment
    assert "more of it" not in comment
    shutil.copytree(small.book, tmp_path / "copy/specs")
    disk = looked_at("HEAD", str(tmp_path / "copy/specs"), small.book)
    assert disk.head.label == (tmp_path / "copy/specs").as_posix()
    assert looked_at("HEAD", None, small.book).head.label.startswith("work tree, ")


def test_a_book_copied_into_itself_is_reported_in_groups(small: Story, tmp_path: Path) -> None:
    """Many files of which the same is to be said are one line in text and comment, and each in the data."""
    shutil.copytree(small.book, tmp_path / "twice")
    shutil.copytree(small.book, tmp_path / "twice/specs")
    made = looked_at(str(small.book), str(tmp_path / "twice"))
    count = len(list((tmp_path / "twice/specs").rglob("*.yaml")))
    assert len(made.files) == count > 8
    line = f"{count} files with errors under {tmp_path.as_posix()}/twice/specs: unreadable"
    assert review_text(made).count(f"  {line}\n") == review_text(made).count("unreadable") == 1
    assert review_markdown(made, as_of=TODAY).count("files with errors under") == 1
    where = f"under {tmp_path.as_posix()}/twice/specs"
    listed = [one for one in made.not_judged if where in one]
    assert [one.partition(" files")[0] for one in listed] == [str(count - len(FORMATS))]
    assert all(one.endswith("(errors in references)") for one in listed)
    assert not any("limits.yaml" in one for one in made.not_judged)


def test_a_faulty_file_alone_is_named(small: Story) -> None:
    """A single file that is not judged is named; stages are reported for formats only."""
    small.put("limits.yaml", "kind: limits\n", "kind: limits\n\tx: 1\n")
    made = looked_at("start", None, small.book)
    (limits,) = [one for one in made.not_judged if "limits.yaml in" in one]
    assert limits.endswith("limits.yaml in work tree: its meaning (it has errors in reading)")


def test_histories_that_never_met_are_compared_as_they_are(small: Story) -> None:
    """Two unrelated branches are compared end to end, and the review says so."""
    git(small.folder, "checkout", "--quiet", "--orphan", "other")
    small.put(R330, "land: 0.50 mm", "land: 0.52 mm")
    small.commit("unrelated")
    made = looked_at("main", "other", small.book)
    assert made.notes == ("main and other have no common commit; they are compared directly",)
    assert [one.id for one in made.files] == ["b211-330"]


def test_nothing_of_the_repository_is_touched(
    small: Story, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Work tree, index and refs are the same bytes before and after, and no folder is left behind."""

    def bytes_of() -> dict[str, bytes]:
        files = sorted(one for one in small.folder.rglob("*") if one.is_file())
        return {one.relative_to(small.folder).as_posix(): one.read_bytes() for one in files}

    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    small.commit("land")
    small.put(R330, "land: 0.52 mm", "land: 0.53 mm")
    before, scratch = bytes_of(), tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    looked_at("start", "land", small.book)
    looked_at("land", None, small.book)
    assert bytes_of() == before
    assert list(scratch.iterdir()) == []


def test_a_bare_clone_is_reviewed(small: Story, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a repository without a work tree the book is found in the revisions, or where it is said to be."""
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    small.commit("land")
    git(tmp_path, "clone", "--quiet", "--bare", str(small.folder), "bare.git")
    monkeypatch.chdir(tmp_path / "bare.git")
    found, shown = looked_at("start", "land"), looked_at("start", "land", Path("specs"))
    assert found == shown
    assert found.files[0].file == "specs/formats/b211-330.yaml"


def test_a_shallow_clone_is_reported_to_fetch_more(small: Story, tmp_path: Path) -> None:
    """A revision or a common commit that was never fetched is one line with the word for getting it."""
    git(small.folder, "checkout", "--quiet", "-b", "aside")
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    small.commit("mine")
    git(small.folder, "checkout", "--quiet", "main")
    small.put("plant.yaml", "title: Saltmarsh can works", "title: Saltmarsh works")
    small.commit("theirs")
    source = small.folder.as_uri()
    git(tmp_path, "clone", "--quiet", "--depth", "1", "--no-single-branch", source, "shallow")
    book = tmp_path / "shallow/specs"
    for base, head in (("start^0~0", "HEAD"), ("HEAD~1", "HEAD"), ("origin/aside", "HEAD")):
        with pytest.raises(CannotRead, match=r"shallow.*git fetch --deepen") as caught:
            looked_at(base, head, book)
        assert "\n" not in str(caught.value)


def test_missing_files_of_a_partial_clone_are_one_line(small: Story, tmp_path: Path) -> None:
    """Where files of a revision were never fetched the review says so and fetches nothing."""
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    small.commit("land")
    git(small.folder, "config", "uploadpack.allowFilter", "true")
    words = ("clone", "--quiet", "--bare", "--filter=blob:none", small.folder.as_uri(), "partial.git")
    git(tmp_path, *words)
    git(tmp_path / "partial.git", "config", "remote.origin.url", "file:///nowhere")
    with pytest.raises(CannotRead, match=r"fetch|nowhere") as caught:
        looked_at("start", "land", tmp_path / "partial.git")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize("name", ["nonsense", "", "-h", "main..aside", "a\0b", "\x1b[31m", "--all"])
def test_an_unknown_revision_is_one_line(small: Story, name: str) -> None:
    """A name that is no revision and no folder is refused in one printable line."""
    with pytest.raises(CannotRead) as caught:
        looked_at(name, None, small.book)
    assert str(caught.value).isprintable()


def test_two_folders_are_compared(small: Story, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Two copies of a book are compared as they are, without a repository."""
    shutil.copytree(small.book, tmp_path / "before/specs")
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    shutil.copytree(small.book, tmp_path / "after/specs")
    monkeypatch.chdir(tmp_path)
    made = looked_at("before/specs", "after/specs")
    assert [change.key for change in made.files[0].changes] == ["revision", "why", "ironing.land"]
    assert made.files[0].file == "after/specs/formats/b211-330.yaml"
    assert (made.files[0].changes[2].old_place or made.files[0].changes[2].new_place) is not None
    assert made.files[0].changes[2].old_place is not None
    assert made.files[0].changes[2].old_place.file == "before/specs/formats/b211-330.yaml"
    swapped = looked_at("after/specs", "before/specs")
    assert {one.finding.name for one in swapped.checks} == {"revision.falls"}


def test_a_branch_named_like_a_folder(small: Story, monkeypatch: pytest.MonkeyPatch) -> None:
    """A name that is both is the revision, which is said; with a dot and a slash it is the folder."""
    git(small.folder, "branch", "specs")
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    monkeypatch.chdir(small.folder)
    assert looked_at("specs").notes == ("specs is a revision and a folder; the revision is used",)
    assert [one.id for one in looked_at("specs").files] == ["b211-330"]
    assert looked_at("./specs").files == ()


def test_a_book_that_moved(small: Story) -> None:
    """A book whose folder has another name in the older version is found there."""
    git(small.folder, "mv", "specs", "plant book")
    moved = small.folder / "plant book"
    text = (moved / R330).read_text(encoding="utf-8")
    (moved / R330).write_text(text.replace("land: 0.50 mm", "land: 0.52 mm"), encoding="utf-8")
    git(small.folder, "add", "--all")
    git(small.folder, "commit", "--quiet", "--message", "moved")
    made = looked_at("start", "main", moved)
    assert [change.key for file in made.files for change in file.changes] == ["ironing.land"]
    assert any("the book is in specs" in one for one in made.notes)


def test_the_first_book_of_a_repository(small: Story, tmp_path: Path, demo: Book) -> None:
    """Against a commit without a book everything is new, and that is said."""
    git(small.folder, "checkout", "--quiet", "--orphan", "early")
    git(small.folder, "rm", "-r", "--quiet", "--cached", ".")
    git(small.folder, "commit", "--quiet", "--allow-empty", "--message", "nothing yet")
    git(small.folder, "checkout", "--quiet", "--force", "main")
    made = looked_at("early", "main", small.book)
    assert {one.states[0] for one in made.files} == {"added"}
    assert any("has no book" in one for one in made.notes)


# --- what a tree may hold ---


def hostile(small: Story) -> None:
    """Put into the book what books have not: odd names, links, a submodule, far too much of a file."""
    small.write("formats/ünlikely – näme.yaml", small.text(R330).replace("land: 0.50 mm", "land: 0.54 mm"))
    small.write("formats/huge.yaml", "# " + 5 * 1024 * 1024 * "x" + "\n")
    os.symlink("b211-330.yaml", small.book / "formats/linked.yaml")
    os.symlink("/etc/hostname", small.book / "formats/outside.yaml")
    os.symlink("nowhere", small.book / "formats/dangling.yaml")
    small.write("formats/broken.yaml", "kind: size-format\n\tid: x\n: :\n")
    commit = git(small.folder, "rev-parse", "HEAD")
    git(small.folder, "update-index", "--add", "--cacheinfo", f"160000,{commit},specs/lent")
    (small.book / "lent").mkdir()


def test_hostile_files_are_reported_and_the_rest_is_reviewed(small: Story) -> None:
    """Each odd file is a finding or a line, none a traceback, and the change beside them is reviewed."""
    hostile(small)
    small.raised(R330, ("land: 0.50 mm", "land: 0.52 mm"))
    small.commit("hostile")
    made = looked_at("start", "hostile", small.book)
    found = {one.finding.name for one in made.checks if one.state == "newly fails"}
    assert {"reading.size", "reading.tab", "reading.link", "reading.file", "book.file-name"} <= found
    assert any("lent" in one and "submodule" in one for one in made.not_judged)
    (file,) = [one for one in made.files if one.id == "b211-330"]
    assert [change.key for change in file.changes] == ["revision", "why", "ironing.land"]
    back = looked_at("hostile", "start", small.book)
    assert "revision.falls" not in {one.finding.name for one in back.checks}  # compared from where they part


def test_hostile_files_on_disk_give_the_same_findings(small: Story) -> None:
    """What the work tree says of odd files is what the revision says of them."""
    hostile(small)
    small.commit("hostile")
    in_git, on_disk = looked_at("start", "hostile", small.book), looked_at("start", None, small.book)
    assert [one.words for one in in_git.checks] == [one.words for one in on_disk.checks]


def test_no_file_is_written_out_of_the_folder(small: Story, tmp_path: Path) -> None:
    """A tree whose paths lead upward, or through a link, is not written anywhere else."""
    blob = git(small.folder, "hash-object", "-w", "--stdin", given=b"kind: plant\n")
    target = git(small.folder, "hash-object", "-w", "--stdin", given=str(tmp_path / "out").encode())
    (tmp_path / "out").mkdir()
    inner = tree(small, [("100644", blob, "x.yaml")])
    upward = tree(small, [("40000", tree(small, [("40000", inner, "..")]), "specs")])
    made = looked_at("start", git(small.folder, "commit-tree", "-m", "odd", upward), small.book)
    assert any("a path that no book can have" in one for one in made.not_judged)
    twice = tree(small, [("120000", target, "a.yaml"), ("40000", inner, "a.yaml")])
    linked = git(small.folder, "commit-tree", "-m", "odd", tree(small, [("40000", twice, "specs")]))
    with pytest.raises(CannotRead, match="two files with one name"):
        looked_at("start", linked, small.book)
    assert list((tmp_path / "out").iterdir()) == []
    assert not (tmp_path / "x.yaml").exists()


def tree(small: Story, entries: list[tuple[str, str, str]]) -> str:
    """Write a tree as it is given, however odd."""
    raw = b"".join(f"{mode} {name}\0".encode() + bytes.fromhex(oid) for mode, oid, name in entries)
    return git(small.folder, "hash-object", "-t", "tree", "-w", "--literally", "--stdin", given=raw)


def test_line_ends_are_no_change(small: Story) -> None:
    """A checkout that turned every line end is the book it was."""
    for path in small.book.rglob("*.yaml"):
        path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    made = looked_at("start", None, small.book)
    assert made.touched == ()
    assert {one.states for one in made.files} <= {("no change in meaning",)}


def test_without_git_two_folders_still_work(
    small: Story, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where git is not installed a revision is refused in one line, and folders are compared."""
    shutil.copytree(small.book, tmp_path / "before")
    monkeypatch.setenv("PATH", str(tmp_path))
    monkeypatch.chdir(tmp_path)
    assert looked_at("before", None, small.book).files == ()
    with pytest.raises(CannotRead, match="two folders"):
        looked_at("start", None, small.book)
