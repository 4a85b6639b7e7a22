"""What loads a shell: pressure that follows the surface, dead forces, and a flat plate under the part."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from kb.process.shell.element import Shell
from kb.process.shell.material import Array, Plastic
from kb.process.shell.mesh import Mesh
from kb.process.shell.path import Balance, banded

INSIDE, MIDDLE, OUTSIDE = -1.0, 0.0, 1.0
"""Surfaces of the metal, in half thicknesses from its middle."""
_SMALL_FORCE = 1e-3  # N; a shell at rest has no force to compare with


@dataclass(frozen=True, slots=True)
class Surface:
    """Nodes on a surface: positions [mm] and their rates with the node's turn [mm]."""

    r: Array
    z: Array
    turn_r: Array
    turn_z: Array


def surface(mesh: Mesh, q: Array, *, side: float) -> Surface:
    """A surface of the deformed shell: INSIDE, MIDDLE or OUTSIDE."""
    depth = side * mesh.thickness / 2
    angle = mesh.slope + q[:, 2]
    across, up = depth * np.sin(angle), depth * np.cos(angle)
    return Surface(mesh.r + q[:, 0] + across, mesh.z + q[:, 1] - up, up, across)


def enclosed(mesh: Mesh, q: Array, *, side: float) -> tuple[float, Array, Array]:
    """Volume between a surface of the shell and the axis, with its derivatives.

    A pressure does work on this volume alone. So pressure times the first derivative is its force on the
    nodes, and it follows the surface as the shell moves.

    Args:
        mesh: nodes and elements
        q: movements of the nodes (nodes, 3) [mm, rad]
        side: the surface that the pressure acts on

    Returns:
        Volume [mm3]; its derivative for each node (nodes, 3); its second derivative for each element
        (elements, 6, 6).

    Source:
        Derived: a frustum between two nodes.
    """
    at = surface(mesh, q, side=side)
    third = np.pi / 3
    r1, r2, rise = at.r[:-1], at.r[1:], np.diff(at.z)
    by_r1, by_r2, by_z = 2 * r1 + r2, r1 + 2 * r2, r1 * r1 + r1 * r2 + r2 * r2
    by_r, by_height = np.zeros(len(mesh)), np.zeros(len(mesh))
    by_r[:-1] += third * by_r1 * rise
    by_r[1:] += third * by_r2 * rise
    by_height[:-1] -= third * by_z
    by_height[1:] += third * by_z
    first = np.stack([by_r, by_height, by_r * at.turn_r + by_height * at.turn_z], axis=1)

    plain = np.zeros((len(rise), 4, 4))  # by r1, z1, r2, z2
    plain[:, 0, 0] = plain[:, 2, 2] = 2 * rise
    plain[:, 0, 2] = plain[:, 2, 0] = rise
    for column, slope in ((0, by_r1), (2, by_r2)):
        plain[:, column, 1] = plain[:, 1, column] = -slope
        plain[:, column, 3] = plain[:, 3, column] = slope
    chain = np.zeros((len(rise), 4, 6))
    chain[:, (0, 1, 2, 3), (0, 1, 3, 4)] = 1.0
    for node, part in ((0, slice(None, -1)), (1, slice(1, None))):
        chain[:, 2 * node, 3 * node + 2] = at.turn_r[part]
        chain[:, 2 * node + 1, 3 * node + 2] = at.turn_z[part]
    second = third * np.matmul(chain.transpose(0, 2, 1), np.matmul(plain, chain))
    # A node on a surface moves on a circle as it turns. Each node's share goes to one of its elements.
    bent = by_height * at.turn_r - by_r * at.turn_z
    second[:, 2, 2] += bent[:-1]
    second[-1, 5, 5] += bent[-1]
    return float(third * np.sum(by_z * rise)), first, second


@dataclass(frozen=True, slots=True, kw_only=True)
class Plate:
    """A flat plate under the part.

    Attributes:
        friction: largest friction force over the contact force [-]; 0 for none, infinity for no slip
        stiffness: pressure for each mm by which a node enters the plate [MPa/mm], a numerical setting
        rolls: whether the line of contact moves along the metal; if not, the lowest node keeps the load
    """

    friction: float
    stiffness: float
    rolls: bool = True

    def nodes(self, mesh: Mesh) -> Array:
        """Nodes that may touch the plate."""
        if self.rolls:
            return np.ones(len(mesh), dtype=bool)
        return np.arange(len(mesh)) == mesh.z.argmin()

    @property
    def side(self) -> float:
        """Surface that touches; the middle where one node keeps the load."""
        return OUTSIDE if self.rolls else MIDDLE

    def lowest(self, mesh: Mesh, q: Array) -> float:
        """Height at which the plate first touches the shell [mm]."""
        return float(surface(mesh, q, side=self.side).z[self.nodes(mesh)].min())

    def holds(self, mesh: Mesh, q: Array) -> Array:
        """Radius at which each node would hold to the plate, if it touched now [mm]."""
        return surface(mesh, q, side=self.side).r


