"""The page on automatic review and the hook: what they show is run on the story's repository."""

from __future__ import annotations

import json
import os
import re
import shutil
import stat
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
import yaml

from kb.book.load import FOLDERS, TOP_FILES
from kb.checks.names import approval_names
from kb.cli.review import OUTPUTS
from kb.output.review import MOST_BYTES, hidden_mark
from kb.review.model import EXIT_CODES
from tests.review.story import R330, Story, git
from tests.review.test_story import reviewed

HOUSE = Path(__file__).resolve().parents[2]
PAGE = (HOUSE / "site/docs/review.md").read_text(encoding="utf-8")
SHELL, OWNERS = [], []
for one in re.findall(r"^```sh\n(.*?)^```$", PAGE, flags=re.MULTILINE | re.DOTALL):
    (OWNERS if "--code-owners" in one else SHELL).append(one)
WORKFLOW, CONFIG = (
    yaml.safe_load(one) for one in re.findall(r"^```yaml\n(.*?)^```$", PAGE, flags=re.MULTILINE | re.DOTALL)
)
STEPS = {one["name"]: one["run"] for one in WORKFLOW["jobs"]["review"]["steps"] if "name" in one}
HOOKS = yaml.safe_load((HOUSE / ".pre-commit-hooks.yaml").read_text(encoding="utf-8"))

HOST = '''\
"""What replaces the host's own command: comments are kept in a file."""
import json, os, re, sys
from pathlib import Path
words = sys.argv[1:]
if words[0] == "pr":
    assert words == ["pr", "view", "7", "--json", "reviewDecision", "--jq", ".reviewDecision"]
    print(os.environ.get("DECISION", "REVIEW_REQUIRED"))
    sys.exit()
assert words.pop(0) == "api"
options = {}
while words and any(one.startswith("--") for one in words):
    i = next(i for i, one in enumerate(words) if one.startswith("--"))
    flag = words.pop(i)
    options[flag] = "" if flag in ("--paginate", "--silent") else words.pop(i)
(address,) = words
store = Path(os.environ["COMMENTS"])
comments = json.loads(store.read_text())
if "--jq" in options:
    assert address == "repos/plant/book/issues/7/comments"
    asked = '.[] | select(.user.type == "Bot") | select(.body | startswith("MARK")) | .id'
    wanted = re.fullmatch(re.escape(asked).replace("MARK", "(.*)"), options["--jq"])
    for one in comments:
        if one["user"]["type"] == "Bot" and one["body"].startswith(wanted[1]):
            print(one["id"])
    sys.exit()
name, _, file = options["--field"].partition("=@")
assert name == "body"
body = Path(file).read_text(encoding="utf-8")
if options["--method"] == "POST":
    assert address == "repos/plant/book/issues/7/comments"
    comments.append({"id": 100 + len(comments), "user": {"type": "Bot"}, "body": body})
else:
    assert options["--method"] == "PATCH"
    (one,) = [one for one in comments if address == f"repos/plant/book/issues/comments/{one['id']}"]
    one["body"] = body
store.write_text(json.dumps(comments))
'''


class Clone:
    """A clone of the story in which a change is proposed, with the commands of the page."""

    def __init__(self, story: Story, folder: Path) -> None:
        self.folder = folder / "clone"
        git(folder, "clone", "--quiet", str(story.folder), "clone")
        git(self.folder, "checkout", "--quiet", "main")
        git(self.folder, "checkout", "--quiet", "-b", "change")
        self.tools = folder / "tools"
        self.tools.mkdir()
        self._tool("sizebook", "import sys\nfrom kb.cli import main\nsys.exit(main())\n")
        self._tool("gh", HOST)
        self.summary, self.comments = folder / "summary.md", folder / "comments.json"
        someone = {"id": 1, "user": {"type": "User"}, "body": f"{hidden_mark('specs')}\nmine"}
        self.comments.write_text(json.dumps([someone]), encoding="utf-8")

    def _tool(self, name: str, text: str) -> None:
        path = self.tools / name
        path.write_text(f"#!{sys.executable}\n{text}", encoding="utf-8")
        path.chmod(path.stat().st_mode | stat.S_IXUSR)

    def put(self, old: str, new: str, *, commit: bool = True) -> None:
        """Change the format under the next revision, and commit that."""
        path = self.folder / "specs" / R330
        text = path.read_text(encoding="utf-8")
        assert text.count(old) == 1
        text = re.sub(
            r"(?m)^revision: (\d+)$", lambda one: f"revision: {int(one[1]) + 1}", text.replace(old, new)
        )
        text = re.sub(r"(?m)^why: .*$", "why: One more step.", text)
        path.write_text(text, encoding="utf-8")
        if commit:
            git(self.folder, "commit", "--quiet", "--all", "--message", "change", day=60)

    def loosen(self) -> None:
        """Loosen a limit, and commit that."""
        path = self.folder / "specs/limits.yaml"
        text = path.read_text(encoding="utf-8")
        words = "  can.axial-load:\n    least: 1.00\n"
        assert text.count(words) == 1
        path.write_text(text.replace(words, words.replace("1.00", "0.90")), encoding="utf-8")
        git(self.folder, "commit", "--quiet", "--all", "--message", "limit", day=60)

    def sh(self, script: str, **more: str) -> subprocess.CompletedProcess[str]:
        """Run a script as the host does: it stops at what fails."""
        given = {
            "PATH": f"{self.tools}{os.pathsep}{os.environ['PATH']}",
            "PYTHONPATH": str(HOUSE),
            "BASE": "origin/main",
            "GITHUB_REPOSITORY": "plant/book",
            "GITHUB_STEP_SUMMARY": str(self.summary),
            "NUMBER": "7",
            "COMMENTS": str(self.comments),
        }
        return subprocess.run(
            ["bash", "-e", "-c", script],
            cwd=self.folder,
            env={**os.environ, **given, **more},
            capture_output=True,
            text=True,
            check=False,
        )

    def posted(self) -> list[Any]:
        """The comments there are."""
        found: list[Any] = json.loads(self.comments.read_text(encoding="utf-8"))
        return found


