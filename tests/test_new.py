"""A small book to begin with."""

from __future__ import annotations

import datetime
import json
import os
import re
from pathlib import Path

import pytest
from click.testing import CliRunner

from kb import new
from kb.book.load import load
from kb.checks import check_book
from kb.cli import main
from kb.folders import shipped

DAY = datetime.date(2026, 11, 2)


@pytest.fixture
def book(tmp_path: Path) -> Path:
    """A new book."""
    new.new_book(tmp_path / "my-book")
    return tmp_path / "my-book"


def test_new_book_is_valid(book: Path) -> None:
    """A new book passes its check with nothing unused, no waivers and no past changeovers."""
    loaded = load(book, shown="my-book")
    report = check_book(loaded, today=DAY)
    assert [(one.name, one.message) for one in report.findings] == []
    assert report.skipped == []
    assert report.formats == new.START
    assert all(len(report.verdicts[one]) > 50 for one in new.START)
    assert loaded.waivers.waivers == ()


def test_new_book_has_no_price_of_the_demo_plant(book: Path) -> None:
    """Prices, cans a year and energy of the demo plant are not those of a new plant."""
    plant = load(book, shown="").plant
    assert plant is not None
    assert plant.metal is None
    assert "metal:" not in (book / "plant.yaml").read_text(encoding="utf-8")


def test_new_book_is_small(book: Path) -> None:
    """A new book has two formats, one end, two metals, one line, and one of each file at the top."""
    specs = sorted(path.relative_to(book).as_posix() for path in book.rglob("*.yaml"))
    folders = [name.rpartition("/")[0] for name in specs]
    assert folders.count("ends") == folders.count("lines") == 1
    assert folders.count("formats") == folders.count("materials") == 2
    top = [name for name in specs if "/" not in name]
    assert top == ["changeover.yaml", "floor.yaml", "limits.yaml", "plant.yaml", "waivers.yaml"]


@pytest.fixture
def named(tmp_path: Path) -> Path:
    """A new book with names of its own."""
    new.new_book(tmp_path / "delta", new.NewPlant('Delta: "east" works #2', "Line 7"))
    return tmp_path / "delta"


def test_names_are_those_of_the_plant(named: Path) -> None:
    """Plant, line, formats and crew have the names that were given; the demo's line is nowhere."""
    loaded = load(named, shown="")
    assert loaded.findings == []
    assert loaded.plant is not None
    assert (loaded.plant.id, loaded.plant.title) == ("delta-east-works-2", 'Delta: "east" works #2')
    assert [(one.id, one.record.title) for one in loaded.of("line").values()] == [("line-7", "Line 7")]
    assert {one.record.lines for one in loaded.of("size-format").values()} == {("line-7",)}
    texts = "".join(path.read_text(encoding="utf-8") for path in named.rglob("*.yaml")).lower()
    assert "heron" not in texts
    assert "saltmarsh" not in texts
    assert "line-7" in (named / "README.md").read_text(encoding="utf-8")


def test_nothing_is_confirmed(named: Path) -> None:
    """Limits are those of the demo book but not confirmed; the check counts them, the command lists them."""
    demo, own = load(shipped("specs"), shown="", formats=()).limits, load(named, shown="").limits
    assert demo is not None
    assert own is not None
    assert demo.unconfirmed == []
    assert len(own.unconfirmed) == len(demo.limits) + len(demo.settings)
    assert {name: (one.least, one.most) for name, one in own.limits.items()} == {
        name: (one.least, one.most) for name, one in demo.limits.items()
    }
    checked = CliRunner().invoke(main, ["check", str(named)])
    count = f"{len(own.unconfirmed)} limits and settings"
    line = f"{count} not yet confirmed by this plant: `sizebook limits --unconfirmed`"
    assert checked.stdout.count(line) == 1
    listed = CliRunner().invoke(main, ["limits", "--unconfirmed", "--book", str(named)])
    assert listed.exit_code == 0
    assert len(listed.stdout.splitlines()) == len(own.unconfirmed)
    assert "limits.yaml:7:3: cup.punch-below-blank at least 10 mm; owner cupping" in listed.stdout


def test_a_confirmed_limit_is_no_longer_counted(named: Path) -> None:
    """Without its mark a limit counts as confirmed."""
    file = named / "limits.yaml"
    text = file.read_text(encoding="utf-8")
    before = text.count("confirmed: false")
    file.write_text(text.replace("    confirmed: false\n", "", 1), encoding="utf-8")
    limits = load(named, shown="").limits
    assert limits is not None
    assert len(limits.unconfirmed) == before - 1


