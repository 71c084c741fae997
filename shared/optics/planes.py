"""At which plane a spherical refraction stands. A rate published for one plane is never applied at another."""

from dataclasses import dataclass
from enum import StrEnum

from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.optics.refraction import SpheroCylinder, at_vertex_distance


class RefractionPlane(StrEnum):
    """Where a power stands, or would stand."""

    SPECTACLES = "spectacles"
    CORNEA = "cornea"


@dataclass(frozen=True)
class PlaneRefraction:
    """A spherical equivalent in D at its plane; `vertex_distance_mm` is that of the spectacles, whichever plane it stands at.

    Raises `ClinicalInputError` naming `sphere` or a vertex distance.
    """

    power: float
    plane: RefractionPlane
    vertex_distance_mm: float

    def __post_init__(self) -> None:
        at_vertex_distance(SpheroCylinder(self.power), self.vertex_distance_mm, self.vertex_distance_mm)

    def at(self, plane: RefractionPlane) -> "PlaneRefraction":
        """What does the same at another plane (D). Raises `ClinicalInputError` naming `sphere` where no lens can."""
        moved = at_vertex_distance(SpheroCylinder(self.power), self._mm(self.plane), self._mm(plane)).exact.sphere
        return PlaneRefraction(moved, plane, self.vertex_distance_mm)

    def _mm(self, plane: RefractionPlane) -> float:
        return self.vertex_distance_mm if plane is RefractionPlane.SPECTACLES else 0.0

    def required_at(self, plane: RefractionPlane) -> float:
        """The power in D, for a rate of `plane`. Raises `ClinicalInputError` naming `plane` where it stands at another."""
        if self.plane is not plane:
            raise ClinicalInputError(
                "plane", msg("This rate was published at the plane “%(plane)s”; a refraction at “%(own)s” cannot take it.", plane=plane, own=self.plane)
            )
        return self.power
