"""What a clinic sets for its own reviews. The values here hold where it has set none (common practice); every finding shows the one it was held against."""

import math
from dataclasses import dataclass, fields

from shared.errors import ClinicalInputError
from shared.findings import msg

_RANGES = {"low_share": (0.1, 1.0), "over_share": (1.0, 3.0), "lens_off_dioptres": (0.5, 4.0)}


@dataclass(frozen=True)
class ReviewLimits:
    """Shares are of the prescribed time; a lens is off from `lens_off_dioptres` (D) on. Raises `ClinicalInputError` naming the limit."""

    low_share: float = 0.5  # of the prescribed time, and of the days that are known
    over_share: float = 1.25  # of the prescribed time
    lens_off_dioptres: float = 1.5  # clinics set 1 to 2 D; a trial changed lenses from 3 D on
    rules_off: frozenset[str] = frozenset()

    def __post_init__(self) -> None:
        for name in (f.name for f in fields(self) if f.name in _RANGES):
            value, (low, high) = getattr(self, name), _RANGES[name]
            if not math.isfinite(value) or not low <= value <= high:
                raise ClinicalInputError(
                    name, msg("%(value)s cannot be; between %(low)s and %(high)s would.", value=f"{value:g}", low=f"{low:g}", high=f"{high:g}")
                )
