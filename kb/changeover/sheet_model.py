"""What a changeover sheet says, with no trace of where it came from: renderers only read this.

`ChangeContent` is what is controlled: the sheet's code is computed from it, all of it and nothing beside it.
`ChangeSheet` adds what lives outside the code: the code itself and the day on which the copy was made.
Times count from the stop of the feed, T, or from the restart, R: `T−45`, `T+17`, `R+5`.
"""

from __future__ import annotations

from dataclasses import dataclass

from kb.blocks import CautionNote, Cell
from kb.changeover.model import Further, What
from kb.changeover.times import Moment
from kb.sheet.model import FirstOff, SignatureRow


@dataclass(frozen=True, slots=True)
class FormatNote:
    """One of the two formats, and the code of its setup sheet."""

    id: str
    title: str
    body: str
    end: str
    contents: str
    revision: int
    status: str
    effective: str
    code: str


@dataclass(frozen=True, slots=True)
class Header:
    """What the sheet is for; `kind` is the class of the changeover, `title` the class in words."""

    sheet: str
    plant: str
    line: str
    line_title: str
    old: FormatNote
    new: FormatNote
    kind: str
    title: str
    crew: str
    crew_title: str
    owner: str


@dataclass(frozen=True, slots=True)
class PastClock:
    """What past changeovers took to one of the clocks, from the last good can of the old format [min]."""

    name: str
    median: int
    worst: int


@dataclass(frozen=True, slots=True)
class Durations:
    """How long the line is down, never one number without its spread [min].

    Attributes:
        begin: when preparations begin.
        go: when the line lead decides.
        no_return: point of no return: until then the line can run the old format as it is; none where
            nothing is changed.
        no_return_at: machines at which the step after it is done.
        no_return_step: what that step does.
        back: planned stop of the changeover the other way, which going back takes after it; none where there
            can be none.
        planned: with typical times.
        bound: no plan with these people and times is shorter.
        proven: whether the plan is the shortest there is.
        proof: the same in words.
        median: of the simulated stops.
        nine_in_ten: nine of ten simulated stops are no longer.
        worst: with every step at its worst time.
        setting: minutes of people spent on setting and adjusting, inside the stop.
        setting_share: their share of all minutes of people inside the stop, as printed.
        past: what past changeovers of the same crew took, clock by clock.
        past_of: of which changeovers, in words.
        disagree: that planned, simulated and recorded times are apart, with numbers; "" where they agree.
        one_at_a_time: price of changing like machines one after the other; "" where that cannot be.
        made_of: what the stop is spent on, along its critical path.
        fitters: how long the stop is with one fitter at each machine, and with hand-overs.
    """

    begin: Moment
    go: Moment
    no_return: Moment | None
    no_return_at: str
    no_return_step: str
    back: int | None
    planned: int
    bound: int
    proven: bool
    proof: str
    median: int
    nine_in_ten: int
    worst: int
    setting: int
    setting_share: str
    past: tuple[PastClock, ...]
    past_of: str
    disagree: str
    one_at_a_time: str = ""
    made_of: str = ""
    fitters: str = ""


@dataclass(frozen=True, slots=True)
class MachineNote:
    """One row of what changes and what does not: names by kind."""

    number: int
    title: str
    count: int
    parts: tuple[str, ...]
    settings: tuple[str, ...]
    supplies: tuple[str, ...]
    gauges: tuple[str, ...]
    stays: tuple[str, ...]

    @property
    def touched(self) -> bool:
        """Whether anything changes at the machine itself."""
        return bool(self.parts or self.settings or self.supplies)


@dataclass(frozen=True, slots=True)
class StepNote:
    """A step at one group of machines, all of them together.

    Attributes:
        text: what is done.
        phase: phase of the step.
        machine: the machines as the crew calls them, "" for the line as a whole.
        number: of the machines on the line, 0 for the line as a whole.
        times: how often it is done, once for each machine or once.
        who: titles of the members who do it.
        start: when the first begins.
        end: when the last ends.
        critical: whether any delay of one of them delays the end.
        cautions: hazards of the step.
    """

    text: str
    phase: str
    machine: str
    number: int
    times: int
    who: tuple[str, ...]
    start: Moment
    end: Moment
    critical: bool
    cautions: tuple[CautionNote, ...]


@dataclass(frozen=True, slots=True)
class InspectionPoint:
    """A place where cans of the last format hide."""

    machine: str
    look: str


@dataclass(frozen=True, slots=True)
class NamedValue:
    """A further size of a tool."""

    name: str
    value: Cell


@dataclass(frozen=True, slots=True)
class ToolNote:
    """A tool that comes out or goes in at one place.

    Attributes:
        id: of the part in floor.yaml.
        part: name of the part.
        name: the same with its place, where it has several.
        place: which stage or ring, from 1; 0 where there is one place only.
        pieces: for all machines of the group.
        value: its size: that of the old format on the way out, of the new on the way in.
        also: further sizes.
        look_alike: how it differs from the tool it replaces, where the two are easily confused.
    """

    id: str
    part: str
    name: str
    place: int
    pieces: int
    value: Cell
    also: tuple[NamedValue, ...]
    look_alike: str


@dataclass(frozen=True, slots=True)
class ToolsAt:
    """The tools of one group of machines, with the hazards of handling them."""

    number: int
    title: str
    count: int
    cautions: tuple[CautionNote, ...]
    rows: tuple[ToolNote, ...]


