"""Interchangeable activities, such as those at equal machines.

Two activities change places together with those tied to them alone, such as the others at their machine. If
the network is then as it was, the two can be put in one order without losing a schedule.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from kb.scheduling.activities import Network


def interchangeable_activities(net: Network) -> list[list[int]]:
    """Chains of activities of which each may change places with the next."""
    colours = _colours(net)
    classes: dict[int, list[int]] = {}
    for i in net.order:
        classes.setdefault(colours[i], []).append(i)
    chains = []
    covered: set[int] = set()
    for alike in classes.values():
        left = [i for i in alike if i not in covered]
        while len(left) > 1:
            chain, touched = _chain(net, colours, left, covered)
            left = [i for i in left if i not in chain]
            if len(chain) > 1:
                chains.append(chain)
                covered |= touched
    return chains


def _chain(
    net: Network, colours: Sequence[int], alike: Sequence[int], covered: set[int]
) -> tuple[list[int], set[int]]:
    chain: list[int] = [alike[0]]
    touched: set[int] = set()
    for other in alike[1:]:
        moved = _exchange(net, colours, chain[-1], other)
        if moved and not covered & moved.keys():
            chain.append(other)
            touched |= moved.keys()
    return chain, touched


def _colours(net: Network) -> list[int]:
    """A number for each activity, the same for activities alike in themselves and in their neighbours."""
    colours = _numbered(
        (
            activity.seconds,
            activity.people,
            activity.skill,
            activity.entry_seconds,
            tuple(sorted(activity.uses.values())),
        )
        for activity in net.activities
    )
    while True:
        kept = _equipment_colours(net, colours)
        finer = _numbered(
            (
                colours[i],
                *(tuple(sorted(colours[k] for k in links[i])) for links in _links(net)),
                tuple(sorted((count, kept[name]) for name, count in activity.uses.items())),
            )
            for i, activity in enumerate(net.activities)
        )
        if len(set(finer)) == len(set(colours)):
            return finer
        colours = finer


def _equipment_colours(net: Network, colours: Sequence[int]) -> dict[str, int]:
    """A number for each piece of equipment, the same for those with as many and with activities alike."""
    users: dict[str, list[tuple[int, int]]] = {name: [] for name in net.equipment}
    for i, activity in enumerate(net.activities):
        for name, count in activity.uses.items():
            users[name].append((count, colours[i]))
    looks = _numbered((net.equipment[name], tuple(sorted(found))) for name, found in users.items())
    return dict(zip(users, looks, strict=True))


def _links(net: Network) -> tuple[Sequence[Sequence[int]], ...]:
    """By what activities are tied to each other, each kind of tie by itself."""
    return net.needs, net.followers, net.partners, net.entries


def _numbered(looks: Iterable[tuple[object, ...]]) -> list[int]:
    known: dict[tuple[object, ...], int] = {}
    return [known.setdefault(look, len(known)) for look in looks]


def _exchange(net: Network, colours: Sequence[int], one: int, other: int) -> dict[int, int] | None:
    """Activities that change places when two do; None if that would alter the network."""
    moved: dict[int, int] = {}
    swapped: dict[str, str] = {}
    todo = [(one, other)]
    while todo:
        a, b = todo.pop()
        if moved.get(a, b) != b or moved.get(b, a) != a or colours[a] != colours[b]:
            return None
        if a in moved:
            continue
        moved[a], moved[b] = b, a
        for links in _links(net):
            only_a = sorted(set(links[a]) - set(links[b]), key=lambda k: (colours[k], k))
            only_b = sorted(set(links[b]) - set(links[a]), key=lambda k: (colours[k], k))
            if len(only_a) != len(only_b):
                return None
            todo += zip(only_a, only_b, strict=True)
        if not _swap(swapped, net.activities[a].uses, net.activities[b].uses):
            return None
    return moved if _same_network(net, moved, swapped) else None


def _swap(swapped: dict[str, str], one: Mapping[str, int], other: Mapping[str, int]) -> bool:
    """Pair the equipment that only one of two activities uses; False where it is paired otherwise already."""
    only_one = sorted(one.items() - other.items(), key=lambda use: (use[1], use[0]))
    only_other = sorted(other.items() - one.items(), key=lambda use: (use[1], use[0]))
    for (a, count), (b, wanted) in zip(only_one, only_other, strict=False):
        if count != wanted or swapped.setdefault(a, b) != b or swapped.setdefault(b, a) != a:
            return False
    return len(only_one) == len(only_other)


def _same_network(net: Network, moved: Mapping[int, int], swapped: Mapping[str, str]) -> bool:
    """Whether an exchange makes the network that there was."""
    if any(net.equipment[a] != net.equipment[b] for a, b in swapped.items()):
        return False
    for i, activity in enumerate(net.activities):
        uses = {swapped.get(name, name): count for name, count in activity.uses.items()}
        if uses != net.activities[moved.get(i, i)].uses:
            return False
    return all(
        {moved.get(k, k) for k in links[a]} == set(links[b])
        for links in _links(net)
        for a, b in moved.items()
    )
