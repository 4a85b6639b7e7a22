"""sizebook: can size formats in plain text, checked by the physics of their manufacture.

The public interface answers eight questions about a book of specs:

- `load` reads a book.
- `check` reports what does not hold.
- `route` takes a format through every station.
- `plan_changeover` plans a changeover from one format to another on a line.
- `review` compares two versions of a book.
- `design` makes a new size from what the can must do.
- `lightweight` finds the lightest format within the limits, and what each limit costs.
- `publish` builds the site.

A question that has no answer raises `SizebookError`, whose text is the reason in one line. A finding on a
spec is no error: it is part of the answer.

Example:
    >>> import kb
    >>> book = kb.load("specs")
    >>> report = kb.check(book, formats=["b211-330"], as_of="2026-11-02")
    >>> report.counts()["error"]
    0
"""

from __future__ import annotations

import sys
from types import ModuleType
from typing import TYPE_CHECKING, Any

from kb.errors import MissingExtra, SizebookError

if TYPE_CHECKING:
    import datetime
    from collections.abc import Callable, Collection
    from pathlib import Path

    from kb.book.finding import Finding, Severity
    from kb.book.load import Book
    from kb.changeover.plan import PlannedChangeover as ChangeoverPlan
    from kb.checks.by_station import RouteReport as RouteReport
    from kb.checks.judge import Verdict
    from kb.checks.report import Report
    from kb.design.lightest import Lighter
    from kb.design.new_size import NewSize
    from kb.publish.edition import Edition
    from kb.review.model import Review

__all__ = [
    "Book",
    "ChangeoverPlan",
    "Edition",
    "Finding",
    "Lighter",
    "MissingExtra",
    "NewSize",
    "Report",
    "Review",
    "RouteReport",
    "SizebookError",
    "Verdict",
    "check",
    "design",
    "lightweight",
    "load",
    "plan_changeover",
    "publish",
    "review",
    "route",
]

_RESULTS = {
    "Book": ("kb.book.load", "Book"),
    "ChangeoverPlan": ("kb.changeover.plan", "PlannedChangeover"),
    "Edition": ("kb.publish.edition", "Edition"),
    "Finding": ("kb.book.finding", "Finding"),
    "Lighter": ("kb.design.lightest", "Lighter"),
    "NewSize": ("kb.design.new_size", "NewSize"),
    "Report": ("kb.checks.report", "Report"),
    "Review": ("kb.review.model", "Review"),
    "RouteReport": ("kb.checks.by_station", "RouteReport"),
    "Verdict": ("kb.checks.judge", "Verdict"),
}
"""Module and name of each result type. They are imported when used, so that `import kb` is quick."""


def load(path: str | Path = ".") -> Book:
    """Read a book.

    Args:
        path: the book's folder, a folder in it, or one of its files; of a size format's file, the book is
            read with this format alone

    Returns:
        The valid specs as records, and the findings on the others.

    Raises:
        SizebookError: if there is no such path, or it is in no book.

    Example:
        >>> load("specs").of("size-format")["b211-330"].record.title
        '330 ml, 211 body, 202 end'
    """
    from pathlib import Path

    from kb.book.selection import one_book

    return one_book(Path(path)).load()


def check(
    book: Book,
    *,
    formats: Collection[str] | None = None,
    as_of: datetime.date | str | None = None,
    codes: bool = True,
    progress: Callable[[int, int], None] | None = None,
) -> Report:
    """Check a book, or some of its formats.

    Args:
        book: a loaded book
        formats: ids of the formats to check. Default: all, and the book as a whole
        as_of: day on which waivers and review dates are checked, as a date or year-month-day. Default: today
        codes: whether the codes of setup sheets are compared with the register, if the book has one
        progress: called with the number of formats that are done, and of all

    Returns:
        The findings in the order of their places, the values that passed too, and what was not checked.

    Raises:
        SizebookError: if a format is not in the book, or the day is not a day.

    Example:
        >>> report = check(load("specs"), formats=["b204-355"], as_of="2026-11-02")
        >>> [(one.name, one.severity, one.waiver) for one in report.findings]
        [('redraw.draw-ratio', 'note', 'waivers[0]')]
    """
    from kb.checks import check_book
    from kb.sheet.register import check_with_codes

    questioned = check_with_codes if codes else check_book
    return questioned(book, today=_day(as_of), formats=_known(book, formats), progress=progress)


