"""Every key of every kind of file made wrong in every way: a clear finding or a clean pass, nothing besides.

The quick part takes every 97th mutation, the slow part every 16th. `SIZEBOOK_SWEEP=all` takes them all.
"""

from __future__ import annotations

import os
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest

from kb.book.schema import shipped_schemas
from tests.hostile.mutations import Mutation, mutations
from tests.hostile.sweep import Bench, faults_of

SMALL = Path(__file__).parents[1] / "specs_good"
STEP = 97
"""One mutation in so many belongs to the quick part."""

SLOW_STEP = 16
"""The slow part takes one mutation of so many, spread evenly."""

WAIVER = """\
kind: waivers
waivers:
  - check: trim.allowance
    format: tall-330
    reason: Trial of a smaller blank.
    owner: body tooling
    approver: seam quality
    evidence: Trial 31.
    created: "2026-10-01"
    expires: "2027-04-30"
    ceiling: -1 mm
"""

NEVER = frozenset(
    {
        "nothing",
        "a list",
        "a cycle of words",
        "blank text",
        "not a number",
        "infinite",
        "YAML not a number",
        "YAML infinite",
        "wrong dimension",
        "no such unit",
        "limits exchanged",
        "comma",
        "true as text",
        "yes",
        "one",
        "no such word",
        "half",
        "point at the end",
        "decimal whole",
        "exponent",
        "as text",
        "true",
        "long text",
        "control characters",
        "right to left",
        "unknown choice",
        "no plain name",
        "a device",
        "a path",
        "unknown id",
        "id of another kind",
        "far day",
        "past day",
        "day without quotes",
        "code without quotes",
        "impossible code",
        "key doubled",
        "key misspelt",
        "key in capitals",
        "an element that is nothing",
        "one element twice",
        "all elements twice",
        "beyond counting",
    }
)
"""Ways that no key allows."""

POSITIVE = ("zero", "negative")
"""Sizes that no quantity and no count may have, except those below."""

MAY_BE_ZERO = frozenset(
    {
        "nitrogen",
        "web",
        "overhang",
        "carbonation",
        "temperature",
        "warmest",
        "ring_temperature",
        "punch_temperature",
        "gauge_temperature",
        "value",
        "least",
        "most",
        "ceiling",
        "pilot_clearance",
        "decimals",
        "people",
        "earing",
        "one_fitter",
        "arrival",
        "readings",
        "leg_angle",
    }
)

MAY_REPEAT = frozenset({"readings"})
"""Lists in which equal elements are true: two cans of a trial may read the same."""

OF_FORMATS = "standards/"
"""Lists of a body standard are judged with the formats that name it."""


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Bench]:
    """A small book with a file of every kind."""
    root = tmp_path_factory.mktemp("hostile") / "specs"
    shutil.copytree(SMALL, root)
    (root / "waivers.yaml").write_text(WAIVER, encoding="utf-8")
    with pytest.MonkeyPatch.context() as patch:
        yield Bench(root, patch)


@pytest.fixture(scope="module")
def all_of_them(bench: Bench) -> list[Mutation]:
    """Every mutation, in a fixed order."""
    return list(mutations(bench.root))


def wrong(bench: Bench, chosen: list[Mutation]) -> list[str]:
    """What goes wrong: a traceback, a hang, a fault of a finding, or a wrong value that passes."""
    listed = []
    for one in chosen:
        try:
            found = bench.findings(one)
        except Exception as error:
            listed.append(f"{one.ident}: {error!r}")
            continue
        listed += [f"{one.ident}: {fault}" for each in found for fault in faults_of(each, one, bench.texts)]
        if not found and must_not_pass(one):
            listed.append(f"{one.ident}: passes")
    return listed


def must_not_pass(one: Mutation) -> bool:
    """Whether a way of going wrong is a fault of this key."""
    key = one.key.rpartition(".")[2].partition("[")[0]
    if one.way in ("one element twice", "all elements twice"):
        return key not in MAY_REPEAT and not one.file.startswith(OF_FORMATS)
    if one.way in POSITIVE:
        return key not in MAY_BE_ZERO and ("quantity" in one.schema or one.schema.get("minimum", 1) > 0)
    return one.way in NEVER


def test_the_book_itself_is_judged(bench: Bench, all_of_them: list[Mutation]) -> None:
    """Written again without a change, a file gives the findings it gave before."""
    same = [one for one in all_of_them if one.way == "as it is" and one.key == "kind"]
    assert len(same) >= 11
    assert [one.ident for one in same if bench.findings(one)] == []


def test_every_key_of_every_kind_is_reached(bench: Bench, all_of_them: list[Mutation]) -> None:
    """Each key that a schema declares is made wrong, in every file of its kind."""
    kinds = {
        one.text.split("\n", 1)[0].removeprefix("kind: ") for one in all_of_them if one.way == "as it is"
    }
    assert kinds == set(shipped_schemas().kinds)
    reached = {(one.file, one.key) for one in all_of_them}
    assert len(reached) > 390


def test_a_wrong_value_is_found_quick_part(bench: Bench, all_of_them: list[Mutation]) -> None:
    """A part of all mutations, spread evenly: each ends in a clear finding or passes because it may."""
    assert wrong(bench, all_of_them[7::STEP]) == []


@pytest.mark.slow
@pytest.mark.parametrize("part", range(8))
def test_a_wrong_value_is_found(part: int, bench: Bench, all_of_them: list[Mutation]) -> None:
    """Each mutation ends in a clear finding or passes because it may."""
    step = 8 if os.environ.get("SIZEBOOK_SWEEP") == "all" else 8 * SLOW_STEP
    assert wrong(bench, all_of_them[part::step]) == []
