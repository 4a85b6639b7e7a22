"""Git is read safely: no program that a repository names is run, and what is missing is one true line."""

from __future__ import annotations

import os
import re
import shutil
import stat
import subprocess
import sys
from pathlib import Path

import pytest

from kb.book.load import Book, load
from kb.checks.catalog import NAMES
from kb.history.git import CannotRead, Repository
from kb.history.log import read_log
from kb.review.compare import review
from kb.sheet.content import content
from kb.sheet.last_recorded_sheet import since_recorded
from kb.sheet.register import recording
from tests.conftest import TODAY
from tests.review.story import R330, Story, git

ROOT = Path(__file__).resolve().parents[2]

KEYS = (
    "alias.cat-file",
    "alias.rev-list",
    "core.alternateRefsCommand",
    "core.askPass",
    "core.editor",
    "core.fsmonitor",
    "core.gitProxy",
    "core.pager",
    "core.sshCommand",
    "credential.helper",
    "diff.external",
    "diff.x.command",
    "diff.x.textconv",
    "filter.x.clean",
    "filter.x.process",
    "filter.x.smudge",
    "gpg.program",
    "gpg.ssh.program",
    "merge.x.driver",
    "pager.cat-file",
    "pager.log",
    "pager.rev-list",
    "remote.origin.uploadpack",
    "remote.origin.vcs",
    "sequence.editor",
    "uploadpack.packObjectsHook",
)
"""Keys of a configuration that name a program."""

BESIDE = {
    "core.fsmonitor": {"core.fsmonitorHookVersion": "2"},
    "core.gitProxy": {"remote.origin.url": "git://nowhere.invalid/book"},
    "core.sshCommand": {"remote.origin.url": "ssh://nowhere.invalid/book"},
    "credential.helper": {"remote.origin.url": "https://nowhere.invalid/book"},
    "gpg.program": {"log.showSignature": "true"},
    "gpg.ssh.program": {"log.showSignature": "true", "gpg.format": "ssh"},
    "remote.origin.uploadpack": {"remote.origin.url": "/nowhere"},
}
"""What a repository would set together with such a key."""

HOOKS = ("fsmonitor-watchman", "post-index-change", "pre-auto-gc", "reference-transaction", "post-checkout")


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory, demo: Book) -> Story:
    """A repository with a recorded register and a later change, from which each test takes a copy."""
    folder = tmp_path_factory.mktemp("kept") / "plant"
    folder.mkdir()
    story = Story(folder, demo, ("b211-330",))
    story.write("sheet-codes.yaml", recording(load(story.book, shown=""), today=TODAY).text)
    story.commit("recorded")
    story.put(R330, "title: 330 ml, 211 body, 202 end", "title: 330 ml regular, end 202")
    story.commit("words")
    return story


@pytest.fixture
def copy(kept: Story, tmp_path: Path) -> Path:
    """A copy of that repository."""
    shutil.copytree(kept.folder, tmp_path / "plant", symlinks=True)
    return tmp_path / "plant"


class Trap:
    """A program that writes a file when it runs."""

    def __init__(self, folder: Path) -> None:
        self.sprung, self.program = folder / "sprung", folder / "trap"
        self.program.write_text(f"#!/bin/sh\necho \"$0 $@\" >> '{self.sprung}'\ncat 2>/dev/null\n")
        self.program.chmod(self.program.stat().st_mode | stat.S_IXUSR)

    def set(self, copy: Path, key: str) -> None:
        """Let a repository's own configuration, attributes and hooks name the program."""
        value = f"!{self.program}" if key.startswith("alias.") else str(self.program)
        for name, text in {key: value, **BESIDE.get(key, {})}.items():
            git(copy, "config", name, text)
        (copy / ".git/info/attributes").write_text("* diff=x filter=x merge=x\n")

    def hooks(self, copy: Path) -> None:
        """Put the program in place of hooks."""
        for name in HOOKS:
            shutil.copy(self.program, copy / ".git/hooks" / name)
        git(copy, "config", "core.fsmonitor", str(copy / ".git/hooks/fsmonitor-watchman"))


@pytest.fixture
def trap(tmp_path: Path) -> Trap:
    """A trap of this test."""
    return Trap(tmp_path)


def everything(copy: Path) -> None:
    """Read all that the product reads out of git."""
    book = copy / "specs"
    for base, head in (("start", "words"), ("HEAD", None), ("nonsense", None)):
        try:
            review(base, head, book=book, today=TODAY)
        except CannotRead:
            assert base == "nonsense"
    assert len(read_log(book, NAMES).commits) == 3
    loaded = load(book, shown="")
    assert since_recorded(loaded, content(loaded, "b211-330", "heron"))


