"""The changeover sheet as a document: its words, values and boxes, in reading order."""

from __future__ import annotations

import datetime
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from itertools import groupby

from kb.blocks import (
    Block,
    CheckItem,
    Checklist,
    Clocks,
    Dangers,
    DocumentPart,
    Group,
    Head,
    Listed,
    LockBoxes,
    OnePage,
    Paragraph,
    Pen,
    Phrase,
    PrintedDocument,
    Signatures,
    Table,
    TableRow,
    WordCell,
    bold,
    cell,
    firm,
    strong,
    words,
)
from kb.changeover.lanes import lanes_picture
from kb.changeover.sheet_model import ChangeContent, ChangeSheet, Durations, FormatNote, LockNote, StepNote
from kb.changeover.tables import settings_table, tools_in, tools_out
from kb.changeover.times import Times, length
from kb.sheet.documents import SIDES, good_until, hand_in, mark_reasons, ranked
from kb.sheet.issue import DRAFT_SIGN
from kb.sheet.labels import labels, most_common_ending

SCREEN = {"out", "run_out", "verification", "after", "lanes"}
"""Parts for the screen alone; on paper, the tools are on the pick list, the steps on the job cards."""


def change_document(sheet: ChangeSheet, stop: datetime.time | None = None) -> PrintedDocument:
    """A changeover sheet as a document; parts that say nothing are left out.

    Args:
        sheet: the sheet
        stop: time of day of the stop, for clock times
    """
    w, said, me = labels("changeover"), sheet.content, sheet.content.header
    times = Times(stop, said.durations.planned)
    blocks = {
        "current": _current(sheet),
        "times": _durations(said.durations, times),
        "machines": _machines(said),
        "dangers": (Paragraph(words(bold(said.safety))), Dangers(said.dangers)),
        "ready": (_steps(said.ready, times),),
        "run_out": (_steps(said.run_out, times),),
        "clear_points": (_clear_points(said),),
        "locks": (_locks(said.locks),),
        "out": (tools_out(said.out),),
        "fit": (tools_in(said.fit),),
        "settings": (settings_table(said.settings),),
        "gauges": (_gauges(said),),
        "verification": (_steps((*said.verification, *said.proof), times),),
        "first_offs": _first_offs(said),
        "restart": _restart(said),
        "after": (_steps(said.after, times),),
        "clocks": _clocks(said),
        "back_out": _back_out(said, times),
        "notes": (
            hand_in(labels("setup").hand_in, said.return_to, sheet.code),
            Paragraph(words(_for_the_planner(said.durations)), "note"),
        ),
        "lanes": _lanes(said),
    }
    notes = {
        "times": times.note,
        "ready": w.gate,
        "locks": w.locks,
        "out": w.out,
        "fit": w.fit,
        "settings": w.settings,
        "verification": w.critical,
        "first_offs": w.ranks,
        "lanes": w.lanes,
    }
    numbered = enumerate(w.heads.items(), start=1)
    of_a_stop = {"clocks", "lanes"}
    return replace(
        base_document(sheet),
        kind=w.kind,
        tab=f"{w.kind}: {from_to(sheet)}, {me.line}",
        strip=f"{me.line}, {me.crew}",
        foot=words(f"{me.sheet} ", bold(sheet.code)),
        lines=(me.title, me.line_title),
        notes=(f"crew: {me.crew_title}", _side("from", me.old), _side("to", me.new)),
        qr=sheet.qr,
        parts=tuple(
            DocumentPart(
                f"change-{key}",
                title,
                tuple(blocks[key]),
                number=number,
                note=notes.get(key, ""),
                pen_note=key == "fit",
                whole=key in {"back_out", "notes"},
                screen=key in SCREEN,
            )
            for number, (key, title) in numbered
            if getattr(said, key, True) and (said.stops or key not in of_a_stop)
        ),
        links_before="change-ready",
        back_to_links=w.to_parts,
        sides=SIDES,
    )


def base_document(sheet: ChangeSheet) -> PrintedDocument:
    """What the sheet and its cards have in common."""
    listed = [one.caution for one in sheet.content.jobs if one.caution is not None]
    return PrintedDocument(
        form="sheet",
        kind="",
        tab="",
        plant=sheet.content.header.plant,
        title=from_to(sheet),
        foot=(),
        code=sheet.code,
        digest=sheet.digest,
        mark=sheet.mark,
        reasons=mark_reasons(sheet.mark, sheet.unfit),
        made=sheet.made,
        always=most_common_ending(dict.fromkeys((*sheet.content.dangers, *listed))),
        always_word=labels("setup").always,
    )


