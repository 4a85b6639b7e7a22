"""The jobs of a plan: tasks in a row as one line of a job card."""

from __future__ import annotations

from collections.abc import Mapping

from kb.changeover.jobs import in_turn, jobs, timed
from kb.changeover.plan import PlannedChangeover


def test_a_job_names_its_machines_in_the_order_of_the_work(changed: Mapping[str, PlannedChangeover]) -> None:
    """A job lists its machines as its people come to them: another task can be at a machine before."""
    against = 0
    for name in changed:
        plan = changed[name].plan
        slots = timed(plan)
        for job in jobs(plan):
            mine = [
                one
                for one in slots
                if one.slot.who == job.who and one.part == job.part and job.start <= one.start < job.end
            ]
            run = [one for one in mine if one.task.step.text == job.text and one.task.number is not None]
            numbers = [one.task.number or 0 for one in sorted(run, key=lambda one: one.start)]
            if job.who and numbers:
                assert job.machine.endswith(f": {in_turn(numbers)}")
                against += numbers != sorted(numbers)
    assert against > 0
