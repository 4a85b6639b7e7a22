"""Files that are read again: the same bytes are parsed once, and no answer is an old one."""

from __future__ import annotations

import shutil
from pathlib import Path

from kb.book.load import load
from kb.folders import shipped
from tests.conftest import demo_in_full


def test_a_changed_file_is_read_again(tmp_path: Path) -> None:
    """A book that is loaded again shows the value that its file has now."""
    root = shutil.copytree(demo_in_full(), tmp_path / "specs")
    file = root / "formats" / "b211-330.yaml"
    before = load(root, shown="specs")
    file.write_text(
        file.read_text(encoding="utf-8").replace("web: 0.90 mm", "web: 0.95 mm"), encoding="utf-8"
    )
    after = load(root, shown="specs")
    old, new = (one.of("size-format")["b211-330"] for one in (before, after))
    assert (old.record.blank.web.text, new.record.blank.web.text) == ("0.90 mm", "0.95 mm")
    assert after.of("size-format")["b211-355"] is before.of("size-format")["b211-355"]


def test_a_changed_base_is_read_again(tmp_path: Path) -> None:
    """A label variant that is loaded again shows the value that its base's standard has now."""
    root = shutil.copytree(shipped("specs"), tmp_path / "specs")
    file = root / "standards/211.yaml"
    before = load(root, shown="specs")
    file.write_text(
        file.read_text(encoding="utf-8").replace("web: 0.90 mm", "web: 0.95 mm"), encoding="utf-8"
    )
    after = load(root, shown="specs")
    old, new = (one.of("size-format")["b211-330-lantern"] for one in (before, after))
    assert (old.record.blank.web.text, new.record.blank.web.text) == ("0.90 mm", "0.95 mm")
    assert after.of("size-format")["b204-330"] is before.of("size-format")["b204-330"]


def test_equal_files_keep_their_own_names(tmp_path: Path) -> None:
    """The same bytes in another folder have the places of that folder."""
    root = shutil.copytree(shipped("specs"), tmp_path / "specs")
    places = [load(root, shown=shown).of("end")["curlew-202"].place("id") for shown in ("here", "there")]
    assert [one.file for one in places] == ["here/ends/curlew-202.yaml", "there/ends/curlew-202.yaml"]