def from_to(sheet: ChangeSheet) -> str:
    """Both formats by their ids."""
    me = sheet.content.header
    return f"{me.old.id} → {me.new.id}"


def _side(word: str, one: FormatNote) -> str:
    return f"{word} {one.code}, {one.title}, rev {one.revision}, {one.status}"


def no_return(durations: Durations, times: Times | None = None) -> str:
    """What the point of no return is and what going back takes after it; "" where nothing is changed."""
    if durations.no_return is None:
        return ""
    w = labels("changeover")
    where = f"{durations.no_return_at}: " if durations.no_return_at else ""
    after = w.no_back if durations.back is None else w.back.format(length=length(durations.back))
    when = times.said(durations.no_return) if times else str(durations.no_return)
    sentence: str = w.no_return_step.format(when=when, step=f"{where}{durations.no_return_step}", after=after)
    return sentence


# --- what is read first -----------------------------------------------------------------------


def _current(sheet: ChangeSheet) -> Iterator[Block]:
    w = labels("changeover")
    text = w.current_draft if sheet.code.startswith(DRAFT_SIGN) else w.current
    yield Paragraph(words(strong(text.format(code=sheet.code)), " ", *good_until(sheet.good_until)))


def _for_the_planner(one: Durations) -> str:
    """What no one needs during the stop: what it is spent on, and the price of other ways."""
    setting = labels("changeover").setting.format(setting=length(one.setting), share=one.setting_share)
    return " ".join(filter(None, (one.made_of, one.fitters, setting.strip(), one.one_at_a_time)))


def _durations(one: Durations, times: Times) -> Iterator[Block]:
    w = labels("changeover")
    others = (
        (w.begin, times.said(one.begin)),
        (w.go, times.said(one.go)),
        (w.no_return, times.said(one.no_return) if one.no_return else "none"),
        (w.median, length(one.median)),
        (w.nine_in_ten, length(one.nine_in_ten)),
    )
    yield Clocks(w.stop, length(one.planned), others, w.clock)
    clocks = "; ".join(
        w.recorded_clock.format(name=each.name, median=length(each.median), worst=length(each.worst))
        for each in one.past
    )
    recorded = w.recorded.format(of=one.past_of, clocks=clocks) if one.past else w.not_recorded
    yield Paragraph(
        words(
            w.plan.format(worst=length(one.worst), recorded=recorded),
            bold(w.disagree.format(disagree=one.disagree)) if one.disagree else "",
        ),
        "note",
    )


def _machines(said: ChangeContent) -> Iterator[Block]:
    w = labels("changeover")
    yield Paragraph(words(strong(w.alone + ("; ".join(said.alone) or w.nothing_alone))), "framed")
    rows = [
        TableRow(
            (
                cell(Phrase(str(one.number), "tag"), " ", strong(one.title)),
                *(
                    cell(", ".join(names) or "–")
                    for names in (one.parts, one.settings, one.supplies, one.gauges)
                ),
            )
        )
        for one in said.machines
        if one.touched or one.gauges
    ]
    yield Table("matrix", _heads(w.matrix), (Group(tuple(rows)),))
    stays = [f"{one.title}: {', '.join(one.stays)}" for one in said.machines if one.touched and one.stays]
    if stays:
        yield Paragraph(words(bold(w.stays), "; ".join(stays), "."), "note")
    for excuse in said.excuses:
        yield Paragraph(words(w.nothing_for, bold(", ".join(excuse.values)), f". {excuse.why}"), "note")


def _heads(titles: Iterable[str]) -> tuple[Head, ...]:
    return tuple(Head(one) for one in titles)


# --- steps ------------------------------------------------------------------------------------


def _steps(steps: Sequence[StepNote], times: Times) -> Checklist:
    return Checklist("steps", tuple(_step(one, times) for one in steps))


def _step(one: StepNote, times: Times) -> CheckItem:
    start, end = times.said(one.start), times.said(one.end)
    count = f" {one.times}×" if one.times > 1 else ""
    return CheckItem(
        words(
            firm(start if start == end else f"{start}\u00a0to\u00a0{end}"),
            "  ",
            strong("◆ " if one.critical else ""),
            (strong(f"{one.machine}{count}:"), Phrase(" ")) if one.machine else "",
            one.text,
            " ",
            Phrase(", ".join(one.who) or "–", "italic"),
        )
    )


