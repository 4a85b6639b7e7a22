"""The changeover sheet and the job cards as documents: their words, values and boxes, in reading order."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace

from kb.blocks import (
    BREAK,
    Block,
    Cell,
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
    Ruled,
    Signatures,
    Stage,
    Stages,
    Table,
    TableRow,
    WordCell,
    Words,
    bold,
    cell,
    firm,
    strong,
    words,
)
from kb.changeover.lanes import lanes_picture
from kb.changeover.sheet_model import (
    ChangeContent,
    ChangeSheet,
    Durations,
    FormatNote,
    Hand,
    Job,
    SettingNote,
    StepNote,
    ToolNote,
    ToolsAt,
)
from kb.sheet.code import DRAFT_SIGN
from kb.sheet.documents import good_until, hand_in, mark_reasons, ranked, three
from kb.sheet.hazards import most_common_ending
from kb.sheet.labels import labels
from kb.sheet.model import FirstOff

FEW = 4
"""Places of a tool that are rows; a tool with more of them, such as neck dies, has its own table."""


def change_document(sheet: ChangeSheet) -> PrintedDocument:
    """A changeover sheet as a document; parts that say nothing are left out."""
    w, said, me = labels("changeover"), sheet.content, sheet.content.header
    blocks = {
        "current": _current(sheet),
        "times": _times(said.durations),
        "machines": _machines(said),
        "dangers": (Paragraph(words(bold(said.safety))), Dangers(said.dangers)),
        "ready": (_steps(said.ready, by=True),),
        "run_out": _run_out(said),
        "locks": (_locks(said),),
        "out": (_out(said.out),),
        "fit": (_fit(said.fit),),
        "settings": (_settings(said.settings),),
        "gauges": (_gauges(said),),
        "verification": (_steps(said.verification),),
        "first_offs": _first_offs(said),
        "restart": _restart(said),
        "after": (_steps(said.after),),
        "clocks": _clocks(said),
        "back_out": _back_out(said),
        "lanes": _lanes(said),
        "notes": (hand_in(labels("setup").hand_in, said.return_to, sheet.code), Ruled(2)),
    }
    notes = {
        "times": w.times,
        "ready": w.by,
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
    kept = [
        (number, key, title)
        for number, (key, title) in numbered
        if getattr(said, key, True) and (said.stops or key not in of_a_stop)
    ]
    return replace(
        _base(sheet),
        kind=w.kind,
        tab=f"{_from_to(sheet)}, {me.line}, {w.kind}",
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
            )
            for number, key, title in kept
        ),
        links_before="change-ready",
        back_to_links=w.to_parts,
    )


def job_cards(sheet: ChangeSheet) -> tuple[PrintedDocument, ...]:
    """The job cards of a changeover, one document for each member of the crew who has a job."""
    w, said, me = labels("changeover"), sheet.content, sheet.content.header
    base = _base(sheet)
    warned = (" ⚠ ", base.always_word, ": ", bold(base.always), ".") if base.always else ()
    titles = {hand.id: hand.title for hand in said.crew}
    cards = []
    for hand in said.crew:
        mine = [one for one in said.jobs if hand.id in one.who]
        parts = [
            DocumentPart(
                f"{hand.id}-{part}",
                title,
                (Checklist("jobs", jobs, across=1),),
                note=w.gate if part == "before" else "",
            )
            for part, title in w.parts.items()
            if (jobs := tuple(_job(one, hand, titles) for one in mine if one.part == part))
        ]
        if parts:
            first = DocumentPart(f"{hand.id}-times", "", (Paragraph(words(w.times, *warned), "note"),))
            cards.append(
                replace(
                    base,
                    form="card",
                    kind=w.card,
                    tab=f"{_from_to(sheet)}, {me.line}, {w.card}",
                    title=hand.title,
                    strip=f"{_from_to(sheet)}, {me.line}",
                    foot=words(f"{w.card}, {me.crew_title}"),
                    lines=(f"{_from_to(sheet)}, {me.line}",),
                    parts=(first, *parts),
                )
            )
    return tuple(cards)


def no_return(durations: Durations) -> str:
    """What the point of no return is and what going back takes after it; "" where nothing is changed."""
    if not durations.no_return:
        return ""
    w = labels("changeover")
    where = f"{durations.no_return_at}: " if durations.no_return_at else ""
    after = w.no_back if durations.back is None else w.back.format(minutes=durations.back)
    step = f"{where}{durations.no_return_step}"
    sentence: str = w.no_return_step.format(when=durations.no_return, step=step, after=after)
    return sentence


def _base(sheet: ChangeSheet) -> PrintedDocument:
    """What the sheet and its cards have in common."""
    listed = [one.caution for one in sheet.content.jobs if one.caution is not None]
    return PrintedDocument(
        form="sheet",
        kind="",
        tab="",
        plant=sheet.content.header.plant,
        title=_from_to(sheet),
        strip="",
        foot=(),
        lines=(),
        notes=(),
        code=sheet.code,
        digest=sheet.digest,
        qr="",
        mark=sheet.mark,
        reasons=mark_reasons(sheet.mark, sheet.unfit),
        made=sheet.made,
        parts=(),
        always=most_common_ending(dict.fromkeys((*sheet.content.dangers, *listed))),
        always_word=labels("setup").always,
    )


def _from_to(sheet: ChangeSheet) -> str:
    me = sheet.content.header
    return f"{me.old.id} → {me.new.id}"


def _side(word: str, one: FormatNote) -> str:
    return f"{word} {one.code}, {one.title}, rev {one.revision}, {one.status}"


# --- what is read first -----------------------------------------------------------------------


def _current(sheet: ChangeSheet) -> Iterator[Block]:
    w = labels("changeover")
    text = w.current_draft if sheet.code.startswith(DRAFT_SIGN) else w.current
    yield Paragraph(words(strong(text.format(code=sheet.code)), " ", *good_until(sheet.good_until)))


def _times(one: Durations) -> Iterator[Block]:
    w = labels("changeover")
    others = (
        (w.begin, one.begin),
        (w.go, one.go),
        (w.no_return, one.no_return or "none"),
        (w.median, str(one.median)),
        (w.nine_in_ten, str(one.nine_in_ten)),
    )
    yield Clocks(w.stop, one.planned, others, w.clock)
    clocks = "; ".join(
        w.recorded_clock.format(name=clock.name, median=clock.median, worst=clock.worst) for clock in one.past
    )
    recorded = w.recorded.format(of=one.past_of, clocks=clocks) if one.past else w.not_recorded
    yield Paragraph(
        words(
            w.plan.format(proof=one.proof, worst=one.worst, recorded=recorded),
            bold(w.disagree.format(disagree=one.disagree)) if one.disagree else "",
            w.setting.format(setting=one.setting, share=one.setting_share),
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
        yield Paragraph(words(w.nothing_for, bold(", ".join(excuse.values)), f". {excuse.why}"))


def _heads(titles: Iterable[str]) -> tuple[Head, ...]:
    return tuple(Head(one) for one in titles)


# --- steps ------------------------------------------------------------------------------------


def _steps(steps: Sequence[StepNote], *, by: bool = False) -> Checklist:
    return Checklist("steps", tuple(_step(one, by=by) for one in steps))


def _step(one: StepNote, *, by: bool) -> CheckItem:
    times = f" {one.times}×" if one.times > 1 else ""
    span = one.start if one.start == one.end else f"{one.start}\u00a0to\u00a0{one.end}"
    return CheckItem(
        words(
            strong("◆ " if one.critical else ""),
            (strong(f"{one.machine}{times}:"), Phrase(" ")) if one.machine else "",
            one.text,
            " ",
            Phrase(", ".join(one.who) or "–", "italic"),
            strong("" if by else f" {span}"),
        ),
        by=one.latest if by else "",
    )


def _run_out(said: ChangeContent) -> Iterator[Block]:
    yield _steps(said.run_out)
    looks = (CheckItem(words(strong(f"{one.machine}:"), f" {one.look}")) for one in said.clear_points)
    yield Checklist("steps", tuple(looks))


def _locks(said: ChangeContent) -> Table:
    w = labels("changeover")
    rows = [
        TableRow(
            (
                cell(strong(f"{one.number} {one.machine}")),
                LockBoxes(one.isolates, tuple(w.lock_boxes)),
                LockBoxes(one.own, tuple(w.lock_boxes)),
            )
        )
        for one in said.locks
    ]
    return Table("locks", _heads(w.lock_heads), (Group(tuple(rows)),))


# --- tools ------------------------------------------------------------------------------------


def _out(groups: Sequence[ToolsAt]) -> Table:
    w = labels("changeover")
    pens = (Pen((w.serials,)), *(Pen((one,)) for one in w.out_to))
    made = []
    for at in groups:
        rows = [
            TableRow(
                (WordCell(_tool(one)), cell(firm(f"{one.pieces}×")), WordCell(_short(one.value)), *pens),
                half=True,
            )
            for one in _single(at.rows)
        ]
        made.append(_group(at, rows, w.stage_to, bare=True))
    heads = (Head(w.out_heads[0]), *(Head(one, "right") for one in w.out_heads[1:]))
    return Table("out", (*heads, *(Head("", "pen") for _ in pens)), tuple(made), cautions=True)


def _fit(groups: Sequence[ToolsAt]) -> Table:
    w = labels("changeover")
    fitted = labels("setup").fitted
    made = []
    for at in groups:
        rows = []
        for one in sorted(_single(at.rows), key=_beside):
            unlike = (BREAK, Phrase(f"{w.look_alike} {one.look_alike}", "framed")) if one.look_alike else ()
            pens = tuple(Pen((label,)) for label in fitted)
            pieces = firm(f"{one.pieces}×")
            if _beside(one):
                name = words(strong(one.name), " ", pieces, unlike)
                rows.append(TableRow((WordCell(name), one.value, *pens), half=True))
            else:
                name = words(_tool(one), unlike)
                rows.append(TableRow((WordCell(name), cell(pieces), one.value, *pens)))
        made.append(_group(at, rows, fitted))
    heads = three(w.fit_heads[0], Head("", "pen", 2))
    return Table("machines", heads, tuple(made), cautions=True, alike=w.look_alike)


def _beside(one: ToolNote) -> bool:
    """Whether another tool fits beside this one in its row."""
    return one.value.plain and not one.also


def _group(at: ToolsAt, rows: Sequence[TableRow], pen: Sequence[str], *, bare: bool = False) -> Group:
    kinds: dict[str, list[ToolNote]] = {}
    for one in _staged(at.rows):
        kinds.setdefault(one.id, []).append(one)
    stages = tuple(
        Stages(
            f"{many[0].part}, {sum(one.pieces for one in many)}×",
            tuple(Stage(one.place, _bare(one.value) if bare else one.value, one.look_alike) for one in many),
            tuple(pen),
        )
        for many in kinds.values()
    )
    note = f"{at.count} machines" if at.count > 1 else ""
    return Group(tuple(rows), at.number, at.title, note, at.cautions, stages)


def _staged(rows: Sequence[ToolNote]) -> list[ToolNote]:
    """Tools of kinds with so many places that they have a table of their own."""
    return [one for one in rows if sum(other.id == one.id for other in rows) > FEW]


def _single(rows: Sequence[ToolNote]) -> list[ToolNote]:
    staged = _staged(rows)
    return [one for one in rows if one not in staged]


def _tool(one: ToolNote) -> Words:
    also = [(BREAK, Phrase(f"{other.name} ", "small"), *_short(other.value)) for other in one.also]
    return words(strong(one.name), *also)


def _short(value: Cell) -> Words:
    if value.missing:
        return (Phrase(value.text, "missing"),)
    return words(strong(value.target), firm(f"\u00a0{value.unit}"))


def _bare(value: Cell) -> Cell:
    """A value in the machine's own unit alone; the other is on the setup sheet."""
    return replace(value, second=None)


