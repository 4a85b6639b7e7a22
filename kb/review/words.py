"""Words that the faces of a review share."""

from __future__ import annotations

import os
from collections.abc import Iterator, Sequence

from kb.book.finding import one_line
from kb.changeover.times import minutes
from kb.checks.words import number, plural
from kb.review.model import ChangedFile, CheckMoved, FormerPart, LineTouched, PairMoved, Review

MOST_ALIKE = 3
"""Files of which the same is to be told that are told one by one; more are told as one."""

MOST_NAMES = 6

FORMER: dict[FormerPart, str] = {
    "limit": "the former limit",
    "setting": "the former setting",
    "target": "the former target",
    "material": "the former metal",
    "end": "the former end",
    "plant": "the former numbers of the plant",
    "line": "the former ranges of the line",
}
"""What a value is checked against, as it was."""


def some(names: Sequence[str], most: int = MOST_NAMES) -> str:
    """Names, the first few of many.

    Example:
        >>> some(["a", "b", "c"], most=2)
        'a, b, 1 more'
    """
    more = len(names) - most
    return ", ".join([*names[:most], *([f"{more} more"] if more > 0 else [])])


def folder_of(files: Sequence[str]) -> str:
    """The nearest folder that has all of some files.

    Example:
        >>> folder_of(["specs/ends/a.yaml", "specs/plant.yaml"])
        'specs'
    """
    return os.path.commonpath([os.path.dirname(file) for file in files]) or "."


def signed(value: float) -> str:
    """A number with its sign."""
    return f"{'+' if value > 0 else ''}{number(value, figures=3)}"


# --- files ------------------------------------------------------------------------------------


def together(files: Sequence[ChangedFile]) -> Iterator[ChangedFile | str]:
    """Files one by one; many without values, of which the same is told, in one line where the first stood."""
    groups: dict[object, list[ChangedFile]] = {}
    for one in files:
        groups.setdefault(_alike(one), []).append(one)
    for one in files:
        group = groups[_alike(one)]
        if len(group) <= MOST_ALIKE:
            yield one
        elif one is group[0]:
            yield _as_one(group)


def _alike(one: ChangedFile) -> object:
    """What two files have in common that are told as one; nothing where one has values to tell."""
    if one.changes or one.rewritten or one.was:
        return one.file
    return one.kind, one.states, one.unmeaning


def _as_one(group: Sequence[ChangedFile]) -> str:
    one = group[0]
    what = "files with errors" if not one.kind else f"files of kind {one.kind}"
    phrase = ", ".join([*one.states, *one.unmeaning])
    names = [each.id for each in group] if one.kind else []
    said = f"{len(group)} {what} under {one_line(folder_of([each.file for each in group]))}: {phrase}"
    return f"{said}: {some(names)}" if names else said


# --- checks -----------------------------------------------------------------------------------


def worst_first(checks: Sequence[CheckMoved]) -> Iterator[tuple[CheckMoved, str]]:
    """Findings one by one; many of one check that moved alike as the worst of them, and what the others are.

    Args:
        checks: findings that moved, in the order of telling

    Yields:
        A finding each, and of how many it is the worst, "" where it stands for itself.
    """
    groups: dict[tuple[str, str, str], list[CheckMoved]] = {}
    for one in checks:
        groups.setdefault((one.state, one.finding.severity, one.finding.name), []).append(one)
    for group in groups.values():
        if len(group) <= MOST_ALIKE:
            yield from ((one, "") for one in group)
        else:
            yield min(group, key=_margin), f"the worst of {len(group)}: {some(_subjects(group))}"


def _margin(one: CheckMoved) -> float:
    measure = one.finding.measure
    return 0.0 if measure is None or measure.margin is None else measure.margin


def _subjects(group: Sequence[CheckMoved]) -> list[str]:
    """What the findings are of, those of one format or file counted together."""
    counts: dict[str, int] = {}
    for one in group:
        name = one.finding.subject or one.finding.place.file
        counts[name] = counts.get(name, 0) + 1
    return [name if count == 1 else f"{name} ({count})" for name, count in counts.items()]


def former_words(review: Review) -> Iterator[str]:
    """Values that pass now and fail at former numbers, a line each."""
    for one in review.former:
        because = " and ".join(FORMER[part] for part in one.because)
        yield f"{one.format}: {one.what} {one.value}; {one.limit}, at {because} [{one.check}]"


# --- changeovers ------------------------------------------------------------------------------


def line_words(line: LineTouched) -> str:
    """How many changeovers of a line are not as they were."""
    if not line.moved:
        return f"line {line.id}: {plural(line.compared, 'changeover')} as before"
    return f"line {line.id}: {len(line.moved)} of {plural(line.compared, 'changeover')} changed"


def pair_words(moved: Sequence[PairMoved], most: int) -> Iterator[tuple[str, str, str]]:
    """Changeovers that moved, those that moved alike as one; what is left over is counted.

    Args:
        moved: the changeovers, in the order of telling
        most: how many lines there is room for

    Yields:
        The formats, class and stop before, and now; a class that stays is told once.
    """
    groups: dict[tuple[str, str], list[PairMoved]] = {}
    for one in moved:
        groups.setdefault(_before_after(one), []).append(one)
    phrase = list(groups.items())
    for (before, after), pairs in phrase[:most]:
        more = f" (and {len(pairs) - 1} more)" if len(pairs) > 1 else ""
        yield f"{pairs[0].old} → {pairs[0].new}{more}", before, after
    left = sum(len(pairs) for _, pairs in phrase[most:])
    if left:
        yield f"{left} more", "", ""


def _before_after(one: PairMoved) -> tuple[str, str]:
    kind = one.kind_after if one.kind_after != one.kind_before else ""
    why = f" ({one.why})" if one.why else ""
    before = _stop(one.kind_before, one.before, one.proven_before)
    return before, f"{_stop(kind, one.after, one.proven_after)}{why}"


def _stop(kind: str, length: float | None, proven: bool) -> str:
    phrase = "no plan" if length is None else f"{minutes(60 * length)}{'' if proven else '~'} min"
    return f"{kind} {phrase}".lstrip()


# --- use --------------------------------------------------------------------------------------


def used(review: Review) -> Iterator[str]:
    """Where the change is used: lines and changeovers, sheets, formats that share, waivers."""
    for line in review.lines:
        formats = some(line.formats) or "changeover steps changed"
        counts = [f"changeovers touched: {line.counted}"]
        counts += [f"{line.came} came"] if line.came else []
        counts += [f"{line.went} went"] if line.went else []
        yield f"line {line.id}: {formats}; {', '.join(counts)}"
    for sheet in review.sheets:
        new = sheet.new or f"none ({sheet.why or 'no longer made on this line'})"
        kept = ", not recorded yet" if sheet.new and not sheet.recorded and sheet.status == "released" else ""
        yield f"sheet {sheet.format}/{sheet.line}: {sheet.old or 'none'} → {new}{kept}"
    for one in review.touched:
        for shared in one.sharing:
            sides = (("still", shared.still), ("no more", shared.parted), ("newly", shared.joined))
            phrase = "; ".join(f"{word} {some(names)}" for word, names in sides if names)
            yield f"{one.id} shares {shared.what} with: {phrase}"
        yield from (f"{one.id} has a waiver: {waiver}" for waiver in one.waivers)
