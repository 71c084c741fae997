"""When a worn lens will no longer do. Powers in D, at the cornea."""

import math
from dataclasses import dataclass
from functools import lru_cache

from shared.dates import DAYS_PER_YEAR
from shared.errors import ClinicalInputError
from shared.findings import Finding, Unit, msg
from shared.growing.growth import GrowingEye, Refracted, forecast, last_year
from shared.optics.planes import RefractionPlane
from shared.sources import number
from shared.vocabulary import Status

CHANGE_LIMITS_DIOPTRES = (0.5, 4.0)  # as a clinic may set its own
FASTER, LIKELY, SLOWER = 1.0, 0.0, -1.0  # standard deviations of growth: two of three eyes lie between


@dataclass(frozen=True)
class OutAfter:
    """How many days after a refraction a lens is out by `limit` (D): an eye growing fast, as likely, slowly; None: not within the published ages."""

    limit: float
    earliest: int | None
    likely: int | None
    latest: int | None


def check_limit(limit: float) -> None:
    """Raises `ClinicalInputError` naming `limit_dioptres` for what no clinic changes a lens at (D)."""
    low, high = CHANGE_LIMITS_DIOPTRES
    if not math.isfinite(limit) or not low <= limit <= high:
        raise ClinicalInputError(
            "limit_dioptres", msg("A limit of %(limit)s D cannot be; %(low)s to %(high)s D would.", limit=f"{limit:g}", low=f"{low:g}", high=f"{high:g}")
        )


def lens_out_after(eye: GrowingEye, start: Refracted, limit: float, worn_dioptres: float | None = None) -> OutAfter:
    """When a lens is out by `limit` (D at the cornea): worn distance power against the power needed, from a refraction on.

    Without a lens, one that was right on the day of the refraction. The refraction's own error is left out: the lens was chosen by it.
    Raises `ClinicalInputError` naming `limit_dioptres`, or what `forecast` refuses.
    """
    check_limit(limit)
    worn = start.refraction.at(RefractionPlane.CORNEA).power if worn_dioptres is None else worn_dioptres
    earliest, likely, latest = (_out_after(eye, start, limit, worn, spreads) for spreads in (FASTER, LIKELY, SLOWER))
    return OutAfter(limit, earliest, likely, latest)


@lru_cache(maxsize=4096)  # some hundred forecasts, asked again for each lens of one document and on each page
def _out_after(eye: GrowingEye, start: Refracted, limit: float, worn: float, spreads: float) -> int | None:
    """The power needed only falls: once out by too much plus, the lens stays so; the first such day is found by halving."""
    if abs(_out_by(eye, start, worn, spreads, 0)) >= limit:
        return 0
    low, high = 0, int((last_year() - start.years) * DAYS_PER_YEAR)
    if _out_by(eye, start, worn, spreads, high) < limit:
        return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _out_by(eye, start, worn, spreads, middle) >= limit else (middle, high)
    return high


def _out_by(eye: GrowingEye, start: Refracted, worn: float, spreads: float, days: int) -> float:
    return worn - forecast(eye, start, start.years + days / DAYS_PER_YEAR).growing(RefractionPlane.CORNEA, spreads)


def trials_habit() -> Finding:
    """In the trial's clinics a lens was changed only beyond 3 D (Trivedi and Wilson, read); clinics set 1 to 2 D (common practice)."""
    beyond = number("trivedi-wilson-lens-power", "changed_beyond")
    text = msg("In the published series a lens was changed once it was out by more than %(beyond)s D; clinics set 1 to 2 D.", beyond=f"{beyond.value:g}")
    return Finding("lens-change-habit", text, Status.COMMON_PRACTICE, (beyond.source_key,), beyond.quantity(Unit.DIOPTRE))
