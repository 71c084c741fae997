"""What was signed, and which of it holds on a day. The end of a plan is a comparison of dates made wherever it is read."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.treatment.dose import DatedDose
from shared.treatment.grace import LONGEST_DAYS
from shared.treatment.protocol_words import Pattern
from shared.vocabulary import Laterality, MissingCorrectionRule, Phase

LONGEST_WEEKS = 26  # common practice: nobody is treated for more than half a year unseen
MOST_MINUTES_A_DAY = 16 * 60  # common practice: a day has more hours than any child is awake
MOST_TURN_DAYS = 6  # common practice: one day of each week belongs to the other eye at least
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class Drops:
    """One drop of atropine into an eye on each day of a pattern."""

    eye: Laterality
    pattern: Pattern


@dataclass(frozen=True)
class Regimen:
    """One signed revision, over the half-open days from `start_on` to `ends_on`; a stop has no end.

    `number` rises with each signature. `doses` are minutes a day, each from its date until the next (0 is a break), on the days of its
    pattern. `drops` belong to a phase of atropine, which has no minutes. `grace_days` go on past the review where the visit slips. `turn_days`, where
    the eyes alternate, are the days with a patch on the covered eye before one on the other. Raises `ClinicalInputError` naming the field that cannot be.
    """

    number: int
    phase: Phase
    start_on: date
    review_on: date | None
    covered_eye: Laterality | None
    doses: tuple[DatedDose, ...]
    missing_correction: MissingCorrectionRule
    drops: Drops | None = None
    grace_days: int = 0
    turn_days: int = 0

    def __post_init__(self) -> None:
        self._check_span()
        self._check_grace()
        if self.turn_days and self.phase is not Phase.OCCLUSION:
            raise ClinicalInputError("turn_days", msg("Only an occlusion phase covers the eyes in turn."))
        if (self.drops is not None) is not (self.phase is Phase.ATROPINE):
            raise ClinicalInputError("drop_eye", msg("Drops and a phase of atropine belong together: choose both or neither."))
        if self.phase is Phase.OCCLUSION:
            self._check_occlusion()
            return
        if self.covered_eye is not None:
            raise ClinicalInputError("covered_eye", msg("Only an occlusion phase covers an eye. Leave it empty, or choose occlusion."))
        if self.doses:
            raise ClinicalInputError("doses", msg("This phase has no occlusion, so it has no hours. Leave them empty, or choose occlusion."))

    def _check_span(self) -> None:
        if self.phase is Phase.STOP:
            if self.review_on is not None:
                raise ClinicalInputError("review_on", msg("A stop has no end. Leave the review date empty, or choose a pause."))
            return
        if self.review_on is None:
            raise ClinicalInputError("review_on", msg("A review date is needed: the plan ends on it."))
        if self.review_on <= self.start_on:
            raise ClinicalInputError(
                "review_on",
                msg("The review, %(review_on)s, must come after the start, %(start_on)s.", review_on=self.review_on, start_on=self.start_on),
            )
        latest = self.start_on + timedelta(weeks=LONGEST_WEEKS)
        if self.review_on > latest:
            raise ClinicalInputError(
                "review_on",
                msg(
                    "The review, %(review_on)s, is more than %(weeks)s weeks after the start. Choose %(latest)s or earlier.",
                    review_on=self.review_on,
                    weeks=LONGEST_WEEKS,
                    latest=latest,
                ),
            )

    def _check_grace(self) -> None:
        if not 0 <= self.grace_days <= LONGEST_DAYS:
            raise ClinicalInputError(
                "grace_days",
                msg("%(days)s days past the review cannot be signed: 0 to %(most)s can.", days=self.grace_days, most=LONGEST_DAYS),
            )
        if self.grace_days and self.phase in (Phase.PAUSE, Phase.STOP):
            raise ClinicalInputError("grace_days", msg("There is nothing to carry on in a pause or a stop."))

    def _check_occlusion(self) -> None:
        assert self.ends_on is not None
        if not 0 <= self.turn_days <= MOST_TURN_DAYS:
            raise ClinicalInputError(
                "turn_days", msg("%(days)s days on one eye before one on the other cannot be: 1 to %(most)s can.", days=self.turn_days, most=MOST_TURN_DAYS)
            )
        if self.covered_eye is None:
            raise ClinicalInputError("covered_eye", msg("Choose which eye is covered."))
        if not self.doses:
            raise ClinicalInputError("doses", msg("An occlusion phase needs its hours a day."))
        starts = [dose.from_on for dose in self.doses]
        if starts[0] != self.start_on:
            raise ClinicalInputError(
                "doses", msg("The first hours begin on %(from_on)s; they must begin on the start, %(start_on)s.", from_on=starts[0], start_on=self.start_on)
            )
        if any(later <= earlier for earlier, later in pairwise(starts)):
            raise ClinicalInputError("doses", msg("The dates of the hours must follow one another, each date once."))
        if starts[-1] >= self.ends_on:
            raise ClinicalInputError(
                "doses", msg("The hours from %(from_on)s begin on or after the end of the plan, %(ends_on)s.", from_on=starts[-1], ends_on=self.ends_on)
            )
        for dose in self.doses:
            if not 0 <= dose.minutes <= MOST_MINUTES_A_DAY:
                raise ClinicalInputError(
                    "minutes",
                    msg("%(minutes)s minutes a day cannot be worn. Give 0 to %(most)s minutes (16 hours).", minutes=dose.minutes, most=MOST_MINUTES_A_DAY),
                )

    @property
    def ends_on(self) -> date | None:
        """The first day on which it no longer holds: the review, or so many days later as were signed for a visit that slips."""
        return None if self.review_on is None else self.review_on + timedelta(days=self.grace_days)

    def covers(self, day: date) -> bool:
        """Whether the day lies in the half-open span."""
        return self.start_on <= day and (self.ends_on is None or day < self.ends_on)

    def in_grace(self, day: date) -> bool:
        """On the day of the review or after it, and still in force."""
        return self.review_on is not None and self.review_on <= day and self.covers(day)

    def covered_on(self, day: date) -> Laterality | None:
        """The eye that is covered on a day with a patch; where the eyes alternate, counted over the days with a patch since the start."""
        if self.covered_eye is None or not self.turn_days:
            return self.covered_eye
        before = sum(self.minutes_on(self.start_on + timedelta(days=n)) > 0 for n in range((day - self.start_on).days))
        return self.covered_eye.other if before % (self.turn_days + 1) == self.turn_days else self.covered_eye

    def minutes_on(self, day: date) -> int:
        """Minutes signed for the day; 0 outside the span."""
        if not self.covers(day):
            return 0
        dose = self.dose_on(day)
        return dose.minutes_on(day) if dose else 0

    def dose_on(self, day: date) -> DatedDose | None:
        """The dose that holds on a day, also on one off by its pattern; None outside the span, and where there are none."""
        return next((dose for dose in reversed(self.doses) if dose.from_on <= day), None) if self.covers(day) else None

    def off_by_pattern(self, day: date) -> bool:
        """A day without patch between days with one: no break, and no day that somebody should have spoken of."""
        dose = self.dose_on(day)
        return dose is not None and dose.minutes > 0 and not dose.minutes_on(day)

    def resumes(self, day: date) -> DatedDose | None:
        """On a day of a break, the dose with which the patch comes back; None on any other day, and where it does not come back."""
        dose = self.dose_on(day)
        if dose is None or dose.minutes:
            return None
        return next((later for later in self.doses if later.from_on > day and later.minutes), None)

    def drop_on(self, day: date) -> bool:
        """Whether a drop is due on a day; never outside the span."""
        return self.drops is not None and self.covers(day) and self.drops.pattern.includes(day, self.start_on)


def in_force(revisions: Sequence[Regimen], day: date) -> Regimen | None:
    """The newest revision begun by the day, or None once that one has ended: an older one never comes back in its place."""
    newest = max((r for r in revisions if r.start_on <= day), key=lambda r: r.number, default=None)
    return newest if newest is not None and newest.covers(day) else None


def prescribed_minutes(revisions: Sequence[Regimen], day: date) -> int:
    """Minutes of occlusion signed for the day; 0 where nothing is in force."""
    regimen = in_force(revisions, day)
    return regimen.minutes_on(day) if regimen else 0


def prescribed_dose(revisions: Sequence[Regimen], day: date) -> DatedDose | None:
    """The dose that holds on the day, whether or not its pattern falls on it; None where nothing is in force."""
    regimen = in_force(revisions, day)
    return regimen.dose_on(day) if regimen else None


def drop_due(revisions: Sequence[Regimen], day: date) -> bool:
    """Whether a drop is signed for the day; never where nothing is in force."""
    regimen = in_force(revisions, day)
    return regimen is not None and regimen.drop_on(day)


def plan_endings(revisions: Sequence[Regimen]) -> tuple[date, ...]:
    """The dates on which a plan really ran out, ascending: one still in force the day before, and followed by nothing that day."""
    return tuple(
        sorted(r.ends_on for r in revisions if r.ends_on is not None and in_force(revisions, r.ends_on - _DAY) is r and in_force(revisions, r.ends_on) is None)
    )
