"""The ledger of an eye's contact lenses: what may follow what, what it says today, and until when a spare may be trusted."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from shared.dates import month_on
from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.lens_words import LensState
from shared.vocabulary import Laterality, Status

# A growing eye leaves a power behind; where no forecast says when, a spare is trusted for a fixed time (common practice).
SPARE_TRUSTED_MONTHS = 3

MAY_FOLLOW: dict[LensState, frozenset[LensState]] = {
    LensState.ORDERED: frozenset({LensState.ARRIVED, LensState.OUT_OF_DATE}),
    LensState.ARRIVED: frozenset({LensState.IN_USE, LensState.LOST, LensState.BROKEN, LensState.OUT_OF_DATE}),
    LensState.IN_USE: frozenset({LensState.TAKEN_OUT, LensState.LOST, LensState.BROKEN, LensState.OUT_OF_DATE}),
    LensState.TAKEN_OUT: frozenset({LensState.IN_USE, LensState.LOST, LensState.BROKEN, LensState.OUT_OF_DATE}),
    LensState.LOST: frozenset({LensState.FOUND, LensState.OUT_OF_DATE}),
    LensState.FOUND: frozenset({LensState.IN_USE, LensState.LOST, LensState.BROKEN, LensState.OUT_OF_DATE}),
    LensState.BROKEN: frozenset(),
    LensState.OUT_OF_DATE: frozenset(),
}
IN_HAND = frozenset({LensState.ARRIVED, LensState.TAKEN_OUT, LensState.FOUND})  # a spare, while it is valid


@dataclass(frozen=True)
class Lens:
    """One lens of an eye as it stands: `power` in D; `superseded` and `barred` as the signed document from which it was ordered."""

    eye: Laterality
    power: float
    state: LensState
    valid_until: date
    superseded: bool = False
    barred: bool = False

    def is_spare(self, today: date) -> bool:
        """In hand, of the document in force, and still to be trusted on a day."""
        return self.state in IN_HAND and not self.superseded and not self.barred and today < self.valid_until


def check_step(before: LensState, after: LensState, since_on: date, on: date) -> None:
    """Raises `ClinicalInputError` naming `state` or `on` where a lens cannot go from one state to the next that day."""
    if after not in MAY_FOLLOW[before]:
        raise ClinicalInputError("state", msg("A lens that is “%(before)s” cannot become “%(after)s”.", before=before, after=after))
    if on < since_on:
        raise ClinicalInputError("on", msg("%(on)s lies before the last entry of this lens, %(since)s.", on=on, since=since_on))


def spare_valid_until(ordered_on: date, off_on: date | None = None) -> date:
    """The day from which a spare is no longer trusted: that on which its power is expected to be off, else a fixed time from its order (common practice)."""
    return off_on or month_on(ordered_on, SPARE_TRUSTED_MONTHS)


def ledger_findings(lens_eyes: Sequence[Laterality], lenses: Sequence[Lens], today: date) -> tuple[Finding, ...]:
    """What the ledger brings up on a day; `lens_eyes` are the aphakic eyes with a signed lens in force (common practice)."""
    found: list[Finding] = []
    for eye in Laterality:
        of_eye = [lens for lens in lenses if lens.eye is eye]
        if of_eye and eye in lens_eyes:  # a ledger that was never begun says nothing
            found += _wanted(eye, of_eye, today)
        found += [finding for lens in of_eye for finding in _of_lens(lens, today)]
    return tuple(found)


def _wanted(eye: Laterality, lenses: Sequence[Lens], today: date) -> list[Finding]:
    worn = any(lens.state is LensState.IN_USE and not lens.barred for lens in lenses)
    found = []
    if not worn:
        text = msg("No lens is in use for the %(eye)s eye: without a focused image no hour is treatment.", eye=eye)
        found.append(Finding("lens-none-in-use", text, Status.COMMON_PRACTICE, weight=Weight.ACT))
    if not any(lens.is_spare(today) for lens in lenses):
        text = msg("No valid spare lens is in hand for the %(eye)s eye.", eye=eye)
        found.append(Finding("lens-no-spare", text, Status.COMMON_PRACTICE, weight=Weight.CHECK if worn else Weight.ACT))
    return found


def _of_lens(lens: Lens, today: date) -> list[Finding]:
    power = Quantity(lens.power, Unit.DIOPTRE)
    in_use = lens.state is LensState.IN_USE
    if in_use and lens.barred:
        text = msg("The lens of %(power)s in use for the %(eye)s eye is barred: the eye was operated on since it was measured.", power=power, eye=lens.eye)
        return [Finding("lens-barred-in-use", text, Status.COMMON_PRACTICE, weight=Weight.ACT)]
    if in_use and lens.superseded:
        text = msg("The lens of %(power)s in use for the %(eye)s eye is of a correction that a newer one superseded.", power=power, eye=lens.eye)
        return [Finding("lens-superseded-in-use", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)]
    if lens.state in IN_HAND and not lens.barred and today >= lens.valid_until:
        text = msg(
            "The spare of %(power)s for the %(eye)s eye was to be trusted until %(on)s: check its power before it is worn.",
            power=power,
            eye=lens.eye,
            on=lens.valid_until,
        )
        return [Finding("lens-spare-stale", text, Status.COMMON_PRACTICE, weight=Weight.CHECK)]
    return []