def _clear_points(said: ChangeContent) -> Checklist:
    looks = (CheckItem(words(strong(f"{one.machine}:"), f" {one.look}")) for one in said.clear_points)
    return Checklist("steps", tuple(looks))


def _locks(locks: Sequence[LockNote]) -> Table:
    """The locks, two machines to a row; the machines of a group under their title."""
    w = labels("changeover")
    groups = []
    for alone, some in groupby(locks, key=lambda one: "" if not one.which else one.machine):
        entries = list(some)
        cells = [_lock_cells(one) for one in entries]
        pairs = [cells[i : i + 2] for i in range(0, len(cells), 2)]
        rows = [TableRow(tuple(each for pair in two for each in pair)) for two in pairs]
        if len(pairs[-1]) == 1:
            rows[-1] = TableRow((*rows[-1].cells, WordCell((), span=3)))
        groups.append(Group(tuple(rows), entries[0].number if alone else 0, alone))
    return Table("locks", _heads(w.lock_heads) * 2, tuple(groups))


def _lock_cells(one: LockNote) -> tuple[WordCell, LockBoxes, LockBoxes]:
    boxes = tuple(labels("changeover").lock_boxes)
    name = cell(strong(one.which or f"{one.number} {one.machine.partition(',')[0]}"))
    return name, LockBoxes(one.isolates, boxes), LockBoxes(one.own, boxes)


# --- gauges, checks ---------------------------------------------------------------------------


def _gauges(said: ChangeContent) -> Checklist:
    set_with = labels("setup").master
    items = [
        CheckItem(
            words(bold(one.name), f", {set_with} {one.master}; {', '.join(one.checks)}"),
            tick=False,
            pen=tuple(labels("changeover").set),
        )
        for one in said.gauges
    ]
    return Checklist("gauges", tuple(items))


def _first_offs(said: ChangeContent) -> Iterator[Block]:
    yield Paragraph(words(labels("changeover").first_offs.format(code=said.header.new.code)), "note")
    entries = (
        CheckItem(
            words(strong(ranked(one))),
            tick=False,
            number=str(one.number),
            pen=tuple(labels("setup").accepted),
        )
        for one in said.first_offs
    )
    yield Checklist("numbers", tuple(entries), across=3)


# --- restart and what follows -----------------------------------------------------------------


def _restart(said: ChangeContent) -> Iterator[Block]:
    w = labels("changeover")
    steps = (CheckItem(words(bold(f"{i} "), text)) for i, text in enumerate(said.restart, start=1))
    yield Checklist("steps", tuple(steps))
    yield Signatures(tuple((one.step, one.role) for one in said.release), across=1)
    ramp = (
        CheckItem(
            words(strong(w.ramp.format(speed=one.speed, minutes=one.minutes)), one.sample),
            tick=False,
            pen=tuple(w.ramp_boxes),
        )
        for one in said.ramp
    )
    yield Checklist("ramp", tuple(ramp))


def _clocks(said: ChangeContent) -> Iterator[Block]:
    w = labels("changeover")
    yield Pen(tuple(w.clocks))
    yield Paragraph(words(bold(w.losses)))
    reasons = (CheckItem(words(one), pen=tuple(w.loss_boxes)) for one in said.reasons)
    yield Checklist("reasons", tuple(reasons), across=3)


def _back_out(said: ChangeContent, times: Times) -> Iterator[Block]:
    sentence = no_return(said.durations, times)
    if sentence:
        yield Paragraph(words(strong(sentence)))
    yield Listed(tuple(words(one) for one in said.back_out), numbered=True)


def _lanes(said: ChangeContent) -> Iterator[Block]:
    """Who does what when: a chart and a table for the screen; the paper has the job cards."""
    w = labels("changeover")
    yield lanes_picture(said)
    rows = [
        TableRow(
            (
                cell(bold(f"{one.number} {one.title}")),
                *(
                    cell(firm(each))
                    for each in (one.isolate, one.out, one.fit, one.set, one.release, one.first_off)
                ),
            )
        )
        for one in said.grid
    ]
    hands = "; ".join(w.hand.format(title=one.title, busy=one.busy, idle=one.idle) for one in said.crew)
    table = Table("grid", _heads(w.grid), (Group(tuple(rows)),))
    yield OnePage((table, Paragraph(words(w.hands.format(hands=hands)), "note")))