def test_no_evidence_of_the_demo_plant_is_the_new_plants(named: Path) -> None:
    """No past, waiver, code, timed step or machine setting is inherited; sources name demo values."""
    loaded = load(named, shown="")
    floor, changeover = loaded.only("floor"), loaded.only("changeover")
    assert floor is not None
    assert changeover is not None
    assert loaded.only("sheet-codes") is None
    assert changeover.record.past == ()
    assert {one.time.basis for one in changeover.record.steps} == {"estimated"}
    assert [one.id for one in changeover.record.crews] == ["days"]
    assert not any(one.plant_settings for one in floor.record.machines)
    assert not any(part.store for one in floor.record.machines for part in one.parts)
    assert loaded.limits is not None
    for one in [*loaded.limits.limits.values(), *loaded.limits.settings.values()]:
        assert one.source.startswith(new.DEMO) or not re.search(
            "invented|measured|trial|plant|record", one.source
        )
    for spec in loaded.of("material").values():
        assert spec.record.source.startswith(new.DEMO)
    assert {one.record.status for one in loaded.of("size-format").values()} == {"draft"}


@pytest.mark.slow
def test_sheets_and_changeover_of_a_new_book_print(named: Path) -> None:
    """The setup sheet of each format, and the changeover sheet between them, come out as HTML."""
    for words in (
        ["sheet", "b211-330", "--line", "line-7"],
        ["sheet", "b211-355", "--line", "line-7"],
        ["changeover", "b211-330", "b211-355", "--line", "line-7"],
    ):
        target = named.parent / f"{words[0]}.html"
        done = CliRunner().invoke(main, [*words, "--html", "--to", str(target), "--book", str(named)])
        assert (done.exit_code, target.is_file()) == (0, True), done.stderr
        assert "MISSING" not in target.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["", "工場", "x" * 61, "a\nb", "a\x1b[31m", "--"])
def test_a_name_that_makes_no_id_is_refused(name: str, tmp_path: Path) -> None:
    """A name without letters, too long or with control characters ends with 2, and nothing is made."""
    done = CliRunner().invoke(main, ["new", str(tmp_path / "x"), f"--plant={name}"])
    assert (done.exit_code, done.stderr.count("\n")) == (2, 1)
    assert not (tmp_path / "x").exists()


def test_editor_finds_the_schema_of_each_file(book: Path) -> None:
    """Each file names its schema once, by a path that works from where it is and says its kind."""
    for file in book.rglob("*.yaml"):
        text = file.read_text(encoding="utf-8")
        (hint,) = re.findall(r"(?m)^# yaml-language-server: \$schema=(.+)$", text)
        schema = json.loads((file.parent / hint).read_text(encoding="utf-8"))
        (kind,) = re.findall(r"(?m)^kind: (.+)$", text)
        assert schema["properties"]["kind"]["const"] == kind


def test_book_is_as_readable_as_any_folder(book: Path) -> None:
    """The book's folder has the permissions of an ordinary new folder, and nothing is left beside it."""
    beside = book.parent / "ordinary"
    beside.mkdir()
    assert book.stat().st_mode == beside.stat().st_mode
    assert sorted(os.listdir(book.parent)) == ["my-book", "ordinary"]


def test_empty_folder_is_filled(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """An empty folder is filled in place, so that a shell standing in it sees the book."""
    monkeypatch.chdir(tmp_path)
    before = tmp_path.stat().st_ino
    made = new.new_book(Path())
    assert tmp_path.stat().st_ino == before
    assert "plant.yaml" in made
    assert (Path() / "plant.yaml").is_file()


def test_the_open_ones_there_is_left_alone(tmp_path: Path) -> None:
    """A folder with something in it, a file, or a place without a folder above is refused and unchanged."""
    (tmp_path / "full").mkdir()
    (tmp_path / "full/note").write_text("mine", encoding="utf-8")
    (tmp_path / "file").write_text("mine", encoding="utf-8")
    for target in (tmp_path / "full", tmp_path / "file", tmp_path / "no/where"):
        with pytest.raises(new.CannotMake):
            new.new_book(target)
    assert sorted(os.listdir(tmp_path)) == ["file", "full"]
    assert os.listdir(tmp_path / "full") == ["note"]


@pytest.mark.parametrize("there", [False, True])
def test_interruption_leaves_nothing_half_written(
    there: bool, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """When it is stopped at any write, what was there is as before: no folder, or an empty one."""
    target = tmp_path / "my-book"
    if there:
        target.mkdir()

    def stop(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    for module, name in ((os, "replace"), (os, "rename")):
        with monkeypatch.context() as patched:
            patched.setattr(module, name, stop)
            with pytest.raises(KeyboardInterrupt):
                new.new_book(target)
        assert os.listdir(tmp_path) == (["my-book"] if there else [])
        assert not there or os.listdir(target) == []


def test_interruption_between_moves_is_undone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Stopped half-way through filling an empty folder, the folder is empty again."""
    rename, calls = os.rename, []

    def third_stops(old: Path, to: Path) -> None:
        calls.append(to)
        if len(calls) == 3:
            raise KeyboardInterrupt
        rename(old, to)

    (tmp_path / "my-book").mkdir()
    monkeypatch.setattr(os, "rename", third_stops)
    with pytest.raises(KeyboardInterrupt):
        new.new_book(tmp_path / "my-book")
    assert len(calls) == 3
    assert os.listdir(tmp_path / "my-book") == []
    assert os.listdir(tmp_path) == ["my-book"]
