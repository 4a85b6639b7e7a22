"""The papers beside a changeover sheet: the job cards of the crew, the pick list and the pack cards."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import groupby

from kb.blocks import (
    CheckItem,
    Checklist,
    DocumentPart,
    Paragraph,
    Phrase,
    PrintedDocument,
    Words,
    bold,
    strong,
    words,
)
from kb.changeover.documents import base_document, change_document, from_to
from kb.changeover.sheet_model import ChangeSheet, Hand, Job
from kb.changeover.tables import tools_out
from kb.changeover.times import Times, minutes
from kb.errors import SizebookError
from kb.sheet.labels import labels
from kb.sheet.model import Sheet
from kb.sheet.papers import Pick, pack_cards, pick_list


def change_papers(
    sheet: ChangeSheet, setup: Sheet, kind: str, stop: datetime.time | None = None
) -> tuple[PrintedDocument, ...]:
    """The documents of one kind of paper of a changeover.

    Args:
        sheet: the changeover sheet
        setup: the setup sheet of the new format
        kind: `sheet`, `cards`, `picks` or `packs`
        stop: time of day of the stop, for clock times

    Raises:
        SizebookError: if no tool goes in, so that nothing is to be picked or packed.
    """
    if kind == "cards":
        return job_cards(sheet, stop)
    if kind == "sheet":
        return (change_document(sheet, stop),)
    made = (change_picks(sheet, setup),) if kind == "picks" else change_packs(sheet, setup)
    if not made or (kind == "picks" and not sheet.content.fit):
        raise SizebookError(f"{from_to(sheet)} on {sheet.content.header.line} puts no such tool in")
    return made


def job_cards(sheet: ChangeSheet, stop: datetime.time | None = None) -> tuple[PrintedDocument, ...]:
    """The job cards of a changeover, one document for each member of the crew who has a job.

    What runs by itself is on the card of the first member.
    """
    w, said, me = labels("changeover"), sheet.content, sheet.content.header
    base, times = base_document(sheet), Times(stop, said.durations.planned)
    warned = (" ⚠ ", base.always_word, ": ", bold(base.always), ".") if base.always else ()
    titles = {hand.id: hand.title for hand in said.crew}
    cards = []
    for hand in said.crew:
        watches = hand is said.crew[0]
        mine = [one for one in said.jobs if hand.id in one.who or (watches and not one.who)]
        parts = _parts(mine, _Card(hand, titles, times))
        if parts:
            first = DocumentPart(f"{hand.id}-times", "", (Paragraph(words(times.note, *warned), "note"),))
            cards.append(
                replace(
                    base,
                    form="card",
                    kind=w.card,
                    tab=f"{w.card}: {from_to(sheet)}, {me.line}",
                    title=hand.title,
                    strip=f"{from_to(sheet)}, {me.line}",
                    foot=words(f"{w.card}, {me.crew_title}"),
                    lines=(f"{from_to(sheet)}, {me.line}",),
                    parts=(first, *parts),
                    sides=1,
                )
            )
    return tuple(cards)


@dataclass(frozen=True, slots=True)
class _Card:
    """What the jobs of one card are printed with.

    Attributes:
        hand: whose card it is.
        titles: of all members, by id.
        times: how times are printed.
        read: texts and hazards that the card has in full.
        seen: machines that have had a block.
    """

    hand: Hand
    titles: Mapping[str, str]
    times: Times
    read: set[str] = field(default_factory=set)
    seen: set[str] = field(default_factory=set)


def _parts(mine: Sequence[Job], card: _Card) -> tuple[DocumentPart, ...]:
    w, ident = labels("changeover"), card.hand.id
    parts = []
    for part, title in w.parts.items():
        jobs: list[CheckItem] = []
        for _, run in groupby((one for one in mine if one.part == part), key=lambda one: one.machine):
            jobs += _block(list(run), card)
        if jobs:
            blocks = (Checklist("jobs", tuple(jobs), across=1),)
            note = w.gate if part == "before" else ""
            parts.append(DocumentPart(f"{ident}-{part}", title, blocks, note=note))
    return tuple(parts)


def _block(run: Sequence[Job], card: _Card) -> Iterator[CheckItem]:
    """Jobs at one machine in a row; inside the stop, several have a title."""
    w, machine = labels("changeover"), run[0].machine
    titled = bool(machine) and len(run) >= STEPS and run[0].part == "stop"
    head = ""
    if titled:
        phases = {one.phase for one in run}
        what = next((words for phase, words in w.block_of.items() if phase in phases), "")
        span = minutes(run[-1].end - run[0].start)
        head = w.block.format(machine=machine, what=what, minutes=span, steps=len(run))
        head = w.block_again.format(block=head) if machine in card.seen else head
    card.seen.add(machine)
    for k, one in enumerate(run):
        made = _job(one, card, titled=titled)
        yield replace(made, head=words(strong(head))) if head and not k else made


STEPS = 3
"""Fewest jobs at a machine in a row that have a title of their own."""

SIZES = 4
"""Most sizes printed beside a job; for more the card names the part of the sheet."""


def _sizes_of(one: Job, *, named: bool) -> str:
    """What a job sets, old value and new; a single one is not named again."""
    w = labels("changeover")
    if len(one.sizes) > SIZES:
        part = list(w.heads).index("fit") + 1
        return f" ({w.sizes.format(count=len(one.sizes), part=part)})"
    found = []
    for size in one.sizes:
        old, new = (each.target or each.text for each in (size.old, size.new))
        unit = f" {size.new.unit}" if size.new.unit else ""
        name = f"{size.name} " if named or len(one.sizes) > 1 else ""
        found.append(f"{name}{old} → {new}{unit}" if old and old != new else f"{name}{new}{unit}")
    return f" ({'; '.join(found)})" if found else ""


def _job(one: Job, card: _Card, *, titled: bool) -> CheckItem:
    """A job of a card; what is in `read` was printed in full before, and is named by its beginning."""
    w, read = labels("changeover"), card.read
    others = ", ".join(card.titles[who] for who in one.who if who != card.hand.id)
    hazard = f"{one.caution.hazard}, {one.caution.avoid}" if one.caution else ""
    first, _, rest = one.text.partition(". ")
    lock = {"isolate": w.lock_on, "release": w.lock_off}.get(one.phase, "")
    text = f"{first}. {w.again}" if rest and one.text in read else one.text
    short, again = text != one.text, one.caution is not None and hazard in read
    machine = one.short[:1].upper() + one.short[1:] if short and one.machine else one.machine
    at = "" if titled else machine
    signal = f"⚠ {one.caution.signal} " if one.caution and short and again else ""
    made = CheckItem(
        words(
            strong("◆ " if one.critical else ""),
            bold(signal),
            (strong(f"{at}:"), Phrase(" ")) if at else "",
            _own_lock(one, card.hand),
            text,
            (Phrase(" "), bold(lock)) if lock else "",
            bold(_sizes_of(one, named=not short)) if not short or one.phase == "set" else "",
            Phrase(f" with {others}" if others else "" if one.who else f" {w.itself}", "italic"),
        ),
        caution=None if signal else one.caution,
        again=again and not signal,
        when=(card.times.said(one.at), card.times.said(one.until)),
    )
    read |= {hazard, one.text}
    return made


def _own_lock(one: Job, hand: Hand) -> Words:
    """That a member hangs a lock first and takes it off after, and where if it is not all of the job."""
    w = labels("changeover")
    mine = [lock for lock in one.own_locks if lock.who == hand.id]
    where = ["" if lock.machine == one.machine else w.lock_at.format(machine=lock.machine) for lock in mine]
    sentences = (w.own_lock.format(at=at, minutes=lock.minutes) for at, lock in zip(where, mine, strict=True))
    return words(*(each for one in sentences for each in (bold(one), " ")))


def change_picks(sheet: ChangeSheet, setup: Sheet) -> PrintedDocument:
    """The pick list of a changeover: the parts that go in."""
    w, me = labels("setup"), sheet.content.header
    stores = {(block.title, one.name): one.store for block in setup.content.machines for one in block.parts}
    stores |= {(block.title, one.name): one.store for block in setup.content.machines for one in block.sets}
    packs = {one.name.partition(",")[0]: one.store for one in setup.content.pack}
    picks = [
        Pick(
            at.title,
            one.name,
            one.value,
            one.pieces,
            stores.get((at.title, one.part)) or packs.get(one.name.partition(",")[0], ""),
        )
        for at in sheet.content.fit
        for one in at.rows
    ]
    base = replace(
        base_document(sheet),
        kind=w.papers["picks"],
        tab=f"{w.papers['picks']}: {from_to(sheet)}, {me.line}",
        strip=f"{me.line}, {me.crew}",
        foot=words(f"{w.papers['picks']}, {me.sheet} ", bold(sheet.code)),
        lines=(me.line_title, labels("changeover").of_sheet.format(code=sheet.code)),
    )
    made, w = pick_list(base, picks), labels("changeover")
    out = DocumentPart("picks-out", w.heads["out"], (tools_out(sheet.content.out),), note=w.out)
    return replace(made, parts=(*made.parts, out))


def change_packs(sheet: ChangeSheet, setup: Sheet) -> tuple[PrintedDocument, ...]:
    """The pack cards of the new format; none where no tool of the pack changes."""
    names = {one.name for one in setup.content.pack}
    changed = any(one.name in names for at in sheet.content.fit for one in at.rows)
    return pack_cards(setup) if changed else ()