@dataclass(frozen=True, slots=True)
class Touch:
    """Contact of plate and shell.

    Attributes:
        nodal: forces out of balance (nodes, 3) [N, N mm]
        stiffness: their derivative by the movement of their own node (nodes, 3, 3)
        rate: their derivative by the height of the plate (nodes, 3)
        force: contact force [N]
        hold: radius at which each node holds to the plate, or would if it touched now [mm]
    """

    nodal: Array
    stiffness: Array
    rate: Array
    force: float
    hold: Array


def touch(mesh: Mesh, q: Array, plate: Plate, *, height: float, hold: Array) -> Touch:
    """Contact at a height of the plate.

    Args:
        mesh: nodes and elements
        q: movements of the nodes (nodes, 3) [mm, rad]
        plate: the plate
        height: its height [mm]
        hold: radius at which each node holds, at the start of the step [mm]

    Returns:
        The contact.

    Source:
        Coulomb friction with an elastic stick, backward Euler; derived.
    """
    at = surface(mesh, q, side=plate.side)
    area = np.zeros(len(mesh))
    ring = np.pi * mesh.radius * mesh.length
    area[:-1] += ring
    area[1:] += ring
    deep = height - at.z
    grip = np.where((deep >= 0) & plate.nodes(mesh), plate.stiffness * area, 0.0)
    push = grip * deep
    stick = grip if plate.friction > 0 else np.zeros_like(grip)
    drag = stick * (at.r - hold)
    slip = np.zeros_like(grip)  # friction with the sign of the drag, where a node slips
    if np.isfinite(plate.friction):
        slip = np.where(np.abs(drag) > plate.friction * push, np.sign(drag) * plate.friction, 0.0)
        stick = np.where(slip != 0, 0.0, stick)
        drag = np.where(slip != 0, slip * push, drag)

    chain = np.zeros((len(mesh), 2, 3))
    chain[:, 0, 0] = chain[:, 1, 1] = 1.0
    chain[:, 0, 2], chain[:, 1, 2] = at.turn_r, at.turn_z
    plain = np.zeros((len(mesh), 2, 2))
    plain[:, 0, 0], plain[:, 0, 1], plain[:, 1, 1] = stick, -slip * grip, grip
    stiffness = np.matmul(chain.transpose(0, 2, 1), np.matmul(plain, chain))
    stiffness[:, 2, 2] -= drag * at.turn_z + push * at.turn_r
    by_height = np.stack([slip * grip, -grip], axis=1)
    return Touch(
        nodal=np.stack([drag, -push, drag * at.turn_r - push * at.turn_z], axis=1),
        stiffness=stiffness,
        rate=np.matmul(by_height[:, None, :], chain)[:, 0],
        force=float(push.sum()),
        hold=at.r - drag / np.where(grip > 0, grip, 1.0),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Loading:
    """Loads of a path; its load parameter is a pressure, a force or the height of a plate.

    Attributes:
        side: surface that the pressure acts on
        pressure: pressure that stays [MPa]
        pressure_rate: pressure for a unit of the load parameter
        force: forces on the nodes that stay (nodes, 3); none if there are none
        force_rate: forces on the nodes for a unit of the load parameter (nodes, 3); none if there are none
        plate: plate that rises by the load parameter; none if there is none
        plate_start: height of the plate where the load parameter is zero [mm]
    """

    side: float = INSIDE
    pressure: float = 0.0
    pressure_rate: float = 0.0
    force: Array | None = None
    force_rate: Array | None = None
    plate: Plate | None = None
    plate_start: float = 0.0


@dataclass(frozen=True, slots=True)
class Memory:
    """What metal and contact remember."""

    plastic: Plastic
    hold: Array | None = None


def balance(shell: Shell, loading: Loading, q: Array, load: float, memory: Memory) -> Balance:
    """Forces out of balance of a loaded shell; the output is the plate's force, or the load parameter."""
    mesh = shell.mesh
    inner = shell.forces(q, memory.plastic)
    residual, elements = inner.nodal.copy(), inner.stiffness
    rate = np.zeros_like(q)
    nodes: Any = None
    hold, output = memory.hold, load
    pressure = loading.pressure + loading.pressure_rate * load
    if loading.pressure or loading.pressure_rate:
        _, first, second = enclosed(mesh, q, side=loading.side)
        residual -= pressure * first
        rate -= loading.pressure_rate * first
        elements = elements - pressure * second
    if loading.force is not None:
        residual -= loading.force
    if loading.force_rate is not None:
        residual -= load * loading.force_rate
        rate -= loading.force_rate
    if loading.plate is not None and hold is not None:
        contact = touch(mesh, q, loading.plate, height=loading.plate_start + load, hold=hold)
        residual += contact.nodal
        rate += contact.rate
        nodes, hold, output = contact.stiffness, contact.hold, contact.force
    return Balance(
        residual=residual,
        band=banded(elements, nodes),
        rate=rate,
        memory=Memory(inner.plastic, hold),
        scale=max(float(np.abs(inner.nodal).max()), _SMALL_FORCE),
        output=output,
    )
