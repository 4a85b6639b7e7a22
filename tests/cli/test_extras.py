"""The core runs without the optional parts; a command that needs one names it in one line."""

from __future__ import annotations

import re
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import kb
from kb.cli import main
from kb.errors import PACKAGES, MissingExtra, require
from kb.process.meridian import LineSegment, Meridian
from kb.process.shell import Metal, pressure_curve
from tests.cli.situations import words

HOUSE = Path(__file__).resolve().parents[2]
PROJECT = tomllib.loads((HOUSE / "pyproject.toml").read_text(encoding="utf-8"))["project"]
CORE = {"click", "jsonschema", "numpy", "pint", "pyyaml"}

MODULES = sorted({module for packages in PACKAGES.values() for module in packages})
"""Every module that the core does without."""

OF_PINT = {"platformdirs"}
"""A module of an extra that pint, of the core, needs as well."""

HIDING = (
    "import sys\nhidden, words = sys.argv[1].split(','), sys.argv[2:]\n"
    "sys.modules.update(dict.fromkeys(hidden))\nsys.argv[1:] = words\n"
    "from kb.__main__ import main\nmain()\n"
)
"""Run a command where some modules cannot be imported."""

WITHOUT = (
    words("check"),
    words("route"),
    words("explain"),
    ["review", "before"],
    words("new"),
    words("rename"),
    words("limits"),
    words("import"),
    words("export"),
    words("drawing"),
    ["sheet", "--record"],
    [*words("sheet"), "--output", "json"],
    ["review", "--code-owners", "--book", "specs"],
)
"""What the core does."""

NEEDS = (
    ("cad", [*words("drawing"), "--dxf"]),
    ("sheet", words("sheet")),
    ("sheet", [*words("sheet"), "--html"]),
    ("sheet", ["sheet", "--codes", "--line", "heron"]),
    ("schedule", words("changeover")),
    ("schedule", [*words("changeover"), "--output", "json"]),
    ("schedule", ["changeover", "--matrix", "--line", "heron"]),
    ("sheet", [*words("changeover"), "--pdf"]),
    ("sheet", [*words("changeover"), "--html"]),
    ("sheet", [*words("changeover"), "--cards"]),
    ("schedule", words("week")),
    ("strength", words("calibrate")),
    ("design", words("design")),
    ("design", words("lightweight")),
    ("publish", words("publish")),
    ("table", ["export", "--xlsx", "--to", "sizes.xlsx"]),
)
"""What needs an optional part, and which."""


def hiding(modules: list[str], command: list[str]) -> subprocess.CompletedProcess[str]:
    """Run a command in a process of its own in which modules are hidden."""
    return subprocess.run(
        [sys.executable, "-c", HIDING, ",".join(modules), *command],
        capture_output=True,
        text=True,
        encoding="utf-8",
        check=False,
    )


def test_every_command_is_tried() -> None:
    """Each command is run without the optional parts, or names the one that it needs."""
    assert {command[0] for command in WITHOUT} | {command[0] for _, command in NEEDS} == set(main.commands)
    assert {extra for extra, _ in NEEDS} == set(PACKAGES)


@pytest.mark.parametrize("command", WITHOUT, ids=" ".join)
def test_the_core_needs_no_extra(command: list[str], place: Path) -> None:
    """A command of the core ends as usual where no optional package can be imported."""
    done = hiding([one for one in MODULES if one not in OF_PINT], command)
    assert done.returncode in {0, 1}, done.stderr
    assert "sizebook[" not in done.stderr
    assert "bug" not in done.stderr
    assert done.stdout or done.stderr.startswith("nothing ")


@pytest.mark.parametrize(("extra", "command"), NEEDS, ids=lambda one: one if isinstance(one, str) else None)
def test_a_missing_extra_is_named(extra: str, command: list[str], place: Path) -> None:
    """A command whose optional part is missing names it in one line, ends with 2 and writes nothing."""
    before = sorted(place.rglob("*"))
    own = [one for one in PACKAGES[extra] if extra != "publish" or one in {"mkdocs", "material", "filelock"}]  # type: ignore[index]
    for module in own:
        done = hiding([module], command)
        assert (done.returncode, done.stdout) == (2, ""), done.stderr
        assert done.stderr.count("\n") == 1
        assert re.search(rf"needs sizebook\[{extra}\] \(.+ not installed\); install it: pip", done.stderr)
        assert sorted(place.rglob("*")) == before


