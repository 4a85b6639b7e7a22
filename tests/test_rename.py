"""Another id: every file that names it follows, or none does."""

from __future__ import annotations

import os
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb.book import keys
from kb.book.load import FOLDERS, load
from kb.cli import main
from kb.cli.files import RENAMED
from kb.folders import shipped
from kb.rename import KINDS, renaming


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A copy of the demo book."""
    shutil.copytree(shipped("specs"), tmp_path / "specs")
    return tmp_path / "specs"


def files(root: Path) -> dict[str, bytes]:
    """Each file of a folder with its content."""
    return {
        path.relative_to(root).as_posix(): path.read_bytes() for path in root.rglob("*") if path.is_file()
    }


def run(*words: object) -> tuple[int, str, str]:
    """Exit code, standard output and standard error of a command."""
    found = CliRunner().invoke(main, ["rename", *map(str, words)])
    return found.exit_code, found.stdout, found.stderr


@pytest.mark.parametrize(
    ("word", "old"),
    [
        ("format", "b211-330"),
        ("format", "b204-355"),
        ("end", "curlew-202"),
        ("material", "marsh-3104"),
        ("line", "heron"),
        ("week", "heron-49"),
    ],
)
def test_every_file_has_the_new_id(word: str, old: str, root: Path) -> None:
    """After a rename no value of the book is the old id, and every other value is as before."""
    before = load(root, shown="")
    assert run(word, old, "new-id", "--book", root)[0] == 0
    after = load(root, shown="")
    assert after.findings == before.findings == []
    assert after.ids(KINDS[word]) == before.ids(KINDS[word]) - {old} | {"new-id"}
    for kind, specs in before.specs.items():
        for ident, spec in specs.items():
            new = after.of(kind)["new-id" if (kind, ident) == (KINDS[word], old) else ident]
            was, now = dict(keys.values(spec.record)), dict(keys.values(new.record))
            assert was.keys() == now.keys()
            moved = {key for key in was if was[key] != now[key]}
            assert all((was[key], now[key]) == (old, "new-id") for key in moved)
            stay = {key for key in was if was[key] == old} - moved
            assert {(kind, key) for key in stay} <= {("line", "id")} - {(KINDS[word], "id")}


def test_waivers_weeks_register_and_past_follow(root: Path) -> None:
    """The waiver of a format, its runs, its sheet codes and its past changeovers have the new id."""
    run("format", "b204-355", "b204-356", "--book", root)
    run("format", "b211-330", "b211-331", "--book", root)
    book = load(root, shown="")
    assert [one.format for one in book.waivers.waivers] == ["b204-356"]
    changeover, codes = book.only("changeover"), book.only("sheet-codes")
    assert changeover is not None
    assert codes is not None
    assert "b211-331" in {one.came_from for one in changeover.record.past}
    assert "b211-330" not in {one.came_from for one in changeover.record.past}
    assert "b211-331" in {one.format for one in codes.record.codes}
    assert book.of("week")["heron-49"].record.running == "b211-331"


def test_only_the_ids_change_in_a_file(root: Path) -> None:
    """Comments, quotes, line ends and order stay: putting the old id back gives the same bytes."""
    week = root / "weeks/heron-49.yaml"
    week.write_bytes(
        week.read_bytes().replace(b"running: b211-330", b"running: 'b211-330'").replace(b"\n", b"\r\n")
    )
    before = files(root)
    run("format", "b211-330", "b211-331", "--book", root)
    assert b'running: "b211-331"\r\n' in week.read_bytes()
    assert run("format", "b211-331", "b211-330", "--book", root)[0] == 0
    week.write_bytes(week.read_bytes().replace(b'"b211-330"\r\nrate', b"'b211-330'\r\nrate"))
    assert files(root) == before


def test_a_dry_run_lists_the_places_and_changes_nothing(root: Path) -> None:
    """Each place is listed with file, line and key, and so is each text that names the old id."""
    before = files(root)
    code, out, err = run("format", "b211-330", "b211-331", "--book", root, "--dry-run")
    assert code == 0
    assert "formats/b211-330.yaml:3:5: id: b211-330 becomes b211-331" in out
    assert "weeks/heron-49.yaml:10:10: running: b211-330 becomes b211-331" in out
    assert "sheet-codes.yaml:92:54: a text names b211-330; it stays" in out
    assert "formats/b211-330-lantern.yaml:6:13: variant_of: b211-330 becomes b211-331" in out
    assert "19 places in 9 files would change" in err
    assert files(root) == before


@pytest.mark.parametrize("stops", range(1, 6))
def test_a_rename_that_fails_changes_nothing(stops: int, root: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """If the system refuses any of the writes, every file is as before."""
    before = files(root)
    replace, unlink, calls = os.replace, Path.unlink, []

    def counted() -> None:
        calls.append(1)
        if len(calls) == stops:
            raise OSError(28, "No space left on device")

    def replacing(old: Path, to: Path) -> None:
        counted()
        replace(old, to)

    def unlinking(path: Path, missing_ok: bool = False) -> None:
        if not path.name.startswith(".sizebook-"):
            counted()
        unlink(path, missing_ok=missing_ok)

    monkeypatch.setattr(os, "replace", replacing)
    monkeypatch.setattr(Path, "unlink", unlinking)
    code, _, err = run("format", "b211-330", "b211-331", "--book", root)
    monkeypatch.undo()
    assert (code, err.count("\n")) == (2, 1)
    assert len(calls) >= stops
    assert files(root) == before


def test_a_rename_that_was_killed_can_be_run_again(root: Path) -> None:
    """References are written first and the file of the id last, so a second run finishes the first."""
    found = renaming(load(root, shown=""), "format", "b211-330", "b211-331")
    assert [path.name for path in found.contents][-2:] == ["b211-331.yaml", "b211-330.yaml"]
    for path, text in list(found.contents.items())[:1]:
        path.write_text(str(text), encoding="utf-8")
    assert run("format", "b211-330", "b211-331", "--book", root)[0] == 0
    assert load(root, shown="").findings == []


@pytest.mark.parametrize(
    ("words", "reason"),
    [
        (("format", "b211-33", "x"), "did you mean b211-330?"),
        (("end", "nothing", "x"), "known: avocet-206, curlew-202, dunlin-200"),
        (("format", "b211-330", "b211-355"), "format b211-355 is in the book already"),
        (("format", "b211-330", "B211 330"), "B211 330"),
        (("format", "b211-330", "../x"), "../x"),
        (("format", "b211-330", ""), ""),
        (("format", "b211-330", "b211-330"), "is in the book already"),
        (("crew", "heron-days", "x"), "crew"),
    ],
)
def test_refusals_are_one_line(words: tuple[str, ...], reason: str, root: Path) -> None:
    """What cannot be renamed ends with exit code 2, one line, and no change."""
    before = files(root)
    code, out, err = run(*words, "--book", root)
    assert (code, out, err.strip().count("\n")) == (2, "", 0)
    assert reason in err
    assert files(root) == before


def test_a_file_with_errors_stops_a_rename(root: Path) -> None:
    """A file that cannot be read may name the id, so nothing is renamed."""
    (root / "weeks/plover-49.yaml").write_text("kind: week\n", encoding="utf-8")
    code, _, err = run("format", "b211-330", "b211-331", "--book", root)
    assert code == 2
    assert "1 files have errors and may name b211-330" in err


def test_the_command_knows_every_kind_with_ids() -> None:
    """The words of the command are those of the kinds that have a folder."""
    assert tuple(KINDS) == RENAMED
    assert set(KINDS.values()) == set(FOLDERS)
