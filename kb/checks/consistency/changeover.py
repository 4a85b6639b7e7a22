"""Checks on changeover.yaml: its steps can be put in an order, by its crews, with its equipment.

They answer what changes on the floor. Weeks and past changeovers name lines, crews and formats that exist.
Isolation is in isolation.py.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Mapping
from difflib import get_close_matches
from graphlib import CycleError, TopologicalSorter
from itertools import combinations, pairwise, permutations

from kb.book.conversion import with_article
from kb.book.finding import Finding
from kb.book.load import Book, Spec
from kb.book.quantity import as_quantity
from kb.book.records_floor import Changeover, Crew, Floor, Member, PastChangeover, Phase, Run, Step, Week
from kb.checks.consistency.fault import did_you_mean, fault, repeated
from kb.checks.consistency.floor_index import Item, items
from kb.checks.consistency.isolation import isolation_faults, moves_isolated, moving_faults, waits_for

ORDER: dict[Phase, int] = {
    "before": 0,
    "clear": 1,
    "isolate": 1,
    "out": 2,
    "in": 2,
    "set": 2,
    "release": 2,
    "verify": 2,
    "first-off": 2,
    "restart": 3,
    "after": 4,
}
"""Phases that follow one another; those of one number follow their needs alone."""

OUTSIDE: tuple[Phase, ...] = ("before", "after")
"""Phases in which the line runs."""

PROOF: tuple[Phase, ...] = ("verify", "first-off")
"""Phases in which first-offs are made."""

MOST_RINGS = 20

NEAR = 0.8
"""How much alike two names are, from 0 to 1, when one is taken for a misspelling of the other."""


def changeover_faults(book: Book) -> Iterator[Finding]:
    """What is wrong with the changeover file and with the weeks; of a broken changeover file, nothing."""
    yield from week_faults(book)
    spec = book.only("changeover")
    if spec is None:
        return
    library: Changeover = spec.record
    yield from _repeated(spec, library)
    yield from _steps(spec, library)
    yield from _rings(spec, library)
    yield from _people(book, spec, library)
    yield from _machines(book, spec, library)
    yield from isolation_faults(book, spec, library)
    yield from moving_faults(spec, library)
    yield from floor_answer_faults(book, spec, library)
    yield from past_faults(book, spec, library)


# --- ids ----------------------------------------------------------------------------------------


def _repeated(spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    lists = [
        ("step", [(f"steps[{i}].id", one.id) for i, one in enumerate(library.steps)]),
        ("crew", [(f"crews[{i}].id", one.id) for i, one in enumerate(library.crews)]),
        ("piece of equipment", [(f"equipment[{i}].id", one.id) for i, one in enumerate(library.equipment)]),
    ]
    for i, crew in enumerate(library.crews):
        members = [(f"crews[{i}].members[{j}].id", one.id) for j, one in enumerate(crew.members)]
        lists.append((f"member of {crew.id}", members))
    for what, ids in lists:
        yield from repeated(spec, "changeover.repeated", what, ids)


# --- steps --------------------------------------------------------------------------------------


def _steps(spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    steps = {one.id: one for one in library.steps}
    equipment = {one.id: one.count for one in library.equipment}
    for i, step in enumerate(library.steps):
        at = f"steps[{i}]"
        yield from _needs(spec, at, step, steps)
        yield from _uses(spec, at, step, equipment)
        for key, skill in (("skill", step.skill), ("second", step.second), ("third", step.third)):
            if skill and skill not in library.skills:
                fix = did_you_mean(skill, library.skills)
                message = f"skill {skill} does not exist"
                yield fault(spec, f"{at}.{key}", "changeover.unknown-skill", message, fix)
        each = step.time.piece
        if each is not None and each.worst < each.typical:
            worst, typical = (as_quantity(one).text for one in (each.worst, each.typical))
            message = f"worst time {worst} of a piece is below its typical time {typical}"
            yield fault(spec, f"{at}.time.piece.worst", "changeover.worst", message, "exchange the two")
        if step.time.worst < step.time.typical:
            worst, typical = (as_quantity(one).text for one in (step.time.worst, step.time.typical))
            message = f"{step.id} has a worst time of {worst} and a typical time of {typical}"
            yield fault(spec, f"{at}.time.worst", "changeover.worst", message, "exchange the two")
        if step.machine is None and (step.each or step.hands_in):
            key = "each" if step.each else "hands_in"
            what = "is done at each machine" if step.each else "has hands in a machine"
            message = f"{step.id} {what} and names no machine"
            yield fault(spec, f"{at}.{key}", "changeover.no-machine", message, "add its machine")


def _needs(spec: Spec[Changeover], at: str, step: Step, steps: Mapping[str, Step]) -> Iterator[Finding]:
    for k, need in enumerate(step.needs):
        key, other = f"{at}.needs[{k}]", steps.get(need)
        if other is None:
            fix = did_you_mean(need, steps)
            yield fault(spec, key, "changeover.unknown-step", f"step {need} does not exist", fix)
        elif ORDER[other.phase] > ORDER[step.phase]:
            message = f"{step.id} ({step.phase}) needs {need}, which comes later ({other.phase})"
            fix = "remove the need, or correct the phase of one of the two"
            yield fault(spec, key, "changeover.phase", message, fix)
    for k, ident in enumerate(step.checks):
        key, other = f"{at}.checks[{k}]", steps.get(ident)
        if other is None:
            message = f"step {ident} does not exist"
            yield fault(spec, key, "changeover.unknown-step", message, did_you_mean(ident, steps))
        elif ident not in step.needs or not step.people or _part(other) != _part(step):
            message = f"{step.id} checks {ident}, and does not wait for it with a person in the same part"
            fix = f"add {ident} to its needs, with both before, both during or both after the stop"
            yield fault(spec, key, "changeover.checks", message, fix)


def _part(step: Step) -> str:
    """Before, during or after the stop."""
    return step.phase if step.phase in OUTSIDE else "stop"


def _uses(spec: Spec[Changeover], at: str, step: Step, equipment: Mapping[str, int]) -> Iterator[Finding]:
    for ident, count in Counter(step.uses).items():
        key = f"{at}.uses[{step.uses.index(ident)}]"
        if ident not in equipment:
            fix = did_you_mean(ident, equipment)
            message = f"equipment {ident} does not exist"
            yield fault(spec, key, "changeover.unknown-equipment", message, fix)
        elif count > equipment[ident]:
            message = f"{step.id} needs {count} of {ident}; the plant has {equipment[ident]}"
            fix = f"name {ident} at most that often, or correct its number"
            yield fault(spec, key, "changeover.equipment", message, fix)


# --- order --------------------------------------------------------------------------------------


def _rings(spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    """Steps that wait for one another, by their needs and by the order of isolation."""
    steps = {one.id: (i, one) for i, one in enumerate(library.steps)}
    graph = {ident: _waits_for(one, library) for ident, (_, one) in steps.items()}
    for _ in range(MOST_RINGS):
        try:
            TopologicalSorter(graph).prepare()
        except CycleError as error:
            ring: list[str] = error.args[1][::-1]  # each waits for the next, the last is the first again
        else:
            return
        _, step = steps[ring[0]]
        chain = " needs ".join(ring) if len(ring) > 2 else f"{ring[0]} needs itself"
        written = [one for one in pairwise(ring) if one[1] in steps[one[0]][1].needs]
        who, needed = written[0] if written else (step.id, "")
        i, step = steps[who]
        key = f"steps[{i}].needs[{step.needs.index(needed)}]" if written else f"steps[{i}].id"
        message = f"steps wait for each other: {chain}"
        if len(written) < len(ring) - 1:
            message += " (at a machine: clear, isolate, hands in, release, run under power)"
        yield fault(spec, key, "changeover.ring", message, "remove one of these needs")
        graph[who] = graph[who] - {needed or ring[1]}


def _waits_for(step: Step, library: Changeover) -> frozenset[str]:
    """Steps that come before a step; what safety asks of one that moves an isolated machine is left out."""
    return frozenset(step.needs if moves_isolated(step, library) else waits_for(step, library.steps))


# --- people -------------------------------------------------------------------------------------


def _people(book: Book, spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    asking = [one for one in library.steps if one.people and set(one.skills) <= set(library.skills)]
    for i, crew in enumerate(library.crews):
        for j, member in enumerate(crew.members):
            for k, skill in enumerate(member.skills):
                if skill not in library.skills:
                    fix = did_you_mean(skill, library.skills)
                    key = f"crews[{i}].members[{j}].skills[{k}]"
                    yield fault(spec, key, "changeover.unknown-skill", f"skill {skill} does not exist", fix)
        mine = [one for one in asking if _done_by(book, crew, one)]
        yield from _lacking(spec, i, crew, mine)
        yield from _own_check(spec, i, crew, mine)
        yield from _running(spec, i, crew, mine)
    for i, step in enumerate(library.steps):
        crews = [one for one in library.crews if _done_by(book, one, step)]
        yield from _too_many(spec, f"steps[{i}]", step, crews)


def _lacking(spec: Spec[Changeover], i: int, crew: Crew, asking: list[Step]) -> Iterator[Finding]:
    has = {skill for member in crew.members for skill in member.skills}
    for skill in dict.fromkeys(skill for one in asking for skill in one.skills):
        if skill not in has:
            first, *others = (one.id for one in asking if skill in one.skills)
            message = f"nobody in {crew.id} has {skill}, which {first} requires"
            message += f", and {len(others)} more" if others else ""
            fix = f"give {skill} to a member who is trained and authorised for it"
            yield fault(spec, f"crews[{i}].id", "changeover.no-skill", message, fix)
    for step in asking:
        if set(step.skills) <= has and not _matched(crew.members, step):
            message = f"{step.id} requires {' and '.join(step.skills)} of different people in {crew.id}"
            fix = "give one of these skills to another member who is trained and authorised for it"
            yield fault(spec, f"crews[{i}].id", "changeover.no-skill", message, fix)


def _matched(members: Collection[Member], step: Step) -> bool:
    """Whether there is another member for each skill of a step."""
    return any(
        all(skill in member.skills for skill, member in zip(step.skills, some, strict=True))
        for some in permutations(members, len(step.skills))
    )


def _own_check(spec: Spec[Changeover], i: int, crew: Crew, asking: list[Step]) -> Iterator[Finding]:
    """Steps that check work which nobody other than the checkers can do."""
    steps = {one.id: one for one in asking}
    for step in asking:
        checked = [steps[one] for one in step.checks if one in steps and _matched(crew.members, steps[one])]
        ways = [some for some in combinations(crew.members, step.people) if _matched(some, step)]
        left = [[one for one in crew.members if one not in some] for some in ways]
        own = [
            [one.id for one in checked if one.people > len(others) or not _matched(others, one)]
            for others in left
        ]
        if own and all(own):
            message = (
                f"{step.id} checks {own[0][0]}, and nobody other than the checker in {crew.id} can do that"
            )
            fix = "give the skill of one of the two to another member who is trained and authorised for it"
            yield fault(spec, f"crews[{i}].id", "changeover.own-check", message, fix)


def _running(spec: Spec[Changeover], i: int, crew: Crew, asking: list[Step]) -> Iterator[Finding]:
    """Members who run the line and leave too few for a step before or after the stop."""
    left = len(crew.members) - crew.running
    beside = [one for one in asking if one.phase in ("before", "after") and one.people > left]
    if beside:
        message = f"{crew.running} of {crew.id} run the line; {left} are left for {beside[0].id}"
        fix = "reduce the number of members who run the line"
        yield fault(spec, f"crews[{i}].running", "changeover.people", message, fix)


def _too_many(spec: Spec[Changeover], at: str, step: Step, crews: list[Crew]) -> Iterator[Finding]:
    for key, count in (("third", 3), ("second", 2)):
        if getattr(step, key) and step.people < count:
            message = f"{step.id} has a skill of the {key} person, but {step.people} people"
            fix = f"set people to {count}, or remove the skill"
            yield fault(spec, f"{at}.{key}", "changeover.people", message, fix)
    if step.everyone and step.people != 1:
        message = f"{step.id} is for everyone, and has {step.people} people"
        yield fault(spec, f"{at}.people", "changeover.people", message, "remove people, or everyone")
    if not step.people and step.skill:
        message = f"{step.id} has no people, but requires {step.skill}"
        yield fault(
            spec, f"{at}.skill", "changeover.people", message, "remove the skill, or add the number of people"
        )
    small = min(crews, key=lambda one: len(one.members), default=None)
    if small is not None and step.people > len(small.members):
        message = f"{step.id} needs {step.people} people; {small.id} has {len(small.members)}"
        fix = "reduce the number, or divide the step"
        yield fault(spec, f"{at}.people", "changeover.people", message, fix)


def _done_by(book: Book, crew: Crew, step: Step) -> bool:
    """Whether a step can come up on a crew's line."""
    line = book.of("line").get(crew.line)
    there = line is not None and any(one.kind == step.machine for one in line.record.machines)
    return step.machine is None or there


