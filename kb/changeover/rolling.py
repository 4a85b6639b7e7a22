"""What a changeover would cost if the machines of one group were changed one after the other.

The line then runs on with the others, slower if they cannot keep its speed, and stops only to run out the old
format. No plan is made so: it would put hands into a machine of a running line. The sheet gives the price.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from kb.book.records import Line, Machine
from kb.changeover.model import Plan, StationChanges, Task
from kb.changeover.times import minutes
from kb.changeover.work import activities_of, part_of
from kb.scheduling.plan import schedule


@dataclass(frozen=True, slots=True)
class OneAtATime:
    """The machines of a group changed one after the other.

    Attributes:
        title: the machines as the crew calls them.
        count: how many there are.
        each: how long one of them is out [s].
        speed: share of the line's speed that the others keep.
        stop: how long the line stops [s].
        planned: the stop with all of them changed inside it [s].
    """

    title: str
    count: int
    each: int
    speed: float
    stop: int
    planned: int

    @property
    def lost(self) -> int:
        """Output lost, as time of the line at its speed [s]."""
        return round(self.stop + self.count * self.each * (1 - self.speed))

    @property
    def words(self) -> str:
        """The price in plain words."""
        if self.lost < self.planned:
            saved = f"This saves {minutes(self.planned - self.lost)} min of output; the plan does not do it."
        else:
            saved = "The plan stops the line: this costs no more output."
        return (
            f"{self.title}, one at a time: the line would stop {minutes(self.stop)} min "
            f"and run at {100 * self.speed:.0f} % of its speed for {self.count} × {minutes(self.each)} min. "
            f"Lost output: {minutes(self.lost)} min, as planned {minutes(self.planned)} min. {saved}"
        )


def one_at_a_time(plan: Plan, line: Line) -> OneAtATime | None:
    """The price of changing the machines of the only group that needs hands in it one after the other.

    None where the line does not say that its machines can be changed so, where hands go into others too, or
    where no speed is given.
    """
    entered = {place.partition("#")[0] for task in plan.tasks.values() for place in task.inside}
    group = next((one for one in line.machines if {one.id} == entered), None)
    rate = _rate(group) if group else None
    if group is None or rate is None or not group.one_at_a_time or group.count < 2:
        return None
    station = next(one for one in plan.difference.stations if one.id == group.id)
    outside = {
        ident: replace(task, step=replace(task.step, phase="before")) if task.station == group.id else task
        for ident, task in plan.tasks.items()
    }
    left = schedule(activities_of(outside, part="stop"), plan.operators, plan.equipment, effort=0)
    return OneAtATime(
        title=group.title,
        count=group.count,
        each=_out(plan.tasks, station),
        speed=min(1.0, (group.count - 1) * rate / float(line.speed)),
        stop=left.length,
        planned=plan.stop.length,
    )


def _rate(group: Machine) -> float | None:
    """Cans a minute of one machine; a bodymaker makes one each stroke."""
    found = group.speed if group.speed is not None else group.ram_speed
    return None if found is None else float(found)


def _out(tasks: Mapping[str, Task], station: StationChanges) -> int:
    """How long one machine is out [s]: run empty, changed and proven, one task after the other."""
    found = 0.0
    for task in tasks.values():
        mine = task.station == station.id and task.number in (None, 1)
        empties = not task.station and task.step.phase == "clear" and station.kind in task.step.machines
        if part_of(task.step) == "stop" and (mine or empties):
            found += float(task.step.time.typical)
    return round(found)