@pytest.fixture
def clone(story: Story, tmp_path: Path) -> Clone:
    """A fresh clone of the story."""
    return Clone(story, tmp_path)


VALID = ("land: 0.52 mm", "land: 0.53 mm")
FAILING = ("gauge: 0.262 ±0.004 mm", "gauge: 0.254 ±0.004 mm")


@pytest.mark.parametrize("script", SHELL, ids=[one.splitlines()[0] for one in SHELL])
@pytest.mark.parametrize(("edit", "code"), [(VALID, 0), (FAILING, 1)], ids=["valid", "failing"])
def test_shell_of_the_page_runs(clone: Clone, script: str, edit: tuple[str, str], code: int) -> None:
    """Each block of shell that reviews exits with 0 for a valid change and with 1 for one that fails."""
    shutil.copytree(clone.folder / "specs", clone.folder.parent / "specs-before")
    clone.put(*edit)
    done = clone.sh(script)
    assert done.returncode == code, done.stderr
    assert "Traceback" not in done.stderr


def test_plain_shell_ends_with_the_code_of_the_review(clone: Clone) -> None:
    """A change that needs approval ends the last block with 3, and its report and comment are there."""
    clone.loosen()
    assert clone.sh(SHELL[-1]).returncode == 3
    assert 'type="needs approval"' in (clone.folder / "review.xml").read_text(encoding="utf-8")
    assert "Needs approval" in (clone.folder / "review.md").read_text(encoding="utf-8")


def test_the_code_owners_of_the_page_are_written(clone: Clone) -> None:
    """The command of the page writes the file at the top of the repository."""
    (script,) = OWNERS
    assert clone.sh(script).returncode == 0
    text = (clone.folder / "CODEOWNERS").read_text(encoding="utf-8")
    (line,) = [one for one in text.splitlines() if one.startswith("/specs/formats/b211-330.yaml ")]
    assert line.split()[1:] == ["@SET-ACCOUNT-OF-body-tooling"]


def test_plain_shell_leaves_its_files(clone: Clone) -> None:
    """The last block leaves a report and a comment with the name and the length it requires."""
    clone.put(*FAILING)
    clone.sh(SHELL[-1])
    assert 'failures="2"' in (clone.folder / "review.xml").read_text(encoding="utf-8")
    text = (clone.folder / "review.md").read_text(encoding="utf-8")
    assert text.startswith("<!-- sizebook review: plant -->\n")


def test_the_workflow_blocks_and_shows(clone: Clone) -> None:
    """A failing change fails the step, is annotated in its log, and is in the summary."""
    clone.put(*FAILING)
    done = clone.sh(STEPS["Review"])
    assert done.returncode == 1, done.stderr
    assert done.stdout.count("::error file=specs/formats/b211-330.yaml,") == 2
    assert "**Blocked&#58; 2 checks newly fail" in clone.summary.read_text(encoding="utf-8")


def test_the_workflow_waits_for_approval(clone: Clone) -> None:
    """A looser limit fails the step with 3 until the host says that the change is approved."""
    clone.loosen()
    done = clone.sh(STEPS["Review"])
    assert done.returncode == 3, done.stderr
    assert "::warning file=specs/limits.yaml," in done.stdout
    assert "**Needs approval&#58; 1 limit loosened" in clone.summary.read_text(encoding="utf-8")
    assert clone.sh(STEPS["Review"], DECISION="CHANGES_REQUESTED").returncode == 3
    assert clone.sh(STEPS["Review"], DECISION="APPROVED").returncode == 0


