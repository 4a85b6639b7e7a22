"""The command line: what it prints, where, and with which exit code."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Callable, Sequence
from pathlib import Path
from xml.etree import ElementTree

import pytest
from click.testing import CliRunner, Result

from kb.checks.catalog import RULES
from kb.cli import main

MakeBook = Callable[..., Path]
DAY = "2026-11-02"
PROGRAM = (sys.executable, "-m", "kb.cli")


@pytest.fixture
def book(make_book: MakeBook, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A valid book of two formats in `specs` below the current folder."""
    root = make_book(["b211-330", "b204-355"])
    monkeypatch.chdir(tmp_path)
    return root


def small_blank(book: Path) -> None:
    """Make a format fail: too small a blank to trim."""
    file = book / "formats/b211-330.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(re.sub(r"(blank:\n  diameter: )[0-9.]+", r"\g<1>134.00", text), encoding="utf-8")


def no_room(book: Path) -> None:
    """Make a format's geometry not close: a blank hardly wider than the cup punch."""
    file = book / "formats/b211-330.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(re.sub(r"(blank:\n  diameter: )[0-9.]+", r"\g<1>92.00", text), encoding="utf-8")


def run(*words: str) -> Result:
    """Run the command line in this process."""
    return CliRunner().invoke(main, list(words))


def run_alone(words: Sequence[str], cwd: Path, **environment: str) -> subprocess.CompletedProcess[bytes]:
    """Run the command line as its own process."""
    return subprocess.run(
        [*PROGRAM, *words], cwd=cwd, env={**os.environ, **environment}, capture_output=True, check=False
    )


# --- the frame ---


def test_help_comes_without_slow_imports() -> None:
    """Help loads no library that is slow to load."""
    script = (
        "import sys\nfrom kb.cli import main\n"
        "try:\n    main(sys.argv[1:])\nexcept SystemExit:\n    pass\n"
        "slow = {'numpy', 'pint', 'jsonschema', 'rich', 'yaml', 'kb.checks', 'kb.route'}\n"
        "print(sorted(set(sys.modules) & slow))\n"
    )
    for words in (["--help"], ["check", "--help"], ["route", "--help"]):
        done = subprocess.run(
            [sys.executable, "-c", script, *words], capture_output=True, text=True, check=True
        )
        assert done.stdout.startswith("Usage: sizebook")
        assert done.stdout.rstrip().split("\n")[-1] == "[]"


def test_every_command_has_an_example() -> None:
    """Each command's help shows one example that begins with the command."""
    assert len(main.commands) >= 4
    for name in main.commands:
        assert f"Example: sizebook {name}" in run(name, "--help").output
    assert "Commands:" in run().output


def test_version() -> None:
    """The version is one line."""
    result = run("--version")
    assert re.fullmatch(r"sizebook \d+\.\d+\.\d+\n", result.output)
    assert result.exit_code == 0