def route(
    book: Book,
    format_id: str,
    *,
    as_of: datetime.date | str | None = None,
    cans: int = 0,
    seed: int = 1,
) -> RouteReport:
    """Take a format through every station.

    Args:
        book: a loaded book
        format_id: id of the format
        as_of: day on which waivers are checked, as a date or year-month-day. Default: today
        cans: number of cans to simulate within the tolerances; none when 0
        seed: the same seed gives the same cans

    Returns:
        The results by station in process order, with worst corners, limits and margins.

    Raises:
        SizebookError: if the format is not in the book, or its findings stop the calculation.

    Example:
        >>> sections = route(load("specs"), "b211-330", as_of="2026-11-02").sections
        >>> [one.title for one in sections][:3]
        ['Shape of the tools', 'Blank', 'Cup']
    """
    from kb.checks.by_station import route_of

    report = check(book, formats=[format_id], as_of=as_of, codes=False)
    return route_of(book, format_id, report, cans=cans, seed=seed)


def plan_changeover(
    book: Book,
    old: str,
    new: str,
    line: str,
    *,
    crew: str | None = None,
    search: float = 1,
) -> ChangeoverPlan:
    """Plan the changeover from one format to another on a line.

    Args:
        book: a loaded book
        old: id of the format that runs
        new: id of the format that runs next
        line: id of the line
        crew: id of a crew of the line. Default: its first crew
        search: multiple of the usual time limit of the solver [-]

    Returns:
        What differs, who does what and when, and how long the line is down.

    Raises:
        MissingExtra: if `sizebook[schedule]` is not installed.
        SizebookError: if there is no such changeover: nothing changes, the line cannot run the format, a
            changed value has no part or setting, or the crew cannot do the work.
    """
    from kb.changeover.plan import change, crew_of
    from kb.errors import require
    from kb.scheduling.plan import EFFORT

    require("schedule", "a changeover plan")
    return change(book, old, new, line, crew or crew_of(book, line), effort=search * EFFORT)


def review(
    base: str | Path,
    head: str | Path | None = None,
    *,
    book: str | Path | None = None,
    as_of: datetime.date | str | None = None,
    severity: Severity = "error",
    whole: bool = False,
    require_approval: bool = False,
) -> Review:
    """Compare two versions of a book.

    Args:
        base: the older version, a git revision or a folder
        head: the newer version. Default: the files on disk
        book: the book's folder. Default: the book around the current folder
        as_of: day on which waivers and review dates are checked, as a date or year-month-day. Default: today
        severity: new findings at or above this severity block the change
        whole: whether every format of both versions is checked, not only those in reach
        require_approval: whether the approvals that any change needs are required too

    Returns:
        What changed, its effects, the new findings, the approvals needed and the verdict. Changeover times
        are part of it if `sizebook[schedule]` is installed.

    Raises:
        SizebookError: if a version cannot be read.
    """
    from pathlib import Path

    from kb.review import compare

    return compare.review(
        str(base),
        None if head is None else str(head),
        book=None if book is None else Path(book),
        today=_day(as_of),
        severity=severity,
        whole=whole,
        require_approval=require_approval,
    )


def design(book: Book, targets: str | Path) -> NewSize:
    """Make a new size from what the can must do.

    Args:
        book: a loaded book
        targets: a YAML file of targets, `kind: design-targets`

    Returns:
        A draft that passes every check: its text, the reason of each size, tools to make, and the limits with
        least room.

    Raises:
        MissingExtra: if `sizebook[design]` is not installed.
        SizebookError: if the file has faults, the targets conflict, or the draft cannot be calculated. The
            text has the places of the faults, or the smallest set of rules that conflict.
    """
    from pathlib import Path

    from kb.errors import require

    require("design", "design")
    from kb.design.new_size import new_size
    from kb.design.targets import read_targets

    return new_size(book, read_targets(Path(targets)))