def test_approval_unblocks_nothing(clone: Clone) -> None:
    """A change that is blocked stays blocked after any approval."""
    clone.put(*FAILING)
    assert clone.sh(STEPS["Review"], DECISION="APPROVED").returncode == 1


def test_the_page_lists_every_verdict_and_finding() -> None:
    """The page has each exit code, and each finding that needs approval."""
    codes = re.findall(r"^\| .+ \| (\d) \| .+ \|$", PAGE, flags=re.MULTILINE)
    assert sorted(map(int, codes)) == sorted([*EXIT_CODES.values(), 2])
    assert {one for one in approval_names() if f"`{one}`" in PAGE} == set(approval_names())


def test_the_workflow_keeps_one_comment(clone: Clone) -> None:
    """Pushed to twice, a merge request has one comment of the review, and others' stay as they are."""
    clone.put(*FAILING)
    assert clone.sh(STEPS["Review"]).returncode == 1
    assert clone.sh(STEPS["Comment"]).returncode == 0
    (others, first) = clone.posted()
    clone.put(FAILING[1], FAILING[0])
    clone.put(*VALID)
    assert clone.sh(STEPS["Review"]).returncode == 0
    assert clone.sh(STEPS["Comment"]).returncode == 0
    (same, second) = clone.posted()
    assert same == others
    assert (second["id"], first["body"].splitlines()[0]) == (first["id"], second["body"].splitlines()[0])
    assert "Blocked" in first["body"]
    assert "**Passes&#58;" in second["body"]


def test_the_workflow_stops_when_it_cannot_run(clone: Clone) -> None:
    """Without the base the step exits with 2, and no comment is made of nothing."""
    clone.put(*VALID)
    git(clone.folder, "update-ref", "-d", "refs/remotes/origin/main")
    done = clone.sh(STEPS["Review"])
    assert done.returncode == 2
    assert clone.sh(STEPS["Comment"]).returncode == 0
    assert len(clone.posted()) == 1


def test_the_workflow_asks_for_little(clone: Clone) -> None:
    """It may read the files and write the comment, fetches all history, and puts no text into its scripts."""
    assert WORKFLOW["permissions"] == {"contents": "read", "pull-requests": "write"}
    checkout = WORKFLOW["jobs"]["review"]["steps"][0]
    assert checkout["with"] == {"fetch-depth": 0}
    assert set(STEPS) == {"Install", "Review", "Comment"}
    assert all("${{" not in script for script in STEPS.values())


def test_the_page_names_every_form() -> None:
    """The table has each form that the command has, and the page its length."""
    assert set(re.findall(r"^\| `--output (\w+)`", PAGE, flags=re.MULTILINE)) == set(OUTPUTS)
    assert f"{MOST_BYTES:,} bytes".replace(",", " ") in PAGE


def test_the_page_shows_a_verdict_of_today(story: Story) -> None:
    """The verdict on the page is the one that the lowered gauge of the story has."""
    assert f"```\n{reviewed(story, 'gauge-down').verdict}\n```" in PAGE


# --- the hook ---------------------------------------------------------------------------------


def test_the_hook_is_what_the_page_asks_for() -> None:
    """The hook that the page names is there, with the keys that the framework requires."""
    (hook,) = HOOKS
    assert [one["id"] for one in CONFIG["repos"][0]["hooks"]] == [hook["id"]]
    assert set(hook) >= {"id", "name", "entry", "language", "files"}
    assert (hook["entry"], hook["language"], hook["require_serial"]) == ("sizebook check", "python", True)


def test_the_hook_sees_every_file_of_a_book() -> None:
    """All folders and top files of a book fall under the pattern, wherever the book is."""
    pattern = re.compile(HOOKS[0]["files"])
    named = [*TOP_FILES.values(), *(f"{folder}/a.yaml" for folder in FOLDERS.values()), "formats/old/b.yml"]
    for name in named:
        assert pattern.search(name), name
        assert pattern.search(f"plants/north/{name}"), name


@pytest.mark.parametrize(
    "name",
    [
        "README.md",
        "formats.yaml",
        "mkdocs.yml",
        "formats/a.yaml.orig",
        "formats/.a.yaml",
        "xplant.yaml",
        ".ci/a.yml",
    ],
)
def test_the_hook_leaves_other_files_alone(name: str) -> None:
    """Files that are no part of a book do not start the hook."""
    assert not re.search(HOOKS[0]["files"], name)


def test_the_hook_judges_what_it_is_given(clone: Clone) -> None:
    """Given the changed files, as the framework gives them, the hook's command fails for a failing change."""
    entry = f"{HOOKS[0]['entry']} specs/{R330}"
    assert clone.sh(entry).returncode == 0
    clone.put(*FAILING, commit=False)
    assert clone.sh(entry).returncode == 1
    assert clone.sh(f"{HOOKS[0]['entry']} specs/limits.yaml specs/{R330}").returncode == 1