@pytest.mark.parametrize(
    "words",
    [
        ["frobnicate"],
        ["--frobnicate"],
        ["check", "--frobnicate"],
        ["check", "nowhere"],
        ["check", "--output", "pdf"],
        ["check", "--as-of", "yesterday"],
        ["check", "--as-of", "20261102"],
        ["check", "."],
        ["explain", "ironing.nonsense"],
        ["explain", "\x1b[31m\n"],
        ["route"],
        ["route", "nonsense"],
        ["route", "x", "--scatter", "1"],
        ["new"],
    ],
)
def test_cannot_run_is_one_line_and_two(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What cannot be run exits with 2 and one plain line on standard error."""
    monkeypatch.chdir(tmp_path)
    result = run(*words)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert re.fullmatch(r"sizebook: \S.*\n", result.stderr)
    assert result.stderr[:-1].isprintable()


def test_stopped_by_the_reader(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C exits with 130 and one line."""

    def stop(_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("kb.book.selection.books", stop)
    result = run("check")
    assert (result.exit_code, result.stderr) == (130, "sizebook: stopped\n")


# --- check ---


def test_clean_book_leaves_with_zero(book: Path) -> None:
    """A valid book exits with 0; its waived finding is shown and does not count."""
    result = run("check", "--as-of", DAY, "--severity", "note")
    assert result.exit_code == 0
    assert "2 formats, " in result.output
    assert "; 1 waived\nall checks ran\n" in result.output


def test_findings_leave_with_one(book: Path) -> None:
    """A book with an error exits with 1 and shows it at its place below the current folder."""
    small_blank(book)
    result = run("check", "specs", "--as-of", DAY)
    assert result.exit_code == 1
    assert re.search(
        r"(?m)^specs/formats/b211-330\.yaml:\d+:\d+: error: .* \[trim\.allowance\]$", result.output
    )


def test_only_the_format_required_is_judged(book: Path) -> None:
    """A format given by its file is judged alone, even if another format has faults."""
    small_blank(book)
    result = run("check", "specs/formats/b204-355.yaml", "--as-of", DAY)
    assert result.exit_code == 0
    assert result.output.count("1 format, ") == 1


def test_severity_decides_the_exit_code(book: Path) -> None:
    """Warnings exit with 0 by default and with 1 if required."""
    file = book / "formats/b211-330.yaml"
    small_blank(book)
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("status: released", "status: draft"), encoding="utf-8")
    assert run("check", "--as-of", DAY).exit_code == 0
    assert run("check", "--as-of", DAY, "--severity", "warning").exit_code == 1


def test_day_decides_on_waivers(book: Path) -> None:
    """After a waiver's end its finding counts again."""
    assert run("check", "--as-of", DAY).exit_code == 0
    late = run("check", "--as-of", "2030-01-01")
    assert late.exit_code == 1
    assert "[waiver.lapsed]" in late.output


def test_book_elsewhere_is_shown_in_full(book: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A book that is not below the current folder is shown with its full path."""
    small_blank(book)
    (tmp_path / "aside").mkdir()
    monkeypatch.chdir(tmp_path / "aside")
    result = run("check", "../specs", "--as-of", DAY)
    assert f"{book.as_posix()}/formats/b211-330.yaml:" in result.output


@pytest.mark.slow
def test_every_output_shows_the_same_findings(book: Path) -> None:
    """Each form of the report can be read back and holds the failed check."""
    small_blank(book)
    listed = {
        form: run("check", "--as-of", DAY, "--output", form)
        for form in ("json", "sarif", "markdown", "junit")
    }
    assert {result.exit_code for result in listed.values()} == {1}
    (one,) = json.loads(listed["json"].stdout)["books"]
    assert "trim.allowance" in {finding["name"] for finding in one["findings"]}
    (log,) = json.loads(listed["sarif"].stdout)["runs"]
    assert "trim.allowance" in {result["ruleId"] for result in log["results"]}
    assert "trim.allowance" in listed["markdown"].stdout
    top = ElementTree.fromstring(listed["junit"].stdout.encode())
    assert "trim.allowance" in {one.get("type") for one in top.findall("testsuite/testcase/failure")}


def test_report_goes_into_a_file(book: Path, tmp_path: Path) -> None:
    """With --to the report is in the file, and a summary on standard error."""
    result = run("check", "--as-of", DAY, "--output", "json", "--to", "out.json")
    assert (result.exit_code, result.stdout) == (0, "")
    assert result.stderr.startswith("out.json written: 2 formats, ")
    assert (tmp_path / "out.json").read_text(encoding="utf-8") == run(
        "check", "--as-of", DAY, "--output", "json"
    ).stdout


@pytest.mark.parametrize("target", ["no/such/folder/out", "specs"])
def test_file_that_cannot_be_written(book: Path, target: str) -> None:
    """A file that cannot be written is said in one line, with 2."""
    result = run("check", "--as-of", DAY, "--to", target)
    assert result.exit_code == 2
    assert re.fullmatch(rf"sizebook: {target} cannot be written: .+\n", result.stderr)


def test_same_input_same_bytes(book: Path, tmp_path: Path) -> None:
    """Two processes write the same bytes, with any order of hashing."""
    small_blank(book)
    for form in ("text", "json", "sarif", "markdown", "junit"):
        words = ["check", "--as-of", DAY, "--output", form]
        first, second = (run_alone(words, tmp_path, PYTHONHASHSEED=seed) for seed in ("1", "2"))
        assert first.stdout == second.stdout
        assert first.stdout
        assert first.stderr == b""


def test_colours_are_for_terminals(book: Path, tmp_path: Path) -> None:
    """A pipe gets no colours unless an option sets them, and NO_COLOR is heard."""
    small_blank(book)
    plain = {name: value for name, value in os.environ.items() if name not in {"NO_COLOR", "FORCE_COLOR"}}
    words = [*PROGRAM, "check", "--as-of", DAY]

    def coloured(more: Sequence[str] = (), **environment: str) -> bool:
        done = subprocess.run(
            [*words, *more], cwd=tmp_path, env=plain | environment, capture_output=True, check=False
        )
        return b"\x1b[" in done.stdout

    assert not coloured()
    assert coloured(FORCE_COLOR="1")
    assert not coloured(FORCE_COLOR="1", NO_COLOR="1")
    assert coloured(["--color"], NO_COLOR="1")
    assert not coloured(["--no-color"], FORCE_COLOR="1")


@pytest.mark.slow
def test_terminal_gets_colours(book: Path, tmp_path: Path) -> None:
    """A terminal gets colours, unless it says that it is a dumb one."""
    pty = pytest.importorskip("pty", reason="this system has no pseudo-terminals")
    plain = {name: value for name, value in os.environ.items() if name not in {"NO_COLOR", "FORCE_COLOR"}}
    for term, coloured in (("xterm", True), ("dumb", False)):
        primary, terminal = pty.openpty()
        words = [*PROGRAM, "check", "--as-of", DAY]
        subprocess.run(words, cwd=tmp_path, env={**plain, "TERM": term}, stdout=terminal, check=True)
        os.close(terminal)
        seen = os.read(primary, 100_000)
        os.close(primary)
        assert b"redraw.draw-ratio" in seen
        assert (b"\x1b[" in seen) is coloured


@pytest.mark.slow
def test_closed_pipe_is_no_fault(book: Path, tmp_path: Path) -> None:
    """A reader that closes the pipe early gets no traceback, and the exit code is the check's own."""
    small_blank(book)
    for words, code in ((["check", "--as-of", DAY], 1), (["explain"], 0), (["route", "b204-355"], 0)):
        reading, writing = os.pipe()
        os.close(reading)
        done = subprocess.run(
            [*PROGRAM, *words], cwd=tmp_path, stdout=writing, stderr=subprocess.PIPE, check=False
        )
        os.close(writing)
        assert (done.returncode, done.stderr) == (code, b"")


@pytest.mark.slow
@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this system has no device that is always full")
def test_full_disk_is_one_line(book: Path, tmp_path: Path) -> None:
    """A report that finds no room says so in one line, with 2."""
    for words in (["check", "--as-of", DAY], ["--help"]):
        with open("/dev/full", "wb") as full:
            done = subprocess.run(
                [*PROGRAM, *words], cwd=tmp_path, stdout=full, stderr=subprocess.PIPE, check=False
            )
        assert done.returncode == 2
        assert re.fullmatch(rb"sizebook: [^\n]+\n", done.stderr)


@pytest.mark.slow
def test_terminal_without_utf8(book: Path, tmp_path: Path) -> None:
    """Where the terminal speaks ASCII only, signs are spelled out; what programs read stays UTF-8."""
    small_blank(book)
    ascii_only = {"PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"}
    text = run_alone(["route", "b204-355"], tmp_path, **ascii_only)
    assert text.returncode == 0
    assert text.stdout.isascii()
    assert b">= " in text.stdout
    record = run_alone(["check", "--as-of", DAY, "--output", "json"], tmp_path, **ascii_only)
    assert json.loads(record.stdout.decode("utf-8"))["schema"] == "sizebook-check/3"


@pytest.mark.slow
def test_progress_is_for_terminals(book: Path, tmp_path: Path) -> None:
    """How far the check has come is shown on a terminal only, and not in the report."""
    pty = pytest.importorskip("pty", reason="this system has no pseudo-terminals")
    script = "import kb.cli\nimport kb.cli.common\nkb.cli.common.MANY_FORMATS = 1\nkb.cli.main()\n"
    words = [sys.executable, "-c", script, "check", "--as-of", DAY]
    primary, terminal = pty.openpty()
    shown = subprocess.run(words, cwd=tmp_path, stdout=subprocess.PIPE, stderr=terminal, check=False)
    os.close(terminal)
    seen = os.read(primary, 100_000)
    os.close(primary)
    assert b"checking formats" in seen
    piped = subprocess.run(words, cwd=tmp_path, capture_output=True, check=False)
    assert piped.stderr == b""
    assert shown.stdout == piped.stdout


def test_unread_formats_make_nothing_unused(book: Path) -> None:
    """A line that only another format uses is not called unused when one format is selected."""
    result = run("check", "specs/formats/b211-330.yaml", "--as-of", DAY, "--severity", "note")
    assert result.exit_code == 0
    assert "0 errors, 0 warnings, 0 notes" in result.output


# --- explain ---


def test_explain_lists_all_checks(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a name every check is listed, also where there is no book."""
    monkeypatch.chdir(tmp_path)
    result = run("explain")
    assert result.exit_code == 0
    assert [name for name in RULES if f"  {name} " not in result.output] == []


def test_explain_takes_the_limit_from_the_book_around(book: Path) -> None:
    """A check's limit is reported from the book around the current folder."""
    assert re.search(r"Limit: +at most [\d.]+ %\.", run("explain", "ironing.ring-reduction").output)


def test_explain_takes_the_limit_from_the_book_that_is_named(
    book: Path, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With --book, the limit is that of this book wherever the command runs; a wrong folder is refused."""
    here = run("explain", "ironing.ring-reduction").output
    monkeypatch.chdir(tmp_path_factory.mktemp("elsewhere"))
    assert run("explain", "ironing.ring-reduction").output != here
    assert run("explain", "ironing.ring-reduction", "--book", str(book)).output == here
    refused = run("explain", "ironing.ring-reduction", "--book", "nowhere")
    assert (refused.exit_code, refused.output.count("\n")) == (2, 1)


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("size-format.blank.diameter", "size-format.blank.diameter – blank diameter"),
        ("blank.diameter", "Plausible:"),
        ("ironing.rings[1].bore", "size-format.ironing.rings[].bore"),
        ("gauge", "material.gauge"),
        ("reading.tab", "To fix:"),
        ("die-friction", "plant setting"),
        ("neck", "Keys in it:"),
    ],
)
def test_explain_knows_keys_names_and_settings(
    name: str, words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A key of a spec, a finding's name, a setting and a station are explained."""
    monkeypatch.chdir(tmp_path)
    result = run("explain", name)
    assert result.exit_code == 0
    assert words in result.output


@pytest.mark.parametrize(
    ("name", "meant"),
    [
        ("ironing.ring-reductoin", "ironing.ring-reduction"),
        ("blank.diamter", "blank.diameter"),
        ("waiver.lapse", "waiver.lapsed"),
    ],
)
def test_explain_guesses_what_was_meant(name: str, meant: str) -> None:
    """An unknown name is refused with the one that was probably meant."""
    assert f"did you mean {meant}?" in run("explain", name).stderr


# --- route ---


def test_route_by_id_and_by_file(book: Path) -> None:
    """A format is shown the same by its id, by its file, and from a named book."""
    by_id = run("route", "b211-330")
    assert by_id.exit_code == 0
    assert by_id.output == run("route", "specs/formats/b211-330.yaml").output
    assert by_id.output == run("route", "b211-330", "--book", "specs").output
    assert by_id.output.startswith("b211-330")


def test_route_keeps_its_former_option(book: Path) -> None:
    """`--json` writes what `--output json` writes, and the help no longer shows it."""
    assert run("route", "b211-330", "--json").stdout == run("route", "b211-330", "--output", "json").stdout
    assert "--json" not in run("route", "--help").output


def test_route_scatter_is_seeded(book: Path) -> None:
    """The same seed gives the same cans, another seed others."""
    words = ["route", "b211-330", "--output", "json", "--scatter", "200"]
    first = run(*words, "--seed", "3")
    assert first.exit_code == 0
    assert first.stdout == run(*words, "--seed", "3").stdout
    assert first.stdout != run(*words, "--seed", "4").stdout


def test_route_stopped_by_geometry(book: Path) -> None:
    """A format whose geometry does not close is not shown; the findings that stop it are, with 1."""
    no_room(book)
    result = run("route", "b211-330")
    assert result.exit_code == 1
    assert "[cup.punch-below-blank]" in result.output
    assert "cannot be calculated" in result.output
    record = run("route", "b211-330", "--output", "json")
    assert record.exit_code == 1
    assert "cup.punch-below-blank" in {one["name"] for one in json.loads(record.stdout)["stopped_by"]}


def test_route_stopped_by_a_broken_file(book: Path) -> None:
    """A format whose end is missing, or that cannot be read, is stopped by the finding that says so."""
    (book / "ends/curlew-202.yaml").unlink()
    result = run("route", "b211-330")
    assert result.exit_code == 1
    assert "[book.unknown-id]" in result.output
    (book / "formats/b211-330.yaml").write_text("kind: [", encoding="utf-8")
    result = run("route", "b211-330")
    assert result.exit_code == 1
    assert "[reading.syntax]" in result.output


# --- new ---


def test_new_book_passes_its_check(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A new book is listed, passes its check, and can be routed."""
    monkeypatch.chdir(tmp_path)
    made = run("new", "my-book")
    assert made.exit_code == 0
    assert "my-book/plant.yaml" in made.output
    assert run("check", "my-book", "--severity", "note", "--as-of", DAY).exit_code == 0
    assert run("route", "b211-330", "--book", "my-book").exit_code == 0


def test_new_refuses_a_full_folder(book: Path) -> None:
    """A folder that is not empty is refused in one line, with 2."""
    result = run("new", "specs")
    assert (result.exit_code, result.stderr) == (2, "sizebook: specs is not an empty folder\n")
