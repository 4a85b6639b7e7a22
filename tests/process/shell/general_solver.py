"""The same profile as axisymmetric solid elements for the general solver CalculiX, a reference for tests.

It has no arc length. It stops near the limit, so its limit is the highest pressure in balance: up to 1 % low.
"""

from __future__ import annotations

import shutil
import subprocess
from pathlib import Path

import numpy as np

from kb.process.meridian import Meridian
from kb.process.shell.mesh import Mesh, mesh_meridian

PROGRAM = shutil.which("ccx")
_THROUGH = 2  # elements through the thickness
_HIGHEST = 1.0  # MPa; the pressure that the solver tries to reach


def limit_pressure(
    profile: Meridian, *, yield_strength: float, modulus: float, poisson: float, folder: Path
) -> float:
    """Highest pressure in balance of a perfectly plastic part, clamped at its outer edge [MPa]."""
    assert PROGRAM is not None
    mesh = mesh_meridian(profile, fineness=1.0)
    deck = _deck(mesh, yield_strength=yield_strength, modulus=modulus, poisson=poisson)
    (folder / "part.inp").write_text(deck, encoding="ascii")
    subprocess.run(
        [PROGRAM, "part"],
        cwd=folder,
        env={"OMP_NUM_THREADS": "1", "PATH": "/usr/bin:/bin"},
        capture_output=True,
        check=False,
        timeout=500,
    )
    rows = [line.split() for line in (folder / "part.sta").read_text(encoding="ascii").splitlines()]
    reached = [float(row[-2]) for row in rows if len(row) == 7 and row[0].isdigit() and "U" not in row[2]]
    return max(reached) * _HIGHEST


def _deck(mesh: Mesh, *, yield_strength: float, modulus: float, poisson: float) -> str:
    """The input of the solver: eight-node elements, reduced integration, large strains."""
    across = 2 * _THROUGH + 1
    count = (len(mesh) - 1) // 2 * 2 + 1  # a quadratic element takes two of the shell's
    share = np.linspace(-0.5, 0.5, across)
    nodes = [
        (
            i * across + j + 1,
            mesh.r[i] + share[j] * mesh.thickness[i] * np.sin(mesh.slope[i]),
            mesh.z[i] - share[j] * mesh.thickness[i] * np.cos(mesh.slope[i]),
        )
        for i in range(count)
        for j in range(across)
    ]
    elements = []
    for i in range(0, count - 2, 2):
        for j in range(0, across - 2, 2):
            a, b, c = (k * across + j + 1 for k in (i, i + 1, i + 2))
            # counter-clockwise from the outside, where the metal is on the right of the way
            elements.append((a + 2, a, c, c + 2, a + 1, b, c + 1, b + 2))
    corners = {n: (r, z) for n, r, z in nodes}
    first = [corners[n] for n in elements[0][:4]]
    area = sum(p[0] * q[1] - q[0] * p[1] for p, q in zip(first, first[1:] + first[:1], strict=True))
    assert area != 0
    faces = "P2"
    if area < 0:
        elements = [(e[0], e[3], e[2], e[1], e[7], e[6], e[5], e[4]) for e in elements]
        faces = "P3"
    return "\n".join(
        [
            "*NODE, NSET=ALL",
            *(f"{n}, {max(r, 0.0):.9f}, {z:.9f}" for n, r, z in nodes),
            "*ELEMENT, TYPE=CAX8R, ELSET=METAL",
            *(f"{k + 1}, " + ", ".join(map(str, e)) for k, e in enumerate(elements)),
            "*NSET, NSET=AXIS, GENERATE",
            f"1, {across}",
            "*NSET, NSET=EDGE, GENERATE",
            f"{(count - 1) * across + 1}, {count * across}",
            "*MATERIAL, NAME=STOCK",
            "*ELASTIC",
            f"{modulus}, {poisson}",
            "*PLASTIC",
            f"{yield_strength}, 0.",
            f"{yield_strength}, 10.",
            "*SOLID SECTION, ELSET=METAL, MATERIAL=STOCK",
            "*BOUNDARY",
            "AXIS, 1, 1",
            "EDGE, 1, 2",
            "*STEP, NLGEOM, INC=400",
            "*STATIC",
            "0.02, 1., 1e-4, 0.02",
            "*DLOAD",
            *(f"{k}, {faces}, {_HIGHEST}" for k in range(1, len(elements) + 1, _THROUGH)),
            "*NODE FILE, FREQUENCY=1000",
            "U",
            "*END STEP",
            "",
        ]
    )