@pytest.mark.parametrize("extra", PACKAGES)
@pytest.mark.parametrize("module", MODULES)
def test_each_package_is_required(extra: str, module: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """An optional part is missing if one package of it is, and that one is named; no other matters."""
    monkeypatch.setitem(sys.modules, module, None)  # type: ignore[arg-type]
    package = PACKAGES[extra].get(module)  # type: ignore[index]
    if package is None:
        require(extra, "this")  # type: ignore[arg-type]
        return
    with pytest.raises(MissingExtra, match=rf"^this needs sizebook\[{extra}\] \({package} not installed\)"):
        require(extra, "this")  # type: ignore[arg-type]


@pytest.mark.slow
def test_a_review_without_plans_says_so(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the solver a review has no changeover times, and says which optional part brings them."""
    file = place / "specs/formats/b211-330.yaml"
    text = file.read_text(encoding="utf-8")
    file.write_text(text.replace("bore: 66.255 ±0.001 mm", "bore: 66.256 ±0.001 mm"), encoding="utf-8")
    with_plans = kb.review("before", "specs")
    monkeypatch.setitem(sys.modules, "ortools", None)  # type: ignore[arg-type]
    without = kb.review("before", "specs")
    assert not any("sizebook[schedule]" in one for one in with_plans.not_judged)
    assert any("sizebook[schedule]" in one for one in without.not_judged)
    assert without.outcome == with_plans.outcome


def test_the_program_from_python_names_it_too(place: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A function of the interface raises MissingExtra before it does any work."""
    book = kb.load("specs")
    monkeypatch.setitem(sys.modules, "ortools", None)  # type: ignore[arg-type]
    with pytest.raises(kb.MissingExtra, match=r"sizebook\[schedule\]"):
        kb.plan_changeover(book, "b211-330", "b211-330-beacon", "heron")
    with pytest.raises(kb.MissingExtra, match=r"sizebook\[publish\]"):
        kb.publish(book, "site")
    assert not (place / "site").exists()


def test_the_shell_names_its_part(monkeypatch: pytest.MonkeyPatch) -> None:
    """The strength of a profile needs SciPy, and says so before it does any work."""
    monkeypatch.setitem(sys.modules, "scipy", None)  # type: ignore[arg-type]
    plate = Meridian((LineSegment(0.0, 0.0, 10.0, 0.0, 0.2, 0.2),))
    with pytest.raises(MissingExtra, match=r"^the strength of a profile needs sizebook\[strength\] \(scipy "):
        pressure_curve(plate, Metal(modulus=70_000.0, poisson=0.3))


# --- pyproject.toml ---------------------------------------------------------------------------


def packages(extra: str) -> set[str]:
    """Names of the packages that an extra brings, with those of the extras in it."""
    found: set[str] = set()
    for one in PROJECT["optional-dependencies"][extra]:
        name, inner = re.fullmatch(r"([\w.-]+)(?:\[([\w,]+)\])?[^\[]*", one).groups()  # type: ignore[union-attr]
        found |= set().union(*map(packages, inner.split(","))) if inner else {name}
    return found


def test_the_table_is_that_of_the_project() -> None:
    """The table of the optional parts names the packages that pyproject.toml installs for them."""
    assert {one: set(named.values()) for one, named in PACKAGES.items()} == {
        one: packages(one) for one in PACKAGES
    }


def test_the_core_is_five_packages() -> None:
    """The core depends on five packages, `all` on those of every part, and `dev` contains `all`."""
    names = {re.split(r"[<>=]", one)[0] for one in PROJECT["dependencies"]}
    assert names == CORE
    assert packages("all") == set().union(*map(packages, PACKAGES))
    assert packages("all") < packages("dev")
    assert set(PROJECT["optional-dependencies"]) == {*PACKAGES, "all", "dev"}
