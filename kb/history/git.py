"""The one place that runs git: it reads, and nothing that a repository is set to can run a program.

A repository travels with its own configuration, and many of its keys name programs. Four measures keep them
from running: only commands are used that read objects and refs (`rev-parse`, `rev-list`, `merge-base`,
`cat-file`, `ls-tree`, `diff-tree`, `config`), keys that name programs are overridden, nothing is fetched,
and no variable of the environment passes that names a program or a file to write.

The reader's own settings are still read: `safe.directory` there decides which repositories of other users
git may open.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Mapping
from pathlib import Path

from kb.book.finding import one_line
from kb.errors import SizebookError

NO_GIT = "git is not installed; give two folders to compare"

_OVERRIDDEN = {
    "core.alternateRefsCommand": "",
    "core.askPass": "",
    "core.editor": "false",
    "core.fsmonitor": "false",
    "core.gitProxy": "none",
    "core.hooksPath": os.devnull,
    "core.pager": "cat",
    "core.sshCommand": "false",
    "credential.helper": "",
    "diff.external": "",
    "gpg.program": "false",
    "gpg.ssh.program": "false",
    "gpg.x509.program": "false",
    "log.showSignature": "false",
    "protocol.allow": "never",
    "uploadpack.packObjectsHook": "",
}
"""Keys that name programs, with a value that names none. Keys with a name of their own in the middle
(`filter.*`, `diff.*`, `remote.*`) cannot be overridden; no command that is used here reads them."""

_ENVIRONMENT = {
    "GIT_ALLOW_PROTOCOL": "none",
    "GIT_ASKPASS": "",
    "GIT_ATTR_NOSYSTEM": "1",
    "GIT_LITERAL_PATHSPECS": "1",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_PAGER": "cat",
    "GIT_TERMINAL_PROMPT": "0",
    "LC_ALL": "C",
}
"""Nothing is asked, fetched, paged or written while git reads, and its messages are in English."""

_PASSED = (
    "GIT_ALTERNATE_OBJECT_DIRECTORIES",
    "GIT_CEILING_DIRECTORIES",
    "GIT_COMMON_DIR",
    "GIT_CONFIG_",
    "GIT_DIR",
    "GIT_DISCOVERY_ACROSS_FILESYSTEM",
    "GIT_NAMESPACE",
    "GIT_OBJECT_DIRECTORY",
    "GIT_QUARANTINE_PATH",
    "GIT_WORK_TREE",
)
"""Variables of git that say where the repository is and whose configuration is read."""


class CannotRead(SizebookError):  # noqa: N818 - reported to the reader in one line
    """A version cannot be read."""


def run(folder: Path, *words: str, given: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
    """Run a command of git that reads.

    Args:
        folder: a folder in the repository
        words: the command and its options
        given: what it reads from standard input

    Returns:
        The finished process, with what it wrote.

    Raises:
        CannotRead: if git is not installed.
    """
    settings = [word for key, value in _OVERRIDDEN.items() for word in ("-c", f"{key}={value}")]
    try:
        return subprocess.run(
            ["git", "--no-pager", *settings, "-C", str(folder), *words],
            input=given,
            stdin=None if given is not None else subprocess.DEVNULL,
            capture_output=True,
            check=False,
            env=_environment(os.environ),
        )
    except FileNotFoundError as error:
        raise CannotRead(NO_GIT) from error


def _environment(own: Mapping[str, str]) -> dict[str, str]:
    passed = {
        name: value for name, value in own.items() if not name.startswith("GIT_") or name.startswith(_PASSED)
    }
    return {**passed, **_ENVIRONMENT}


def reason(done: subprocess.CompletedProcess[bytes]) -> str:
    """Why git refused, in one line; of a repository that another user owns also what to do."""
    lines = os.fsdecode(done.stderr).strip().splitlines() or ["git gives no reason"]
    first = next((one for one in lines if one.startswith("fatal: ")), lines[0])
    first = first.removeprefix("fatal: ").removeprefix("error: ")
    _, dubious, place = first.partition("dubious ownership in repository at ")
    if dubious:
        where = place.strip("'")
        first = (
            f"another user owns the repository {where}, so git does not read it; if you trust it, run "
            f"`git config --global --add safe.directory {where}`"
        )
    return one_line(first)