# --- settings, gauges, checks -----------------------------------------------------------------


def _settings(settings: Sequence[SettingNote]) -> Table:
    w = labels("changeover")
    name, old = w.setting_heads
    heads = (Head(name), Head(old, "right"), Head(look="limits"), Head(), Head("", "pen"))
    return Table("settings", heads, (Group(tuple(_setting(one) for one in settings)),))


def _setting(one: SettingNote) -> TableRow:
    w = labels("changeover")
    where = words(" ", Phrase(one.where, "small")) if one.where else ()
    name = cell(Phrase(str(one.number), "tag"), " ", strong(one.name), where)
    is_setting = one.what == "setting"
    sign = cell(strong((w.direct if one.direct else w.search) if is_setting else ""))
    pen = Pen(tuple(w.set if is_setting else w.there))
    if not one.new.missing and not one.new.unit and not one.new.target.replace(".", "").isdecimal():
        change = WordCell(words(firm(one.old.text), " → ", strong(one.new.text)), span=5)  # no number: a name
        return TableRow((name, change, sign, pen))
    old = Phrase(one.old.text, "missing") if one.old.missing else firm(one.old.target or one.old.text)
    return TableRow((name, cell(old, firm(" →")), _bare(one.new), sign, pen))


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
    yield _steps(said.proof)
    yield Checklist("checks", tuple(map(_first_off, said.first_offs)))


