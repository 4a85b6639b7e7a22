"""The elements, the metal and the loads, each against its own derivative and against exact plates."""

from __future__ import annotations

import numpy as np
import pytest

from kb.process.meridian import Arc, Meridian
from kb.process.shell import LinearFlow, Metal
from kb.process.shell.element import Shell
from kb.process.shell.loads import INSIDE, MIDDLE, Loading, Memory, Plate, balance, enclosed, surface
from kb.process.shell.material import Plastic, respond
from kb.process.shell.mesh import mesh_meridian
from kb.process.shell.path import State
from tests.process.shell.samples import can_metal, line, loaded

BOWL = Meridian((Arc(0.0, 20.0, 20.0, -90.0, -60.0, 0.2, 0.25),))
ELASTIC = Metal(modulus=69_000.0, poisson=0.33)


def dense(band: np.ndarray) -> np.ndarray:
    """The whole matrix of its bands."""
    count = band.shape[1]
    whole = np.zeros((count, count))
    for i in range(count):
        for j in range(max(0, i - 5), min(count, i + 6)):
            whole[i, j] = band[5 + i - j, j]
    return whole


def loading(kind: str, shell: Shell) -> tuple[Loading, Memory]:
    """A pressure inside, or a plate that touches with or without slip."""
    rest = np.zeros((len(shell.mesh), 3))
    if kind == "pressure":
        return Loading(pressure=0.5, pressure_rate=1.0), Memory(shell.untouched())
    plate = Plate(friction={"free": 0.0, "slip": 0.1, "stick": np.inf}[kind], stiffness=1e4)
    start = surface(shell.mesh, rest, side=plate.side).z[len(rest) // 2]
    return Loading(plate=plate, plate_start=float(start)), Memory(
        shell.untouched(), plate.holds(shell.mesh, rest)
    )


@pytest.mark.parametrize("kind", ["pressure", "free", "slip", "stick"])
@pytest.mark.parametrize("metal", [ELASTIC, can_metal()], ids=["elastic", "plastic"])
def test_the_stiffness_is_the_derivative_of_the_forces(metal: Metal, kind: str) -> None:
    """Stiffness and load rate are those of finite differences, for movements far from small."""
    shell = Shell(mesh_meridian(BOWL, fineness=0.3), metal)
    loads, memory = loading(kind, shell)
    q = np.random.default_rng(5).normal(size=(len(shell.mesh), 3)) * [0.02, 0.02, 0.02]
    now = balance(shell, loads, q, 0.1, memory)
    yielded = now.memory.plastic.length > 0
    assert yielded.mean() > 0.5 if metal.flow else not yielded.any()
    if kind != "pressure":
        assert now.output > 0

    def residual(moved: np.ndarray, load: float) -> np.ndarray:
        return balance(shell, loads, moved.reshape(q.shape), load, memory).residual.ravel()

    small = 1e-6
    by_move = [
        (residual(q.ravel() + step, 0.1) - residual(q.ravel() - step, 0.1)) / (2 * small)
        for step in small * np.eye(q.size)
    ]
    by_load = (residual(q.ravel(), 0.1 + small) - residual(q.ravel(), 0.1 - small)) / (2 * small)
    whole = dense(now.band)
    assert np.abs(whole - np.transpose(by_move)).max() < 1e-6 * np.abs(whole).max()
    assert np.abs(now.rate.ravel() - by_load).max() < 1e-6 * max(np.abs(by_load).max(), 1.0)


def test_a_rigid_turn_of_the_profile_strains_only_the_hoop() -> None:
    """A profile turned by 50 degrees as one piece has no stretch, bend or shear."""
    mesh = mesh_meridian(BOWL)
    shell = Shell(mesh, ELASTIC)
    turn = np.radians(50.0)
    r, z = mesh.r - mesh.r[0], mesh.z - mesh.z[0]
    q = np.stack(
        [
            r * np.cos(turn) - z * np.sin(turn) - r,
            r * np.sin(turn) + z * np.cos(turn) - z,
            np.full_like(r, turn),
        ],
        axis=1,
    )
    strains = shell.strains(q)
    assert strains.stretch == pytest.approx(1.0, abs=1e-12)
    assert strains.shear == pytest.approx(0.0, abs=1e-12)
    assert strains.bend == pytest.approx(0.0, abs=1e-12)
    assert np.abs(strains.out).max() > 1.0


def test_the_enclosed_volume_is_that_of_the_meridian() -> None:
    """The volume on the inside of the mesh at rest is the meridian's own, to the error of its short lines."""
    mesh = mesh_meridian(BOWL, fineness=4.0)
    volume, _, _ = enclosed(mesh, np.zeros((len(mesh), 3)), side=INSIDE)
    assert volume == pytest.approx(float(BOWL.enclosed()), rel=1e-3)


def test_the_forces_of_a_pressure_balance() -> None:
    """The axial forces on the inside and on the plane through the outer edge add up to zero."""
    mesh = mesh_meridian(BOWL)
    q = np.random.default_rng(5).normal(size=(len(mesh), 3)) * 0.02
    q[0, 0] = q[0, 2] = 0.0
    _, force, _ = enclosed(mesh, q, side=INSIDE)
    edge = surface(mesh, q, side=INSIDE).r[-1]
    assert force[:, 1].sum() == pytest.approx(0.0, abs=1e-9 * np.pi * edge**2)


@pytest.mark.parametrize(("along", "hoop"), [(0.01, -0.002), (0.004, 0.02), (-0.03, 0.01)])
def test_stress_past_yield_is_on_the_flow_curve(along: float, hoop: float) -> None:
    """Past yield the von Mises stress is the flow stress at the plastic strain that the metal remembers."""
    metal = can_metal()
    answer = respond(metal, along=np.array([along]), hoop=np.array([hoop]), plastic=Plastic.none((1,)))
    mises = np.sqrt(answer.along**2 - answer.along * answer.hoop + answer.hoop**2)
    assert metal.flow is not None
    assert mises == pytest.approx(metal.flow(answer.plastic.length)[0], rel=1e-9)


def test_pulled_metal_follows_its_flow_curve() -> None:
    """A tensile test, stepped until the hoop stress is zero, gives yield plus slope times plastic strain."""
    metal = Metal(modulus=70_000.0, poisson=0.3, flow=LinearFlow(yield_strength=250.0, slope=500.0))
    memory, hoop = Plastic.none((1,)), np.array([0.0])
    for along in np.linspace(0.0, 0.05, 51):
        for _ in range(40):
            answer = respond(metal, along=np.array([along]), hoop=hoop, plastic=memory)
            hoop = hoop - answer.hoop / answer.stiffness[2]
        memory = answer.plastic
    plastic = 0.05 - answer.along[0] / 70_000.0
    assert memory.length[0] == pytest.approx(plastic, rel=1e-6)
    assert answer.along[0] == pytest.approx(250.0 + 500.0 * plastic, rel=1e-6)


def test_unloaded_metal_keeps_its_plastic_strain() -> None:
    """Metal strained past yield and let go by a little is elastic again."""
    metal = can_metal()
    zero = np.array([0.0])
    past = respond(metal, along=np.array([0.02]), hoop=zero, plastic=Plastic.none((1,)))
    back = respond(metal, along=np.array([0.019]), hoop=zero, plastic=past.plastic)
    assert back.plastic.length == pytest.approx(past.plastic.length)
    drop = 0.001 * metal.modulus / (1 - metal.poisson**2)
    assert past.along - back.along == pytest.approx(drop, rel=1e-9)


@pytest.mark.parametrize("poisson", [0.0, 0.3, 1 / 3])
def test_a_clamped_plate_sags_as_the_plate_theory_says(poisson: float) -> None:
    """Under a small pressure a thin clamped plate sags 3 (1 - nu^2)/16 p a^4/(E t^3), the exact value.

    For nu 0.3 that is 0.1706 p a^4/(E t^4) thicknesses.
    """
    thickness, radius, modulus, pressure = 1.0, 100.0, 70_000.0, 1e-6
    plate = Meridian((line(0.0, 0.0, radius, 0.0, thickness),))
    shell = Shell(mesh_meridian(plate), Metal(modulus=modulus, poisson=poisson))
    fixed = np.zeros((len(shell.mesh), 3), dtype=bool)
    fixed[0, [0, 2]] = fixed[-1] = True
    state: State = loaded(shell, Loading(pressure_rate=1.0, side=MIDDLE), fixed=fixed, load=pressure)
    exact = 3 * (1 - poisson**2) / 16 * pressure * radius**4 / (modulus * thickness**3)
    assert -state.q[0, 1] == pytest.approx(exact, rel=2e-3)
