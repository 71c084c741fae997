"""A clinic's own protocol: a dose with a named author, for children whom it describes. Common practice at most; never one of the published rows."""

from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sight.severity import Severity, severity
from shared.treatment.dose import OcclusionFacts
from shared.treatment.protocol_words import BandSet, Pattern
from shared.treatment.waking import waking
from shared.vocabulary import AcuityFamily, Aetiology, OpticalStatus

OLDEST_MONTHS = 1200
MOST_MINUTES = 16 * 60  # common practice: a day has more hours than any child is awake
LONGEST_REVIEW_WEEKS = 26  # common practice: nobody is treated for more than half a year unseen


@dataclass(frozen=True)
class ClinicProtocol:
    """Minutes a day, or a percentage of the waking hours, on the days of a pattern; ages in completed months, half-open, None means any.

    A severity goes with the set whose word it is. Raises `ClinicalInputError` naming the field.
    """

    name: str
    author: str
    reference: str
    aetiology: Aetiology | None
    from_month: int
    below_month: int
    band_set: BandSet | None
    severity: Severity | None
    minutes: int | None
    waking_percent: int | None
    pattern: Pattern
    review_weeks: int
    near_work: str = ""

    def __post_init__(self) -> None:
        for field in ("name", "author", "reference"):
            if not getattr(self, field).strip():
                raise ClinicalInputError(field, msg("A protocol has a name, an author who answers for it, and a reference. Please fill this in."))
        if not 0 <= self.from_month < self.below_month <= OLDEST_MONTHS:
            raise ClinicalInputError(
                "below_month", msg("The ages go from a completed month, 0 or more, up to a later one, %(most)s at most.", most=OLDEST_MONTHS)
            )
        if (self.band_set is None) is not (self.severity is None):
            raise ClinicalInputError("severity", msg("A severity is named together with the trial whose word it is: choose both, or neither."))
        if (self.minutes is None) is (self.waking_percent is None):
            raise ClinicalInputError("minutes", msg("Give either minutes a day or a share of the waking hours."))
        if self.minutes is not None and not 1 <= self.minutes <= MOST_MINUTES:
            raise ClinicalInputError("minutes", msg("A dose has 1 to %(most)s minutes a day (16 hours).", most=MOST_MINUTES))
        if self.waking_percent is not None and not 1 <= self.waking_percent <= 100:
            raise ClinicalInputError("waking_percent", msg("A share of the waking hours has 1 to 100 percent."))
        if not 1 <= self.review_weeks <= LONGEST_REVIEW_WEEKS:
            raise ClinicalInputError("review_weeks", msg("The review comes after 1 to %(most)s weeks.", most=LONGEST_REVIEW_WEEKS))

    def takes(self, f: OcclusionFacts) -> bool:
        """Whether it is for a child like this; one with a severity asks for a line of the chart, and nobody's only eye is covered."""
        if OpticalStatus.ABSENT in (f.amblyopic_eye_status, f.fellow_eye_status):
            return False
        if self.aetiology not in (None, f.aetiology) or not self.from_month <= f.age_months < self.below_month:
            return False
        if self.band_set is None:
            return True
        acuity = f.amblyopic_acuity
        if acuity is None or acuity.family is not AcuityFamily.OPTOTYPE:
            return False
        return any(band.finding.rule == self.band_set and band.severity is self.severity for band in severity(acuity))

    def minutes_a_day(self, f: OcclusionFacts) -> tuple[int, Message]:
        """Whole minutes on a day of the pattern, and how they came about. Raises `ClinicalInputError` where waking hours are asked for and not known."""
        if self.minutes is not None:
            return self.minutes, msg("as the protocol says, %(hours)s", hours=Quantity(self.minutes / 60, Unit.HOURS))
        awake = waking(f.age_months, f.waking_hours)
        assert self.waking_percent is not None
        minutes = int(round_half_up(awake.hours * 60 * self.waking_percent / 100))
        return minutes, msg("%(share)s of %(how)s", share=Quantity(self.waking_percent, Unit.PERCENT), how=awake.how)
