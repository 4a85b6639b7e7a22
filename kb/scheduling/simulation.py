"""Monte Carlo simulation of a schedule: its length when activities take longer than typical."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from kb.scheduling.activities import Activity, Operator, Schedule, network
from kb.scheduling.critical_path import execution_order, predecessors

RUNS = 4000
SEED = 1


@dataclass(frozen=True, slots=True)
class DurationStats:
    """Length of a simulated schedule [s]: typical times, median, 90th percentile, worst times."""

    typical: int
    median: int
    nine_in_ten: int
    worst: int


def simulate(
    schedule: Schedule,
    activities: Sequence[Activity],
    crew: Sequence[Operator],
    equipment: Mapping[str, int],
    worst: Mapping[str, int],
) -> DurationStats:
    """Simulate the length of a schedule whose order everybody keeps.

    In half of all runs an activity takes its typical time, since the next one waits for the plan. In the
    other half it takes longer, up to its worst time. Activities vary independently. The same activities give
    the same numbers.

    Args:
        schedule: a schedule of the activities.
        activities: the activities with their typical times.
        crew: the operators.
        equipment: how many there are of each shared piece.
        worst: worst time of each activity [s].

    Returns:
        Statistics of the length.

    Source:
        The longer half is a triangle from the typical to the worst time, highest at the typical: common
        practice, no source.

    Note:
        Causes that delay all activities at once, such as an absent operator, are not in it.
    """
    net = network(activities, crew, equipment)
    at = {slot.id: slot for slot in schedule.slots}
    starts = [at[activity.id].start for activity in activities]
    who = [at[activity.id].who for activity in activities]
    before = predecessors(net, starts, who)
    chance = np.random.default_rng(SEED)
    typical = np.array(net.durations(who), dtype=float)
    most = np.maximum(typical, np.array([worst[activity.id] for activity in activities], dtype=float))
    order = execution_order(net, starts, net.durations(who))

    def ends(seconds: np.ndarray) -> np.ndarray:
        """When the last activity ends in each column of times."""
        done = np.zeros_like(seconds)
        for i in order:
            done[i] = seconds[i] + (done[sorted(before[i])].max(axis=0) if before[i] else 0)
        return done.max(axis=0, initial=0)

    # 0 in half of all runs, in the others a ratio with a density that falls in a straight line from 0 to 1
    share = 1 - np.sqrt(np.minimum(1, 2 - 2 * chance.random((len(activities), RUNS))))
    drawn = np.sort(ends(typical[:, None] + share * (most - typical)[:, None]))
    edges = ends(np.stack([typical, most], axis=1))
    return DurationStats(
        typical=round(edges[0]),
        median=round(float(np.quantile(drawn, 0.5))),
        nine_in_ten=round(float(np.quantile(drawn, 0.9))),
        worst=round(edges[1]),
    )
