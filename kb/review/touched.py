"""What a change does to each format it reaches: results, margins, ways to have them back, what it shares."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from kb.book.load import Book
from kb.book.records import Setting
from kb.checks.report import Report
from kb.review.effects import Judged, effects
from kb.review.margins import margins, what_ifs
from kb.review.model import ChangedFile, Touched
from kb.review.reach import Reached
from kb.review.thresholds import Thresholds
from kb.review.used import made_on, sharing
from kb.route.assemble import assemble


@dataclass(frozen=True, slots=True)
class CheckedVersion:
    """One version: its book, the check of it, its ids by the ids that the reach has."""

    book: Book
    report: Report
    names: Mapping[str, str]

    def judged(self, ident: str) -> Judged | None:
        """A format of which every stage ran, with what was judged."""
        name = self.names.get(ident)
        stopped = any(one.what == name for one in self.report.skipped)
        if name is None or stopped or name not in self.report.verdicts:
            return None
        assembled = assemble(self.book, name)
        settings: Mapping[str, Setting] = self.book.limits.settings if self.book.limits else {}
        return None if assembled is None else (assembled, self.report.verdicts[name], settings)


def touched(
    reached: Reached,
    files: Sequence[ChangedFile],
    old: CheckedVersion,
    new: CheckedVersion,
    least: Thresholds,
) -> Iterator[Touched]:
    """Every format that is reached, with what happens to it."""
    for ident, because in reached.printed.items():
        changed = [one for one in files if (one.kind, one.id) == ("size-format", ident)]
        keys = [change.key for one in changed for change in one.changes]
        was, now = reached.was.get(ident), reached.now.get(ident)
        side = new if now else old
        made = Touched(
            id=ident,
            was=was if was and was != ident else "",
            title=side.book.of("size-format")[side.names[ident]].record.title,
            because=because,
            effects=(),
            folded=0,
            margins=(),
            still=0,
            what_ifs=(),
            not_asked=0,
            sharing=tuple(sharing(reached, ident, keys, old.book, new.book)),
            waivers=tuple(_waiver_sentences(new.book, now)),
            lines=made_on(reached, ident, old.book, new.book),
        )
        yield _in_numbers(made, old, new, least) if ident in reached.judged else made


def _in_numbers(made: Touched, old: CheckedVersion, new: CheckedVersion, least: Thresholds) -> Touched:
    """A format with what the route and its limits say; as far as both versions were judged."""
    before, after = old.judged(made.id), new.judged(made.id)
    if before is None or after is None:
        return made
    assembled, standing, _ = after
    told, folded = effects(before, after, least)
    moved, still = margins(assembled, before[1], standing, least)
    limits = new.book.limits.limits if new.book.limits else {}
    ways, more = what_ifs(assembled, moved, standing, limits)
    return replace(
        made,
        effects=told,
        folded=folded,
        margins=tuple(one.margin for one in moved),
        still=still,
        what_ifs=ways,
        not_asked=more,
    )


def _waiver_sentences(book: Book, ident: str | None) -> Iterator[str]:
    for one in book.waivers.waivers:
        if one.format == ident:
            yield f"{one.check} until {one.expires}, approved by {one.approver}"