def lightweight(
    book: Book,
    format_id: str,
    *,
    keep: Collection[str] = (),
    free: Collection[str] = (),
    against: str = "",
) -> Lighter:
    """Find the lightest format within the limits, and what each limit costs.

    Args:
        book: a loaded book
        format_id: id of the format to begin with
        keep: keys or blocks that keep their size, such as `punch` or `stock.gauge`
        free: keys that may change beside gauge, blank, trim and walls, such as `dome.depth`
        against: a target whose curve is wanted too, such as `axial_load`; "" for none

    Returns:
        The sizes to write, which pass every check, the coil before and after [kg per 1000 cans], and the
        limits that bind with their prices.

    Raises:
        MissingExtra: if `sizebook[design]` is not installed.
        SizebookError: if the format is not in the book, cannot be calculated, or nothing passes every check.
    """
    from kb.errors import require

    require("design", "lightweight")
    from kb.design.lightest import lightest

    _known(book, format_id)
    return lightest(book, format_id, keep=_several(keep), free=_several(free), against=against)


def publish(
    book: Book,
    to: str | Path,
    *,
    as_of: datetime.date | str | None = None,
    draft: str | None = None,
    changes: int = 30,
    pdf: bool = False,
    progress: Callable[[str, int, int], None] | None = None,
) -> Edition:
    """Build the site of a book.

    Args:
        book: a loaded book
        to: folder of the site: new, empty, or an older site, which stays until the new one is complete
        as_of: day of the site, as a date or year-month-day. Default: today
        draft: label of a draft, printed on every page; "" for a draft without a label. Default: no draft
        changes: number of commits of the book's repository to show; 0 reads no history
        pdf: whether to build the other papers as PDF too, besides the setup sheets
        progress: called with the words of a step, the number of steps that are done, and of all

    Returns:
        The book with everything that the pages show.

    Raises:
        MissingExtra: if `sizebook[publish]` is not installed.
        SizebookError: if the folder may not be replaced, the book has no plant, or the site is not complete.
        OSError: if a file cannot be written.
    """
    from pathlib import Path

    from kb.errors import require

    require("publish", "the site")
    from kb.checks.catalog import NAMES
    from kb.history.log import read_log
    from kb.publish import build

    past = read_log(book.root, NAMES, changes)
    return build.publish(book, Path(to), day=_day(as_of), progress=progress, draft=draft, past=past, pdf=pdf)


def _day(given: datetime.date | str | None) -> datetime.date:
    import datetime

    if given is None:
        return datetime.date.today()
    if isinstance(given, datetime.date):
        return given
    try:
        return datetime.date.fromisoformat(given)
    except ValueError as error:
        raise SizebookError(f"{given} is not a day; write year-month-day, such as 2026-09-14") from error


def _known(book: Book, formats: Collection[str] | None) -> Collection[str] | None:
    """The ids, each of which is in the book."""
    for one in [formats] if isinstance(formats, str) else formats or ():
        if one not in book.ids("size-format"):
            known = ", ".join(sorted(book.of("size-format"))) or "none"
            raise SizebookError(f"format {one} is not in the book; formats: {known}")
    return [formats] if isinstance(formats, str) else formats


def _several(names: Collection[str]) -> tuple[str, ...]:
    return (names,) if isinstance(names, str) else tuple(names)


class _Interface(ModuleType):
    """The package, whose functions keep their names when a folder of the same name is imported.

    Importing `kb.route`, `kb.review` or `kb.publish` would otherwise put the folder in place of the function.
    Code inside imports from the folders by their full names.
    """

    def __setattr__(self, name: str, value: object) -> None:
        if not (isinstance(value, ModuleType) and name in __all__):
            super().__setattr__(name, value)


sys.modules[__name__].__class__ = _Interface

if not TYPE_CHECKING:

    def __getattr__(name: str) -> Any:
        """Import a result type when it is used."""
        if name not in _RESULTS:
            raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
        from importlib import import_module

        module, attribute = _RESULTS[name]
        return getattr(import_module(module), attribute)


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
