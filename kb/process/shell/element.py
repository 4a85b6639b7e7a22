"""The shell element: two nodes, large rotations, layers through the thickness; all elements at once.

Each node moves by u along r and w along z [mm] and turns by b [rad] from the outward direction toward +z.
Strains are taken at the middle of the element, so that a thin shell does not lock.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from kb.process.shell.material import Array, Metal, Plastic, Response, respond
from kb.process.shell.mesh import Mesh

LAYERS = 8
"""Gauss points through the thickness. An even number converges faster: no point is idle at the middle."""
_SHEAR_SHARE = 5 / 6  # of a rectangular section in shear; Reissner 1945 (from memory, high confidence)


@dataclass(frozen=True, slots=True)
class Strains:
    """Strains of each element and the direction that they count along.

    Attributes:
        stretch: length along the turned direction over the length at rest [-]
        shear: slip of the section against the normal [-]
        bend: change of curvature along the meridian [1/mm]
        out: radial movement [mm]
        rise: change of the sine of the slope [-]
        cosine: cosine of the slope, turned [-]
        sine: sine of the slope, turned [-]
    """

    stretch: Array
    shear: Array
    bend: Array
    out: Array
    rise: Array
    cosine: Array
    sine: Array


@dataclass(frozen=True, slots=True)
class Forces:
    """Forces of the elements on the nodes [N, N mm], stiffness of each element, the metal's memory."""

    nodal: Array
    stiffness: Array
    plastic: Plastic