@dataclass(frozen=True, slots=True)
class SettingNote:
    """A setting or supply that differs.

    `direct` where the new number is set on a scale or screen; where the number stays and metal or tools do
    not, the setting is found again with first-offs.
    """

    id: str
    what: What
    number: int
    machine: str
    name: str
    where: str
    old: Cell
    new: Cell
    direct: bool


@dataclass(frozen=True, slots=True)
class GaugeNote:
    """A gauge whose master changes, and what it then measures."""

    id: str
    name: str
    machine: str
    master: str
    checks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Excuse:
    """Values that differ with nothing on the line to change for them, and why."""

    values: tuple[str, ...]
    why: str


@dataclass(frozen=True, slots=True)
class GridRow:
    """When a group of machines is in which phase, minutes from T: `17–62`; "" for never."""

    number: int
    title: str
    isolate: str
    out: str
    fit: str
    set: str
    release: str
    first_off: str


@dataclass(frozen=True, slots=True)
class Hand:
    """A member of the crew; `idle` are the minutes without work inside the stop."""

    id: str
    title: str
    busy: int
    idle: int


@dataclass(frozen=True, slots=True)
class OwnLock:
    """A lock that a member hangs and takes off; `minutes` for both, at all machines named."""

    who: str
    machine: str
    minutes: int


@dataclass(frozen=True, slots=True)
class LockNote:
    """Who hangs a lock on an isolated machine, by title; who isolates it releases it.

    `which` is the machine of a group, "" where there is one.
    """

    number: int
    machine: str
    which: str
    isolates: tuple[str, ...]
    own: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Job:
    """One task, or several of one step in a row, done by the same people.

    Attributes:
        part: before the stop, inside it or after it.
        who: ids of the members.
        start: from the stop, or from the restart for what comes after it [s]; below 0 before the stop.
        end: the same [s].
        text: what is done.
        phase: phase of the step.
        number: of the machines on the line, 0 for the line as a whole.
        machine: group of machines and which of them, such as "Bodymakers H1 to H8: 3, 5".
        short: the same for a narrow space.
        critical: whether any delay delays the end.
        path: whether it is on the way through the plan that is shown as the critical path.
        caution: its hazard, if it has one.
        own_locks: who hangs a lock of their own before hands go in, and on which machines.
        sizes: what it fits or sets, each from the old value to the new one.
    """

    part: str
    who: tuple[str, ...]
    start: int
    end: int
    text: str
    phase: str
    number: int
    machine: str
    short: str
    critical: bool
    path: bool
    caution: CautionNote | None
    own_locks: tuple[OwnLock, ...] = ()
    sizes: tuple[Further, ...] = ()

    @property
    def at(self) -> Moment:
        """When it begins."""
        return Moment(self.start, self.part)

    @property
    def until(self) -> Moment:
        """When it ends."""
        return Moment(self.end, self.part)


@dataclass(frozen=True, slots=True)
class RampNote:
    """A step of the ramp-up to full speed."""

    speed: str
    minutes: int
    sample: str


@dataclass(frozen=True, slots=True)
class ChangeContent:
    """All that is controlled on a changeover sheet, in the order in which it is read."""

    header: Header
    good_for: int
    durations: Durations
    safety: str
    dangers: tuple[CautionNote, ...]
    machines: tuple[MachineNote, ...]
    excuses: tuple[Excuse, ...]
    ready: tuple[StepNote, ...]
    run_out: tuple[StepNote, ...]
    clear_points: tuple[InspectionPoint, ...]
    locks: tuple[LockNote, ...]
    out: tuple[ToolsAt, ...]
    fit: tuple[ToolsAt, ...]
    settings: tuple[SettingNote, ...]
    gauges: tuple[GaugeNote, ...]
    crew: tuple[Hand, ...]
    grid: tuple[GridRow, ...]
    jobs: tuple[Job, ...]
    verification: tuple[StepNote, ...]
    proof: tuple[StepNote, ...]
    first_offs: tuple[FirstOff, ...]
    restart: tuple[str, ...]
    ramp: tuple[RampNote, ...]
    release: tuple[SignatureRow, ...]
    after: tuple[StepNote, ...]
    reasons: tuple[str, ...]
    back_out: tuple[str, ...]
    return_to: str
    missing: tuple[str, ...]

    @property
    def stops(self) -> bool:
        """Whether the line stops for the changeover."""
        return any(one.part == "stop" for one in self.jobs)

    @property
    def alone(self) -> tuple[str, ...]:
        """The machines that must be left alone."""
        return tuple(one.title for one in self.machines if not one.touched)


@dataclass(frozen=True, slots=True)
class ChangeSheet:
    """A changeover sheet ready for paper or page.

    Attributes:
        content: what is controlled.
        code: five signs computed from the content.
        digest: the whole fingerprint.
        mark: the word printed across every page, "" on a sheet that may be used.
        unfit: why it is not for use.
        made: when this copy was made.
        good_until: last day on which this copy may be used.
    """

    content: ChangeContent
    code: str
    digest: str
    mark: str
    unfit: tuple[str, ...]
    made: str
    good_until: str

    @property
    def qr(self) -> str:
        """What the square code says: plain text, in capitals, readable without a network."""
        one = self.content.header
        return f"{one.sheet} setup {one.old.code} to {one.new.code} code {self.code} {self.digest}".upper()
