"""What a scene is made of once built: meshes by material, and lights."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from .meshes import Mesh

Colour = tuple[float, float, float]


@dataclass(frozen=True)
class Material:
    """``kind``: matt, gloss, metal, film (part see-through) or glow (gives light).

    ``picture`` is sRGB bytes (H, W, 3); without it ``colour`` (sRGB, 0..255) is used.
    ``opacity`` (H, W) in 0..1 is for films; ``power`` scales a glow.
    """

    kind: str = "matt"
    colour: Colour = (180.0, 180.0, 180.0)
    picture: NDArray[np.uint8] | None = None
    rough: float = 0.3
    opacity: NDArray[np.float64] | None = None
    power: float = 1.0


@dataclass(frozen=True)
class Light:
    """``shape``: ball, panel or sun. Radiance in linear RGB."""

    shape: str
    at_in: tuple[float, float, float]
    radiance: tuple[float, float, float]
    radius_in: float = 2.0
    towards: tuple[float, float, float] = (0.0, -1.0, 0.0)
    size_in: tuple[float, float] = (12.0, 12.0)


@dataclass
class Stage:
    """Collects the parts of one scene."""

    meshes: dict[str, list[Mesh]] = field(default_factory=dict)
    materials: dict[str, Material] = field(default_factory=dict)
    lights: list[Light] = field(default_factory=list)
    ambient: Colour = (0.3, 0.3, 0.3)

    def add(self, material: str, *meshes: Mesh) -> None:
        """Put meshes of one material on the stage."""
        self.meshes.setdefault(material, []).extend(meshes)

    def define(self, name: str, material: Material) -> str:
        """Name a material; the first definition stays."""
        self.materials.setdefault(name, material)
        return name

    def paint(self, colour: Colour, kind: str = "gloss", rough: float = 0.3) -> str:
        """A material of one colour, named by it."""
        name = f"{kind}_{'_'.join(str(int(c)) for c in colour)}_{int(rough * 100)}"
        return self.define(name, Material(kind, colour, rough=rough))