@dataclass(frozen=True)
class Shell:
    """A mesh made of a metal.

    Attributes:
        mesh: nodes and elements
        metal: elastic constants and flow curve
        layers: Gauss points through the thickness
    """

    mesh: Mesh
    metal: Metal
    layers: int = LAYERS

    @cached_property
    def depth(self) -> Array:
        """Distance of each point from the middle of the metal, toward the outside [mm]."""
        return self.mesh.wall[:, None] / 2 * self._gauss[0]

    @cached_property
    def _gauss(self) -> tuple[Array, Array]:
        return np.polynomial.legendre.leggauss(self.layers)

    @cached_property
    def _fibre(self) -> tuple[Array, Array]:
        """Length of a fibre at each point over that in the middle, along the meridian and the hoop [-]."""
        mesh = self.mesh
        hoop_curvature = np.sin(mesh.direction) / mesh.radius
        return 1 + self.depth * mesh.curvature[:, None], 1 + self.depth * hoop_curvature[:, None]

    @cached_property
    def _volume(self) -> Array:
        """Metal that each point counts for [mm3]."""
        along, hoop = self._fibre
        middle = 2 * np.pi * self.mesh.radius * self.mesh.length * self.mesh.wall / 2
        return middle[:, None] * self._gauss[1] * along * hoop

    @cached_property
    def _shear_stiffness(self) -> Array:
        """Shear force for a unit slip, around the element, times its length [N mm]."""
        modulus = self.metal.modulus / (2 * (1 + self.metal.poisson))
        return _SHEAR_SHARE * modulus * 2 * np.pi * self.mesh.radius * self.mesh.length * self.mesh.wall

    def untouched(self) -> Plastic:
        """The memory of metal that never yielded."""
        return Plastic.none(self.depth.shape)

    def strains(self, q: Array) -> Strains:
        """Strains at the movements `q` of the nodes (nodes, 3) [mm, rad]."""
        mesh = self.mesh
        u, w, turn = q[:, 0], q[:, 1], q[:, 2]
        angle = mesh.direction + (turn[1:] + turn[:-1]) / 2
        cosine, sine = np.cos(angle), np.sin(angle)
        dr = np.cos(mesh.direction) + np.diff(u) / mesh.length
        dz = np.sin(mesh.direction) + np.diff(w) / mesh.length
        return Strains(
            stretch=dr * cosine + dz * sine,
            shear=dz * cosine - dr * sine,
            bend=np.diff(turn) / mesh.length,
            out=(u[1:] + u[:-1]) / 2,
            rise=sine - np.sin(mesh.direction),
            cosine=cosine,
            sine=sine,
        )

    def ratios(self, strains: Strains, depth: Array) -> tuple[Array, Array]:
        """Length of a fibre over its length at rest, along the meridian and the hoop [-]."""
        mesh = self.mesh
        along = 1 + depth * mesh.curvature[:, None]
        hoop = mesh.radius[:, None] + depth * np.sin(mesh.direction)[:, None]
        return (
            1 + (strains.stretch[:, None] - 1 + depth * strains.bend[:, None]) / along,
            1 + (strains.out[:, None] + depth * strains.rise[:, None]) / hoop,
        )

    def stress(self, q: Array, *, side: float) -> tuple[Array, Array]:
        """Meridional and hoop stress of elastic metal on a surface, -1 inside to 1 outside [MPa]."""
        ratios = self.ratios(self.strains(q), side * self.mesh.wall[:, None] / 2)
        along, hoop = (np.log(ratio) for ratio in ratios)
        elastic = Metal(modulus=self.metal.modulus, poisson=self.metal.poisson)
        answer = respond(elastic, along=along, hoop=hoop, plastic=Plastic.none(along.shape))
        return answer.along[:, 0], answer.hoop[:, 0]

    def forces(self, q: Array, plastic: Plastic) -> Forces:
        """Forces and stiffness of the elements at the movements `q` of the nodes (nodes, 3) [mm, rad].

        Source:
            Derived; the kinematics are those of Simo and Fox, On a stress resultant geometrically exact
            shell model, Comput. Methods Appl. Mech. Eng. 72 (1989) 267-304, axisymmetric (from memory,
            medium confidence). A fibre at depth x has the stretch (e + x (k + k0)) / (1 + x k0) along the
            meridian and (r + x sin f) / (r0 + x sin f0) along the hoop. Strains are logarithmic.
        """
        strains = self.strains(q)
        ratio_along, ratio_hoop = self.ratios(strains, self.depth)
        answer = respond(self.metal, along=np.log(ratio_along), hoop=np.log(ratio_hoop), plastic=plastic)
        section, resultant = self._sections(answer, ratio_along, ratio_hoop, strains.shear)
        rows = self._rows(strains)
        force = np.matmul(resultant[:, None, :], rows)[:, 0]
        stiffness = np.matmul(rows.transpose(0, 2, 1), np.matmul(section, rows))
        self._add_turned(stiffness, resultant, strains)
        nodal = np.zeros_like(q)
        nodal[:-1] += force[:, :3]
        nodal[1:] += force[:, 3:]
        return Forces(nodal, stiffness, answer.plastic)

    def _sections(
        self, answer: Response, ratio_along: Array, ratio_hoop: Array, shear: Array
    ) -> tuple[Array, Array]:
        """Stiffness and forces of each section in stretch, bend, out, rise and shear."""
        fibre_along, fibre_hoop = self._fibre
        along = 1 / (fibre_along * ratio_along)
        hoop = 1 / (self.mesh.radius[:, None] * fibre_hoop * ratio_hoop)
        force_along, force_hoop = self._volume * answer.along * along, self._volume * answer.hoop * hoop
        aa, ah, hh = answer.stiffness
        stiff = (
            (0, 0, self._volume * aa * along**2 - force_along * along),
            (0, 2, self._volume * ah * along * hoop),
            (2, 2, self._volume * hh * hoop**2 - force_hoop * hoop),
        )
        x = self.depth
        section = np.zeros((len(shear), 5, 5))
        for i, j, values in stiff:
            first = (values * x).sum(axis=1)
            section[:, i, j] = section[:, j, i] = values.sum(axis=1)
            section[:, i, j + 1] = section[:, j + 1, i] = first
            section[:, i + 1, j] = section[:, j, i + 1] = first
            section[:, i + 1, j + 1] = section[:, j + 1, i + 1] = (values * x * x).sum(axis=1)
        section[:, 4, 4] = self._shear_stiffness
        forces = (force_along, force_along * x, force_hoop, force_hoop * x)
        resultant = np.stack(
            [*(force.sum(axis=1) for force in forces), self._shear_stiffness * shear], axis=1
        )
        return section, resultant

    def _rows(self, strains: Strains) -> Array:
        """Derivative of stretch, bend, out, rise and shear by (u, w, b) of both nodes."""
        per = 1 / self.mesh.length
        c, s = strains.cosine, strains.sine
        rows = np.zeros((len(per), 5, 6))
        for node, sign in ((0, -per), (3, per)):
            rows[:, 0, node], rows[:, 0, node + 1], rows[:, 0, node + 2] = (
                c * sign,
                s * sign,
                strains.shear / 2,
            )
            rows[:, 1, node + 2] = sign
            rows[:, 2, node] = 0.5
            rows[:, 3, node + 2] = c / 2
            rows[:, 4, node], rows[:, 4, node + 1], rows[:, 4, node + 2] = (
                -s * sign,
                c * sign,
                -strains.stretch / 2,
            )
        return rows

    def _add_turned(self, stiffness: Array, resultant: Array, strains: Strains) -> None:
        """Add what a section's forces do while it turns: second derivatives of its strains."""
        tension, _, _, hoop_moment, shearing = resultant.T
        c, s, per = strains.cosine, strains.sine, 1 / self.mesh.length
        along_u, along_w = (-tension * s - shearing * c) * per / 2, (tension * c - shearing * s) * per / 2
        turned = (-tension * strains.stretch - hoop_moment * s - shearing * strains.shear) / 4
        for b in (2, 5):
            for node, sign in ((0, -1.0), (3, 1.0)):
                for column, value in ((node, sign * along_u), (node + 1, sign * along_w)):
                    stiffness[:, column, b] += value
                    stiffness[:, b, column] += value
                stiffness[:, b, node + 2] += turned