@pytest.mark.parametrize("key", KEYS)
def test_no_program_of_a_configuration_runs(copy: Path, trap: Trap, key: str) -> None:
    """Review, history and printed sheet run nothing that the repository's own configuration names."""
    trap.set(copy, key)
    (copy / "specs" / R330).write_bytes((copy / "specs" / R330).read_bytes() + b"# touched\n")
    everything(copy)
    assert not trap.sprung.exists(), trap.sprung.read_text()


def test_no_hook_of_a_repository_runs(copy: Path, trap: Trap) -> None:
    """Hooks in the repository do not run either."""
    trap.hooks(copy)
    everything(copy)
    assert not trap.sprung.exists(), trap.sprung.read_text()


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("diff.x.textconv", ("log", "--patch")),
        ("diff.external", ("diff", "start", "words")),
        ("core.fsmonitor", ("status",)),
        ("filter.x.clean", ("diff",)),
    ],
)
def test_the_trap_springs(copy: Path, trap: Trap, key: str, words: tuple[str, ...]) -> None:
    """Ordinary git runs the program that a key names, so that the tests above can fail."""
    trap.set(copy, key)
    (copy / "specs" / R330).write_bytes((copy / "specs" / R330).read_bytes() + b"# touched\n")
    if key == "diff.external":
        git(copy, "config", "diff.x.binary", "true")
    subprocess.run(["git", *words], cwd=copy, capture_output=True, check=False)
    assert trap.sprung.exists()


def test_no_program_runs_for_what_was_never_fetched(kept: Story, trap: Trap, tmp_path: Path) -> None:
    """A partial clone whose remote names programs fetches nothing and runs none of them."""
    clone = partial(kept, tmp_path)
    for key in ("core.sshCommand", "remote.origin.uploadpack", "credential.helper", "core.gitProxy"):
        trap.set(clone, key)
    for url in ("/nowhere", "ssh://nowhere.invalid/x", "git://nowhere.invalid/x", f"ext::{trap.program}"):
        git(clone, "config", "remote.origin.url", url)
        with pytest.raises(CannotRead, match="never fetched"):
            review("start", "words", book=clone / "specs", today=TODAY)
    assert not trap.sprung.exists(), trap.sprung.read_text()


def test_the_environment_names_no_program(copy: Path, trap: Trap, monkeypatch: pytest.MonkeyPatch) -> None:
    """Variables of git that name programs or files to write do not reach it."""
    for name in ("GIT_EXTERNAL_DIFF", "GIT_SSH_COMMAND", "GIT_PAGER", "GIT_EDITOR", "GIT_PROXY_COMMAND"):
        monkeypatch.setenv(name, str(trap.program))
    monkeypatch.setenv("GIT_TRACE", str(trap.sprung))
    everything(copy)
    assert not trap.sprung.exists(), trap.sprung.read_text()


def test_commands_run_no_program_of_the_repository(copy: Path, trap: Trap, tmp_path: Path) -> None:
    """The commands as they are typed run none of the programs, with all keys set at once."""
    for key in KEYS:
        trap.set(copy, key)
    trap.hooks(copy)
    for words in (
        ["review", "start", "words"],
        ["sheet", "b211-330", "--line", "heron", "--html", "--to", str(tmp_path / "sheet.html")],
        ["sheet", "--record"],
        ["publish", ".", "--to", str(tmp_path / "site")],
    ):
        done = command(copy / "specs", *words, "--as-of", "2026-11-02")
        assert done.returncode == 0, done.stderr
    assert (tmp_path / "site/index.html").exists()
    assert not trap.sprung.exists(), trap.sprung.read_text()


def test_git_is_run_in_one_place() -> None:
    """No other file of the program starts a process."""
    starts = re.compile(r"subprocess\.(run|Popen|call|check_)|os\.(system|popen|exec|spawn)")
    starting = [
        file.relative_to(ROOT).as_posix()
        for file in sorted((ROOT / "kb").rglob("*.py"))
        if starts.search(file.read_text(encoding="utf-8"))
    ]
    assert starting == ["kb/history/git.py"]


# --- what is missing --------------------------------------------------------------------------


