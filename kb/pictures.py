"""Pictures of documents and pages: shapes and captions, which know no file format."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, TypeAlias


@dataclass(frozen=True, slots=True)
class Rectangle:
    """A rectangle of a picture."""

    x: float
    y: float
    width: float
    height: float
    look: str


@dataclass(frozen=True, slots=True)
class Curve:
    """Points of a picture joined by straight lines."""

    points: tuple[tuple[float, float], ...]
    look: str


@dataclass(frozen=True, slots=True)
class Circle:
    """A filled circle of a picture."""

    x: float
    y: float
    radius: float
    look: str


@dataclass(frozen=True, slots=True)
class Caption:
    """Words of a picture; `turned` reads upwards."""

    x: float
    y: float
    text: str
    look: str
    turned: bool = False


Shapes: TypeAlias = Rectangle | Curve | Circle | Caption


@dataclass(frozen=True, slots=True)
class Picture:
    """Shapes and captions from the upper left corner, in the unit of `width` and `height`."""

    kind: Literal["lanes", "plot", "fault"]
    width: float
    height: float
    title: str
    shapes: tuple[Shapes, ...]
