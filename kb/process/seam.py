"""The double seam by its numbers: hooks, overlap, free space, and the fit of plug and chuck."""

from __future__ import annotations

from kb.process.domain import not_negative, positive
from kb.units import Mm, Ratio


def overlap(*, body_hook: Mm, end_hook: Mm, end_gauge: Mm, length: Mm) -> Mm:
    """Length over which body hook and end hook overlap.

    Args:
        body_hook: Body hook length, outside [mm].
        end_hook: End hook length, outside [mm].
        end_gauge: Thickness of the end's metal [mm].
        length: Seam length, top to bottom [mm].

    Returns:
        Overlap; negative when the hooks do not meet [mm].

    Raises:
        ValueError: if a hook is negative, or gauge or length is not above zero.

    Source:
        21 CFR 113.60(a)(1), theoretical overlap CH + BH + T - W (from memory, high confidence).

    Note:
        The rule is written for low-acid canned food; for beer and soft drinks it is good method, not law.
        Use the worst readings, not their mean.

    Example:
        >>> overlap(body_hook=2.0, end_hook=1.9, end_gauge=0.2, length=3.0)
        1.1
    """
    not_negative(body_hook=body_hook, end_hook=end_hook)
    positive(end_gauge=end_gauge, length=length)
    return body_hook + end_hook + end_gauge - length


def overlap_share(*, body_hook: Mm, end_hook: Mm, end_gauge: Mm, body_wall: Mm, length: Mm) -> Ratio:
    """Overlap as a share of the most that the seam could hold.

    Args:
        body_hook: Body hook length, outside [mm].
        end_hook: End hook length, outside [mm].
        end_gauge: Thickness of the end's metal [mm].
        body_wall: Thickness of the flange's metal, the thick wall [mm].
        length: Seam length, top to bottom [mm].

    Returns:
        Overlap over the internal seam length [-].

    Raises:
        ValueError: if a hook is negative, a thickness or the length is not above zero, or the metal
            leaves no length inside the seam.

    Source:
        FDA Bacteriological Analytical Manual, chapter 22A, 2001, and Canadian inspection practice
        (from memory, high confidence).

    Note:
        Some texts multiply each thickness by 1.1 for the bends, which raises the share by a point or two.

    Example:
        >>> overlap_share(body_hook=2.0, end_hook=1.9, end_gauge=0.2, body_wall=0.4, length=3.0)
        0.5
    """
    inside = _internal_length(length=length, end_gauge=end_gauge, body_wall=body_wall)
    return overlap(body_hook=body_hook, end_hook=end_hook, end_gauge=end_gauge, length=length) / inside


def free_space(*, thickness: Mm, end_gauge: Mm, body_wall: Mm) -> Mm:
    """Room across the seam that is not metal.

    Args:
        thickness: Seam thickness over all five layers [mm].
        end_gauge: Thickness of the end's metal [mm].
        body_wall: Thickness of the flange's metal, the thick wall [mm].

    Returns:
        Free space; negative means the metal was thinned [mm].

    Raises:
        ValueError: if an argument is not above zero.

    Source:
        Definition: seam thickness minus three layers of end and two of body.

    Note:
        Compound and lining are in this room.

    Example:
        >>> free_space(thickness=1.20, end_gauge=0.21, body_wall=0.16)
        0.25
    """
    positive(thickness=thickness, end_gauge=end_gauge, body_wall=body_wall)
    return thickness - (3 * end_gauge + 2 * body_wall)


def thickness_target(*, end_gauge: Mm, body_wall: Mm, allowance: Mm) -> Mm:
    """Seam thickness to set for given metal.

    Args:
        end_gauge: Thickness of the end's metal [mm].
        body_wall: Thickness of the flange's metal, the thick wall [mm].
        allowance: Free space wanted for compound and lining, the plant's own setting [mm].

    Returns:
        Seam thickness [mm].

    Raises:
        ValueError: if a thickness is not above zero or the allowance is negative.

    Source:
        Common practice, no source: three end layers, two body layers and an allowance of 0.003 to 0.005
        in for food cans, 0.010 in for beverage cans.

    Example:
        >>> thickness_target(end_gauge=0.21, body_wall=0.16, allowance=0.25)
        1.2
    """
    positive(end_gauge=end_gauge, body_wall=body_wall)
    not_negative(allowance=allowance)
    return 3 * end_gauge + 2 * body_wall + allowance


def body_hook_butting(*, body_hook: Mm, length: Mm, end_gauge: Mm, body_wall: Mm) -> Ratio:
    """Share of the seam's internal length that the body hook fills.

    Args:
        body_hook: Body hook length, outside [mm].
        length: Seam length, top to bottom [mm].
        end_gauge: Thickness of the end's metal [mm].
        body_wall: Thickness of the flange's metal, the thick wall [mm].

    Returns:
        Butting [-].

    Raises:
        ValueError: if the hook is negative, a thickness or the length is not above zero, or the metal
            leaves no length inside the seam.

    Source:
        Food-canning seam practice, internal body hook over internal seam length
        (from memory, medium confidence; no open text with this form was found).

    Note:
        Texts differ: many multiply each thickness by 1.1 for the bends, which adds about a point and a
        half; optical inspection instead measures contact length over hook length on the section.
        Compare only values found the same way.

    Example:
        >>> body_hook_butting(body_hook=2.0, length=3.0, end_gauge=0.3, body_wall=0.4)
        0.8
    """
    not_negative(body_hook=body_hook)
    inside = _internal_length(length=length, end_gauge=end_gauge, body_wall=body_wall)
    return (body_hook - body_wall) / inside


def plug_chuck_clearance(*, plug_diameter: Mm, chuck_diameter: Mm) -> Mm:
    """Room on the diameter between the neck's plug and the seaming chuck.

    Args:
        plug_diameter: Inside diameter of the finished neck [mm].
        chuck_diameter: Outside diameter of the chuck where it backs the neck [mm].

    Returns:
        Diametral clearance, both sides together; negative is interference [mm].

    Raises:
        ValueError: if a diameter is not above zero.

    Source:
        Definition.

    Note:
        The end's chuck wall is between the two, so a fit that just closes needs twice the end gauge.

    Example:
        >>> plug_chuck_clearance(plug_diameter=52.4, chuck_diameter=51.9)
        0.5
    """
    positive(plug_diameter=plug_diameter, chuck_diameter=chuck_diameter)
    return plug_diameter - chuck_diameter


def _internal_length(*, length: Mm, end_gauge: Mm, body_wall: Mm) -> Mm:
    """Seam length between the metal at its top and at its bottom [mm]."""
    positive(length=length, end_gauge=end_gauge, body_wall=body_wall)
    inside = length - 2 * end_gauge - body_wall
    positive(internal_seam_length=inside)
    return inside