def command(folder: Path, *words: str) -> subprocess.CompletedProcess[str]:
    """Run the command in a folder, in a process of its own."""
    return subprocess.run(
        [sys.executable, "-m", "kb.cli", *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


def partial(kept: Story, folder: Path) -> Path:
    """A clone whose files were not fetched, apart from those on disk."""
    git(kept.folder, "config", "uploadpack.allowFilter", "true")
    git(folder, "clone", "--quiet", "--filter=blob:none", kept.folder.as_uri(), "partial")
    return folder / "partial"


def without(copy: Path, name: str) -> None:
    """Delete an object of a repository."""
    oid = git(copy, "rev-parse", name)
    (copy / ".git/objects" / oid[:2] / oid[2:]).unlink()


def one_true_line(done: subprocess.CompletedProcess[str], code: int) -> str:
    """The line on standard error of a command that cannot run."""
    assert done.returncode == code, done.stdout + done.stderr
    assert "Traceback" not in done.stderr
    assert re.fullmatch(r"sizebook: [^\n]+\n", done.stderr), done.stderr
    assert done.stdout == ""
    return done.stderr


@pytest.mark.parametrize(
    ("name", "words"),
    [
        (f"start:specs/{R330}", "file [0-9a-f]{12} of that version cannot be read"),
        ("start:specs/formats", "cannot be read"),
        ("start:specs", "cannot be read"),
        ("start^{tree}", "cannot be read"),
        ("start", "commit [0-9a-f]{12} of start cannot be read"),
        ("recorded", "cannot be read"),
    ],
)
def test_a_missing_object_is_one_true_line(copy: Path, name: str, words: str) -> None:
    """Whichever object is gone, the command says that the repository is damaged, and exits with 2."""
    without(copy, name)
    line = one_true_line(command(copy, "review", "start", "HEAD"), 2)
    assert re.search(words, line)
    assert "the repository is damaged; `git fsck`" in line


def test_history_with_a_missing_object_is_one_true_line(copy: Path) -> None:
    """The site's history and the sheet's do without what is missing; the history says so."""
    without(copy, f"recorded:specs/{R330}")
    past = read_log(copy / "specs", NAMES)
    assert past.commits == ()
    assert "the repository is damaged" in past.why_no_more
    without(copy, "recorded")
    assert "the repository is damaged" in read_log(copy / "specs", NAMES).why_no_more
    book = load(copy / "specs", shown="")
    assert since_recorded(book, content(book, "b211-330", "heron")) == ()


def test_a_partial_clone_says_how_to_fetch_the_rest(kept: Story, tmp_path: Path) -> None:
    """Files that were never fetched are one true line, and the command it names fetches them."""
    clone = partial(kept, tmp_path)
    line = one_true_line(command(clone, "review", "start", "HEAD"), 2)
    (fetch,) = re.findall(r"`git (fetch [^`]*)`", line)
    git(clone, *fetch.split())
    assert command(clone, "review", "start", "HEAD").returncode == 0


def test_a_shallow_clone_says_how_to_fetch_more(kept: Story, tmp_path: Path) -> None:
    """A revision that was never fetched is one true line."""
    git(tmp_path, "clone", "--quiet", "--depth", "1", kept.folder.as_uri(), "shallow")
    assert "shallow" in one_true_line(command(tmp_path / "shallow", "review", "HEAD~1"), 2)


def test_a_bare_repository_has_no_files_on_disk(kept: Story, tmp_path: Path) -> None:
    """In a bare repository revisions are compared; without HEAD the command says that there is no book."""
    git(tmp_path, "clone", "--quiet", "--bare", str(kept.folder), "bare.git")
    assert command(tmp_path / "bare.git", "review", "start", "words").returncode == 0
    assert "no book" in one_true_line(command(tmp_path / "bare.git", "review", "start"), 2)


@pytest.mark.parametrize("words", [("review", "start"), ("check",), ("sheet", "b211-330"), ("publish",)])
def test_a_deleted_working_folder_is_one_true_line(
    kept: Story, tmp_path: Path, words: tuple[str, ...]
) -> None:
    """Where the current folder was deleted, each command says so."""
    script = 'mkdir gone && cd gone && rmdir "$PWD" && exec "$@"'
    done = subprocess.run(
        ["sh", "-c", script, "sh", sys.executable, "-m", "kb.cli", *words],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )
    assert "the current folder no longer exists" in one_true_line(done, 2)


@pytest.fixture
def foreign(copy: Path) -> Path:
    """A repository that another user owns."""
    if os.geteuid() != 0:
        pytest.skip("only root can give a folder away")
    for one in (copy, *copy.rglob("*")):
        os.lchown(one, 12345, 12345)
    return copy


def test_a_repository_of_another_user_is_one_true_line(
    foreign: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Git does not read it; the line names the folder and the command, and that command lets it be read."""
    line = one_true_line(command(foreign, "review", "start", "HEAD"), 2)
    assert f"another user owns the repository {foreign}" in line
    assert f"`git config --global --add safe.directory {foreign}`" in line
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", str(tmp_path / "own"))
    subprocess.run(["git", "config", "--global", "--add", "safe.directory", str(foreign)], check=True)
    assert command(foreign, "review", "start", "HEAD").returncode == 0


def test_a_text_is_found_where_it_came_and_went(small: Story) -> None:
    """The commits that brought a text into a file or took it out are found, the newest first."""
    for name, text in (("came", "one"), ("stayed", "one two"), ("went", "two"), ("back", "one")):
        small.write("note.yaml", text)
        small.commit(name)
    found = Repository(small.book).touching("one", "note.yaml", most=5)
    assert found == tuple(git(small.folder, "rev-parse", name) for name in ("back", "went", "came"))
    assert Repository(small.book).touching("one", "note.yaml", most=1) == found[:1]