def _first_off(one: FirstOff) -> CheckItem:
    accept = _limits(one.value) if one.value else words(bold(one.accept))
    every = labels("changeover").all.format(count=one.boxes) if one.boxes > 1 else ""
    return CheckItem(
        words(strong(f"{ranked(one)} {one.name}"), BREAK, accept, every),
        tick=False,
        number=str(one.number),
        pen=tuple(labels("setup").accepted),
        ring=one.reaction,
    )


def _limits(value: Cell) -> Words:
    if value.missing:
        return (Phrase(value.text, "missing"),)
    if value.least and value.most:
        band = f"{value.least} to {value.most}"
    else:
        band = f"≥ {value.least}" if value.least else f"≤ {value.most}" if value.most else ""
    return words(strong(f"{value.target} " if value.target else ""), firm(f"{band} {value.unit}"))


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


def _back_out(said: ChangeContent) -> Iterator[Block]:
    sentence = no_return(said.durations)
    if sentence:
        yield Paragraph(words(strong(sentence)))
    yield Listed(tuple(words(one) for one in said.back_out), numbered=True)


def _lanes(said: ChangeContent) -> Iterator[Block]:
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


# --- cards ------------------------------------------------------------------------------------


def _job(one: Job, hand: Hand, titles: Mapping[str, str]) -> CheckItem:
    w = labels("changeover")
    mine = [lock for lock in one.own_locks if lock.who == hand.id]
    on: list[Phrase] = []
    for lock in mine:
        sentence = w.lock_time.format(minutes=lock.minutes)
        on += [strong(w.lock_on.format(machine=lock.machine)), Phrase(f" {sentence}"), BREAK]
    others = ", ".join(titles[who] for who in one.who if who != hand.id)
    return CheckItem(
        words(
            strong("◆ " if one.critical else ""),
            on,
            (strong(f"{one.machine}:"), Phrase(" ")) if one.machine else "",
            one.text,
            Phrase(f" with {others}" if others else "", "italic"),
            (BREAK, strong(w.lock_off)) if mine else "",
        ),
        caution=one.caution,
        when=(one.at, one.until),
    )
