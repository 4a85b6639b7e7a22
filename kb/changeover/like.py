"""Works that may change places: eight equal bodymakers are one bodymaker eight times.

Two works are exchanged together with all that hangs on them alone, such as the chain of works at a machine.
Where that leaves the network as it was, no schedule is lost by asking for one order of the two.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from kb.changeover.network import Network


def like_works(net: Network) -> list[list[int]]:
    """Chains of works of which each may change places with the next.

    Args:
        net: works with crew and equipment.

    Returns:
        Chains of places in the network's works; exchanges in one chain touch no work of another.
    """
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
    """A number for each work, the same for works alike in themselves and in their neighbours."""
    colours = _numbered(
        (work.seconds, work.people, work.skill, tuple(sorted(work.uses.items()))) for work in net.works
    )
    while True:
        finer = _numbered(
            (
                colours[i],
                tuple(sorted(colours[k] for k in net.needs[i])),
                tuple(sorted(colours[k] for k in net.followers[i])),
            )
            for i in range(len(net.works))
        )
        if len(set(finer)) == len(set(colours)):
            return finer
        colours = finer


def _numbered(looks: Iterable[tuple[object, ...]]) -> list[int]:
    known: dict[tuple[object, ...], int] = {}
    return [known.setdefault(look, len(known)) for look in looks]


def _exchange(net: Network, colours: Sequence[int], one: int, other: int) -> dict[int, int] | None:
    """What changes places when two works do; nothing where that would alter the network."""
    moved: dict[int, int] = {}
    todo = [(one, other)]
    while todo:
        a, b = todo.pop()
        if moved.get(a, b) != b or moved.get(b, a) != a or colours[a] != colours[b]:
            return None
        if a in moved:
            continue
        moved[a], moved[b] = b, a
        for links in (net.needs, net.followers):
            only_a = sorted(set(links[a]) - set(links[b]), key=lambda k: (colours[k], k))
            only_b = sorted(set(links[b]) - set(links[a]), key=lambda k: (colours[k], k))
            if len(only_a) != len(only_b):
                return None
            todo += zip(only_a, only_b, strict=True)
    for links in (net.needs, net.followers):
        for a, b in moved.items():
            if {moved.get(k, k) for k in links[a]} != set(links[b]):
                return None
    return moved
