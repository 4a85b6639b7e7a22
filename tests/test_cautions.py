"""Cautions of the demo plant and of the fault guide: what they say must not hurt anybody who follows it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

import pytest

from tests.conftest import yaml_values

ROOT = Path(__file__).parents[1]

MOVING = re.compile(r"\b(running|in-running|run on|turning|turn|spinning|spin|rotating|rolls|drum|spindle)\b")
"""Parts that catch a glove and draw the hand in after it."""

INJURY = re.compile(
    r"crush|cut|burn|scald|injur|amputat|sever|blind|caught|broken|drawn in|death|fatal|fire|explosion|falls"
)
MAIMS = re.compile(r"fatal|death|amputat|sever")

VERBS = frozenset(
    re.findall(
        r"\w+",
        """Check Chock Clean Close Cool Cover Cut Drain Get Handle Isolate Keep Let Lift Never Open Polish
        Pull Release Run Section Stop Tear Test Thread Use Vent Wash Wear Work""",
    )
)
"""Verbs with which an avoidance begins; `Never` stands before one."""

BANNED = re.compile(
    r"\b(tells?|told|stands|whose word|anew|mends?|cures?|reckon(s|ed)?|bears?|lies?|as a rule"
    r"|nothing else|what is so|the house|asked for|hangs on|sound|let off|leave to)\b"
    r"|\b(knives|heads|wheels?|tools?|machines?|line|it|they|which|that) stand\b",
    re.IGNORECASE,
)


class Warned(NamedTuple):
    """A caution in its parts; the fault guide gives no signal word."""

    where: str
    signal: str
    hazard: str
    consequence: str
    avoid: str


def _records(name: str) -> dict[str, list[dict[str, object]]]:
    found: dict[str, list[dict[str, object]]] = yaml_values(ROOT / name)
    return found


def _given(where: str, one: dict[str, str]) -> Warned:
    return Warned(where, one["signal"], one["hazard"], one["consequence"], one["avoid"])


def _graded() -> Iterator[Warned]:
    for machine in _records("specs/floor.yaml")["machines"]:
        for one in machine["cautions"]:  # type: ignore[attr-defined]
            yield _given(f"floor.yaml, {machine['machine']}", one)
    for step in _records("specs/changeover.yaml")["steps"]:
        if "caution" in step:
            yield _given(f"changeover.yaml, {step['id']}", step["caution"])  # type: ignore[arg-type]


GUIDE = {
    str(one["id"]): str(one["caution"]) for one in _records("site/faults.yaml")["faults"] if "caution" in one
}


def _guide() -> Iterator[Warned]:
    for ident, text in GUIDE.items():
        parts = re.fullmatch(r"([^:.]+): ([^.]+)\. (.+)\.", text)
        if parts:
            yield Warned(f"faults.yaml, {ident}", "", *parts.groups())


GRADED = list(_graded())
EVERY = [*GRADED, *_guide()]


def test_every_caution_of_the_fault_guide_has_three_parts() -> None:
    """Each reads hazard, colon, consequence, full stop, avoidance."""
    assert len(EVERY) - len(GRADED) == len(GUIDE)


@pytest.mark.parametrize("one", EVERY, ids=lambda one: f"{one.where}, {one.hazard}")
def test_no_glove_near_what_turns(one: Warned) -> None:
    """Gloves are never the answer to running knives, rolls or spindles; elsewhere isolation comes first."""
    if "glove" not in one.avoid.lower():
        return
    hazard, avoid = one.hazard.lower(), one.avoid.lower()
    assert not MOVING.search(hazard)
    assert re.search(r"isolate|away from running machines|stopped blanks|vented cans", avoid)
    if re.search(r"knives|knife|moves|tooling", hazard):
        assert "isolate" in avoid.split("glove")[0]


@pytest.mark.parametrize("one", EVERY, ids=lambda one: f"{one.where}, {one.hazard}")
def test_the_avoidance_is_an_instruction(one: Warned) -> None:
    """It begins with a verb in the imperative, and hazard and consequence are not empty."""
    assert one.hazard
    assert one.consequence
    assert one.avoid.split()[0].capitalize() in VERBS


@pytest.mark.parametrize("one", EVERY, ids=lambda one: f"{one.where}, {one.hazard}")
def test_moving_parts_are_stopped_before_hands_go_in(one: Warned) -> None:
    """What turns, runs or moves is answered by keeping out or isolating, not by protection alone."""
    if MOVING.search(one.hazard.lower()) or "move" in one.hazard.lower():
        assert re.search(
            r"\b(isolat|keep|get every hand out|guards closed|out of the press|block)", one.avoid.lower()
        )


@pytest.mark.parametrize("one", GRADED, ids=lambda one: f"{one.where}, {one.hazard}")
def test_the_signal_word_fits_the_consequence(one: Warned) -> None:
    """DANGER kills or takes a limb, NOTICE injures nobody, every other word names an injury.

    Source:
        The four grades of the common standard for product safety labels; from memory.
    """
    assert bool(INJURY.search(one.consequence)) == (one.signal != "NOTICE")
    if one.signal == "DANGER":
        assert MAIMS.search(one.consequence)
    if one.signal == "CAUTION":
        assert not MAIMS.search(one.consequence)


@pytest.mark.parametrize("one", GRADED, ids=lambda one: f"{one.where}, {one.hazard}")
def test_a_caution_defers(one: Warned) -> None:
    """Whoever can be hurt is sent to manual or site rules, and the work to authorised people."""
    if one.signal != "NOTICE":
        assert re.search(r"maker's manual|site's", one.avoid)
        assert "authorised people" in one.avoid


def _texts() -> Iterator[tuple[str, str]]:
    library = _records("specs/changeover.yaml")
    for step in library["steps"]:
        yield f"step {step['id']}", str(step["text"])
    for key in ("restart", "back_out"):
        for i, text in enumerate(library[key]):
            yield f"{key} {i + 1}", str(text)
    for one in EVERY:
        yield one.where, f"{one.hazard}. {one.consequence}. {one.avoid}"


@pytest.mark.parametrize(("where", "text"), list(_texts()))
def test_steps_and_cautions_are_plain(where: str, text: str) -> None:
    """No word occurs that the product's language bans."""
    found = BANNED.search(text)
    assert found is None, f"{where}: {found}"


@pytest.mark.parametrize(
    "step",
    [one for one in _records("specs/changeover.yaml")["steps"] if one["phase"] == "isolate"],
    ids=lambda step: str(step["id"]),
)
def test_a_machine_is_isolated_and_verified(step: dict[str, object]) -> None:
    """Each isolation names the site procedure and ends with a verification."""
    text = str(step["text"])
    assert "site procedure" in text
    assert "Verify" in text


@pytest.mark.parametrize(
    "step",
    [one for one in _records("specs/changeover.yaml")["steps"] if one["phase"] == "release"],
    ids=lambda step: str(step["id"]),
)
def test_locks_are_removed_by_the_site_procedure(step: dict[str, object]) -> None:
    """Nobody takes a lock off as a matter of course."""
    before, locks, _ = str(step["text"]).partition("Remove locks by the site procedure")
    assert locks
    assert re.search(r"Close (each guard|the covers|the hood)", before), (
        "a guard is closed before its lock is off"
    )
