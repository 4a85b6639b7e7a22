"""What a profile holds: limit pressure and growth, load on a flat plate, axial load.

The profile ends at the outer edge, which is clamped. Each curve ends shortly after its limit.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np

from kb.errors import require
from kb.process.domain import not_negative, positive
from kb.process.meridian import Meridian
from kb.process.shell.element import LAYERS, Shell
from kb.process.shell.loads import INSIDE, OUTSIDE, Loading, Memory, Plate, balance, surface
from kb.process.shell.material import Array, Metal
from kb.process.shell.mesh import Mesh, mesh_meridian
from kb.process.shell.path import State, follow, reach
from kb.units import Mm, MPa, Ratio

# Numerical settings; tests/process/shell holds that finer ones change no limit by more than 0.5 %.
STEP = 0.3  # longest step of a path over the largest thickness
_FALL = 0.02  # a limit is passed when the load has fallen by this share
_PRESSURE_STEPS = 8  # to a pressure that stays
_PLATE_FINENESS = 2.0  # elements over the usual number where contact moves from node to node


@dataclass(frozen=True, slots=True, kw_only=True)
class PressureCurve:
    """A profile under rising pressure; axisymmetric, so an upper bound for unsymmetrical buckling.

    Attributes:
        limit: largest pressure, at which the dome reverses or the end buckles; none if nothing gave [MPa]
        pressure: pressure at each point of the curve [MPa]
        centre: how far the centre moved outward, against the inside of the part [mm]
        growth: how far the lowest point moved down [mm]
    """

    limit: float | None
    pressure: tuple[float, ...]
    centre: tuple[float, ...]
    growth: tuple[float, ...]

    def growth_at(self, pressure: MPa) -> Mm:
        """How far the lowest point is down at a pressure [mm]; not-a-number above the limit."""
        return self._at(self.growth, pressure)

    def centre_at(self, pressure: MPa) -> Mm:
        """How far the centre is out at a pressure [mm]; not-a-number above the limit."""
        return self._at(self.centre, pressure)

    def _at(self, values: tuple[float, ...], pressure: MPa) -> Mm:
        from scipy.interpolate import PchipInterpolator  # noqa: PLC0415 - SciPy is an extra

        # where the pressure dips before its limit, the part jumps to the next point at that pressure
        before = np.maximum.accumulate([-np.inf, *self.pressure[:-1]])
        rising = np.asarray(self.pressure) > before
        curve = PchipInterpolator(
            np.asarray(self.pressure)[rising], np.asarray(values)[rising], extrapolate=False
        )
        return float(curve(pressure))


@dataclass(frozen=True, slots=True, kw_only=True)
class PlateCurve:
    """A profile pressed on a flat plate; axisymmetric, so an upper bound for unsymmetrical buckling.

    Attributes:
        limit: largest force; none if nothing gave [N]
        travel: how far the plate moved from first contact, at each point of the curve [mm]
        force: force on the plate [N]
    """

    limit: float | None
    travel: tuple[float, ...]
    force: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class AxialCurve:
    """A profile pressed along its axis; axisymmetric, so an upper bound for unsymmetrical buckling.

    Attributes:
        limit: largest force; none if nothing gave [N]
        travel: how far the outer edge moved toward the inner one, at each point of the curve [mm]
        force: compressive force in the metal at the outer edge [N]
    """

    limit: float | None
    travel: tuple[float, ...]
    force: tuple[float, ...]


def pressure_curve(
    profile: Meridian,
    metal: Metal,
    *,
    highest: MPa = np.inf,
    side: float = INSIDE,
    fineness: Ratio = 1.0,
    layers: int = LAYERS,
    step: Ratio = STEP,
) -> PressureCurve:
    """Raise the pressure on the inside of a profile until something gives.

    Args:
        profile: the part from the axis to its clamped outer edge, single numbers
        metal: elastic constants and flow curve
        highest: pressure at which the curve ends if nothing gives before [MPa]
        side: surface that the pressure acts on: -1 inside, 0 middle of the metal, 1 outside
        fineness: number of elements over the usual number [-]
        layers: points through the thickness
        step: longest step of the path, root mean square movement over the largest thickness [-]

    Returns:
        The curve and its limit.

    Raises:
        MissingExtra: if SciPy is not installed.
        ValueError: if the profile does not close.
        NoBalance: if the solution is lost before a limit.

    Note:
        A profile whose inner end is not on the axis is clamped there too.
    """
    positive(highest=highest, fineness=fineness, step=step)
    shell = Shell(_mesh(profile, fineness), metal, layers)
    states = _follow(
        shell,
        Loading(side=side, pressure_rate=1.0),
        _rest(shell),
        step=step,
        until=lambda states: bool(states[-1].load >= highest) or _fallen([state.load for state in states]),
    )
    lowest = [float(surface(shell.mesh, state.q, side=OUTSIDE).z.min()) for state in states]
    pressures = [state.load for state in states]
    return PressureCurve(
        limit=_limit(states, pressures),
        pressure=tuple(pressures),
        centre=tuple(-float(state.q[0, 1]) for state in states),
        growth=tuple(lowest[0] - z for z in lowest),
    )


def plate_curve(
    profile: Meridian,
    metal: Metal,
    *,
    friction: Ratio,
    pressure: MPa = 0.0,
    rolls: bool = True,
    furthest: Mm = np.inf,
    fineness: Ratio = _PLATE_FINENESS,
    layers: int = LAYERS,
    step: Ratio = STEP,
) -> PlateCurve:
    """Press a profile on a flat plate until something gives.

    Args:
        profile: the part from the axis to its clamped outer edge, single numbers
        metal: elastic constants and flow curve
        friction: largest friction force over contact force [-]; infinity for no slip
        pressure: pressure inside, raised before the plate touches [MPa]
        rolls: whether the line of contact moves along the metal; if not, the lowest ring keeps the load
        furthest: travel of the plate at which the curve ends if nothing gives before [mm]
        fineness: number of elements over the usual number [-]
        layers: points through the thickness
        step: longest step of the path, root mean square movement over the largest thickness [-]

    Returns:
        The curve and its limit.

    Raises:
        MissingExtra: if SciPy is not installed.
        ValueError: if the profile does not close, or an argument is negative.
        NoBalance: if the profile does not hold the pressure, or the solution is lost before a limit.
    """
    not_negative(friction=friction, pressure=pressure)
    positive(furthest=furthest, fineness=fineness, step=step)
    shell = Shell(_mesh(profile, fineness), metal, layers)
    # The metal between its middle and the plate yields by about E/t for each mm.
    plate = Plate(friction=float(friction), stiffness=metal.modulus / shell.mesh.thickness.max(), rolls=rolls)
    start = _under_pressure(shell, pressure)
    memory = Memory(start.memory.plastic, plate.holds(shell.mesh, start.q))
    states = _follow(
        shell,
        Loading(pressure=float(pressure), plate=plate, plate_start=plate.lowest(shell.mesh, start.q)),
        State(start.q, 0.0, memory),
        step=step,
        until=lambda states: bool(states[-1].load >= furthest) or _fallen([state.output for state in states]),
    )
    forces = [state.output for state in states]
    return PlateCurve(
        limit=_limit(states, forces), travel=tuple(state.load for state in states), force=tuple(forces)
    )


def axial_curve(
    profile: Meridian,
    metal: Metal,
    *,
    pressure: MPa = 0.0,
    furthest: Mm = np.inf,
    fineness: Ratio = 1.0,
    layers: int = LAYERS,
    step: Ratio = STEP,
) -> AxialCurve:
    """Press the outer edge of a profile along the axis until something gives.

    Args:
        profile: the part, single numbers; its inner end is clamped, its outer edge moves along the axis only
        metal: elastic constants and flow curve
        pressure: pressure on the inside, raised before the force; it does not push on the outer edge [MPa]
        furthest: travel of the edge at which the curve ends if nothing gives before [mm]
        fineness: number of elements over the usual number [-]
        layers: points through the thickness
        step: longest step of the path, root mean square movement over the largest thickness [-]

    Returns:
        The curve and its limit.

    Raises:
        MissingExtra: if SciPy is not installed.
        ValueError: if the profile does not close, or an argument is negative.
        NoBalance: if the profile does not hold the pressure, or the solution is lost before a limit.
    """
    not_negative(pressure=pressure)
    positive(furthest=furthest, fineness=fineness, step=step)
    shell = Shell(_mesh(profile, fineness), metal, layers)
    down = np.zeros((len(shell.mesh), 3))
    down[-1, 1] = -1.0
    edge = surface(shell.mesh, np.zeros_like(down), side=INSIDE).r[-1]
    end_cap = down * pressure * np.pi * edge**2  # the volume inside would push the open end up
    start = _under_pressure(shell, pressure, edge_moves=True)
    states = _follow(
        shell,
        Loading(pressure=float(pressure), force=end_cap, force_rate=down),
        State(start.q, 0.0, start.memory),
        step=step,
        until=lambda states: (
            bool(start.q[-1, 1] - states[-1].q[-1, 1] >= furthest)
            or _fallen([state.load for state in states])
        ),
        edge_moves=True,
    )
    forces = [state.load for state in states]
    return AxialCurve(
        limit=_limit(states, forces),
        travel=tuple(float(start.q[-1, 1] - state.q[-1, 1]) for state in states),
        force=tuple(forces),
    )


def _mesh(profile: Meridian, fineness: Ratio) -> Mesh:
    """The mesh of a profile that closes; the first thing that each analysis needs."""
    require("strength", "the strength of a profile")
    return mesh_meridian(profile, fineness=float(fineness))


def _fixed(mesh: Mesh, *, edge_moves: bool) -> Array:
    """Unknowns that do not move: the axis stays on the axis, other ends are clamped."""
    fixed = np.zeros((len(mesh), 3), dtype=bool)
    on_axis = mesh.r[0] < mesh.length[0] * 1e-6
    fixed[0] = (True, not on_axis, True)
    fixed[-1] = (True, not edge_moves, True)
    return fixed


def _rest(shell: Shell) -> State:
    return State(np.zeros((len(shell.mesh), 3)), 0.0, Memory(shell.untouched()))


def _under_pressure(shell: Shell, pressure: MPa, *, edge_moves: bool = False) -> State:
    """The shell under a pressure that it holds; a moving edge has no force on it."""
    if not pressure:
        return _rest(shell)
    cap = None
    if edge_moves:
        cap = np.zeros((len(shell.mesh), 3))
        cap[-1, 1] = -np.pi * surface(shell.mesh, cap, side=INSIDE).r[-1] ** 2
    problem = partial(balance, shell, Loading(pressure_rate=1.0, force_rate=cap))
    fixed = _fixed(shell.mesh, edge_moves=edge_moves)
    return reach(problem, _rest(shell), fixed=fixed, load=float(pressure), steps=_PRESSURE_STEPS)


def _follow(
    shell: Shell,
    loading: Loading,
    start: State,
    *,
    until: Callable[[Sequence[State]], bool],
    step: Ratio,
    edge_moves: bool = False,
) -> list[State]:
    return follow(
        partial(balance, shell, loading),
        start,
        fixed=_fixed(shell.mesh, edge_moves=edge_moves),
        longest=float(step) * float(shell.mesh.thickness.max()),
        until=until,
    )


def _fallen(values: Sequence[float]) -> bool:
    """Whether a limit is passed."""
    return values[-1] < (1 - _FALL) * max(values)


def _limit(states: Sequence[State], values: Sequence[float]) -> float | None:
    """Top of the parabola through the three highest points of a curve; none if it only rises."""
    top = int(np.argmax(values))
    if top in {0, len(values) - 1}:
        return None
    before, after = (float(np.linalg.norm((states[i + 1].q - states[i].q)[:, :2])) for i in (top - 1, top))
    slope_before = (values[top] - values[top - 1]) / before
    slope_after = (values[top + 1] - values[top]) / after
    bend = (slope_after - slope_before) / (before + after)
    slope = slope_before + bend * before
    return values[top] - slope**2 / (4 * bend)