# --- machines and lines -------------------------------------------------------------------------


def _machines(book: Book, spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    lines = book.of("line")
    if not lines:
        return
    kinds = {machine.kind for line in lines.values() for machine in line.record.machines}
    named = [(f"steps[{i}].machine", one.machine, one.id) for i, one in enumerate(library.steps)]
    points = [
        (f"clear_points[{i}].machine", one.machine, one.look) for i, one in enumerate(library.clear_points)
    ]
    for key, kind, what in (*named, *points):
        if kind is not None and kind not in kinds and not _lines_broken(book):
            message = f"no line has {with_article(kind)}; never done: {what}"
            fix = "remove it, or name a machine that a line has"
            yield fault(spec, key, "changeover.not-on-line", message, fix, severity="warning")
    crewed = {one.line for one in library.crews}
    for line in lines:
        if line not in crewed:
            message = f"{line} has no crew"
            yield fault(
                spec, "crews", "changeover.no-crew", message, "add a crew for the line", severity="warning"
            )


def _lines_broken(book: Book) -> bool:
    return any(file.split("/")[-2:-1] == ["lines"] for file in book.broken)


# --- steps and what they answer -----------------------------------------------------------------


def floor_answer_faults(book: Book, spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    """What steps say of the floor, and what of the floor no step answers; nothing if floor.yaml is broken."""
    floor = book.only("floor")
    if floor is None:
        yield from _without_floor(book, spec, library)
        return
    known = {one.id: one for one in items(floor.record)}
    for i, step in enumerate(library.steps):
        for k, ident in enumerate(step.because_of):
            yield from _because_of(spec, f"steps[{i}].because_of[{k}]", step, ident, known)
    yield from _proofs(spec, floor, library)
    answered = {ident for one in library.steps for ident in one.because_of}
    inside = {ident for one in library.steps if one.phase not in OUTSIDE for ident in one.because_of}
    for ident, item in known.items():
        if ident not in (inside if item.what == "part" else answered):
            message = (
                f"no step{' inside the stop' if item.what == 'part' else ''} changes {item.what} {ident}"
            )
            fix = f"add {ident} to because_of of a step at the {item.machine} in changeover.yaml"
            yield fault(floor, f"{item.at}.id", "changeover.no-step", message, fix)


def _proofs(spec: Spec[Changeover], floor: Spec[Floor], library: Changeover) -> Iterator[Finding]:
    """First-offs that no step makes, and steps that make an unknown one."""
    known = {one.id: one for one in floor.record.first_offs}
    for i, step in enumerate(library.steps):
        for k, ident in enumerate(step.proves):
            if ident not in known:
                message = f"floor.yaml has no first-off check {ident}"
                fix = did_you_mean(ident, known)
                yield fault(spec, f"steps[{i}].proves[{k}]", "changeover.unknown-item", message, fix)
    made = {ident for one in library.steps if one.phase in PROOF for ident in one.proves}
    for i, ident in enumerate(known):
        if ident not in made:
            message = f"no step makes first-off check {ident}"
            fix = f"add {ident} to proves of a step of phase {' or '.join(PROOF)} in changeover.yaml"
            yield fault(floor, f"first_offs[{i}].id", "changeover.no-proof", message, fix)


def _without_floor(book: Book, spec: Spec[Changeover], library: Changeover) -> Iterator[Finding]:
    if any(file.endswith("floor.yaml") for file in book.broken):
        return
    first = next((i for i, one in enumerate(library.steps) if one.because_of), None)
    if first is not None:
        message = "the book has no floor.yaml with parts, settings and supplies"
        fix = "add floor.yaml with the parts of each machine"
        yield fault(spec, f"steps[{first}].because_of[0]", "changeover.unknown-item", message, fix)


def _because_of(
    spec: Spec[Changeover], key: str, step: Step, ident: str, known: dict[str, Item]
) -> Iterator[Finding]:
    item = known.get(ident)
    if item is None:
        fix = did_you_mean(ident, known)
        message = f"floor.yaml has no part, setting or supply {ident}"
        yield fault(spec, key, "changeover.unknown-item", message, fix)
    elif step.machine is not None and item.machine != step.machine:
        message = (
            f"{step.id} is done at the {step.machine}; {item.what} {ident} belongs to the {item.machine}"
        )
        fix = "name it in a step at its own machine, or remove the machine"
        yield fault(spec, key, "changeover.other-machine", message, fix)


# --- weeks and past changeovers ------------------------------------------------------------------


def week_faults(book: Book) -> Iterator[Finding]:
    """What is wrong with the weeks of a book; crews need a valid changeover file."""
    library = book.only("changeover")
    crews = None if library is None else {one.id: one for one in library.record.crews}
    for spec in book.of("week").values():
        week: Week = spec.record
        if crews is not None:
            yield from _crew_faults(spec, "crew", week.crew, week.line, crews)
            for i, shift in enumerate(week.shifts):
                yield from _crew_faults(spec, f"shifts[{i}].crew", shift.crew, week.line, crews)
        yield from _shift_faults(spec, week)
        yield from _format_faults(book, spec, "running", week.running, week.line)
        for i, run in enumerate(week.runs):
            yield from _format_faults(book, spec, f"runs[{i}].format", run.format, week.line)
            yield from _due_faults(spec, week, i, run)
        for i, one in enumerate(week.closed):
            before = week.closed[i - 1].ends if i else ""
            if not before <= one.begins < one.ends:
                message = f"closed {one.begins} to {one.ends}" + (f", after {before}" if before else "")
                fix = "write the times in order, each ending after it begins"
                yield fault(spec, f"closed[{i}].begins", "changeover.closed", message, fix)


def _due_faults(spec: Spec[Week], week: Week, i: int, run: Run) -> Iterator[Finding]:
    by_stock = run.stock is not None and run.demand is not None
    if bool(run.due) == by_stock or (run.stock is None) != (run.demand is None):
        message = (
            f"{run.format} has no due time"
            if not (run.due or by_stock)
            else f"{run.format} has two due times"
        )
        fix = "write due, or stock and demand"
        yield fault(spec, f"runs[{i}].format", "changeover.due", message, fix)
        return
    due = run.due_at(week.start)
    if run.due and due <= week.start:  # both year-month-day hour:minute, so text compares as time does
        message = f"{run.format} is due {due}, and the week begins {week.start}"
        yield fault(spec, f"runs[{i}].due", "changeover.due", message, "correct one of the two")
    if run.ready >= due:
        message = f"{run.format} is ready {run.ready} and due {due}"
        yield fault(spec, f"runs[{i}].ready", "changeover.ready", message, "correct one of the two")


def _shift_faults(spec: Spec[Week], week: Week) -> Iterator[Finding]:
    """Shifts that overlap: two crews at the same hour."""
    for i, one in enumerate(week.shifts):
        for other in week.shifts[:i]:
            if other.has(one.begins) or one.has(other.begins):
                message = f"{one.crew} from {one.begins} and {other.crew} from {other.begins} overlap"
                fix = "correct the hours: one crew at a time"
                yield fault(spec, f"shifts[{i}].begins", "changeover.shift", message, fix)


def past_faults(book: Book, spec: Spec, library: Changeover) -> Iterator[Finding]:
    """What is wrong with the record of past changeovers.

    Lines, formats and crews of the past may be gone. A name that nothing has or had, and that is nearly one
    of the book, is reported as a misspelling, a crew that is gone as a note.
    """
    crews = {one.id: one for one in library.crews}
    lines, formats = ({*book.ids(kind), *_recorded(book, kind)} for kind in ("line", "size-format"))
    for i, past in enumerate(library.past):
        yield from _misspelt(spec, f"past[{i}].line", "line", past.line, lines)
        yield from _misspelt(spec, f"past[{i}].came_from", "format", past.came_from, formats)
        yield from _misspelt(spec, f"past[{i}].went_to", "format", past.went_to, formats)
        yield from _past_crew(spec, f"past[{i}].crew", past, crews)
        if past.crew in crews and past.line in book.of("line"):
            yield from _crew_faults(spec, f"past[{i}].crew", past.crew, past.line, crews)
        yield from _clocks(spec, f"past[{i}]", past)


def _recorded(book: Book, kind: str) -> set[str]:
    """Formats or lines that the register of codes has, which forgets none."""
    register = book.only("sheet-codes")
    entries = register.record.codes if register else ()
    return {one.line if kind == "line" else one.format for one in entries}


def _misspelt(spec: Spec, key: str, what: str, ident: str, known: Collection[str]) -> Iterator[Finding]:
    near = [] if ident in known else get_close_matches(ident, known, n=1, cutoff=NEAR)
    if near:
        message = f"{what} {ident} does not exist; a similar name is {near[0]}"
        fix = f"did you mean {near[0]}? keep the name if the {what} was removed from the book"
        yield fault(spec, key, "changeover.past-name", message, fix, severity="warning")


def _past_crew(spec: Spec, key: str, past: PastChangeover, crews: Mapping[str, Crew]) -> Iterator[Finding]:
    """A crew that is misspelt, or that the file does not have: its stop counts for no plan."""
    misspelt = list(_misspelt(spec, key, "crew", past.crew, crews))
    yield from misspelt
    if not misspelt and past.crew not in crews:
        message = f"the stop of {past.day} is of crew {past.crew}, which changeover.yaml does not have"
        fix = "name the crew that did it; keep the name of a removed crew, its stop is compared with no plan"
        yield fault(spec, key, "changeover.past-name", message, fix, severity="note")


def _clocks(spec: Spec, at: str, past: PastChangeover) -> Iterator[Finding]:
    clocks = (("stopped", past.stopped), ("first_good", past.first_good), ("at_rate", past.at_rate))
    for (before, earlier), (after, later) in pairwise(clocks):
        if later < earlier:
            message = f"{after} {as_quantity(later).text} is before {before} {as_quantity(earlier).text}"
            fix = "all three times start at the last good can of the old format"
            yield fault(spec, f"{at}.{after}", "changeover.clocks", message, fix)


def _crew_faults(spec: Spec, key: str, ident: str, line: str, crews: Mapping[str, Crew]) -> Iterator[Finding]:
    crew = crews.get(ident)
    if crew is None:
        fix = did_you_mean(ident, crews)
        yield fault(spec, key, "changeover.unknown-crew", f"changeover.yaml has no crew {ident}", fix)
    elif crew.line != line:
        theirs = [one.id for one in crews.values() if one.line == line]
        message = f"{ident} is a crew of {crew.line}, not of {line}"
        yield fault(
            spec, key, "changeover.other-line", message, f"crews of {line}: {', '.join(theirs) or 'none'}"
        )


def _format_faults(book: Book, spec: Spec, key: str, ident: str, line: str) -> Iterator[Finding]:
    found = book.of("size-format").get(ident)
    if found is None:
        return  # reported where references are looked up
    if line not in found.record.lines:
        message = f"{ident} is made on {', '.join(found.record.lines)}, not on {line}"
        fix = "plan it there, or add the line to the format if its machines can make it"
        yield fault(spec, key, "changeover.other-line", message, fix)
    if found.record.status in {"draft", "withdrawn"}:
        message = f"{ident} must not run: its status is {found.record.status}"
        yield fault(
            spec, key, "changeover.not-released", message, "run a format that is released or on trial"
        )
