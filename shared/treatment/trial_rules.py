"""The trials: anisometropic, strabismic or combined amblyopia of phakic eyes, optotype acuity, from three years on."""

from shared.dates import MONTHS_A_YEAR
from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sight.acuity import Acuity
from shared.sources import number
from shared.treatment.cautions import PATCHING, less_response
from shared.treatment.dose import NoPublishedDose, OcclusionFacts, Proposal, dose, hours_of
from shared.treatment.protocol import Row
from shared.treatment.protocol_rows import row, start
from shared.vocabulary import AcuityFamily


def propose(f: OcclusionFacts) -> Proposal | NoPublishedDose:
    """Glasses first where they are new; then 2 h in the moderate band, 6 h in the severe one. Raises naming a fact that is missing."""
    if f.amblyopic_eye_status.operated or f.fellow_eye_status.operated:
        return NoPublishedDose(msg("The trials of 2 and 6 hours were of phakic eyes; here one is operated."), ("ats2b", "ats2a"))
    youngest, oldest = number("ats5", "youngest").value, number("ats3", "oldest").value
    if f.age_months < youngest * MONTHS_A_YEAR:
        return NoPublishedDose(msg("The trials' children were %(years)s years or older.", years=int(youngest)), ("ats5", "ats2b", "ats2a"))
    if f.age_months >= (oldest + 1) * MONTHS_A_YEAR:
        return NoPublishedDose(msg("No trial here goes beyond %(years)s years.", years=int(oldest)), ("ats3",))
    amblyopic, fellow = _needed(f.amblyopic_acuity, "amblyopic_acuity"), _needed(f.fellow_acuity, "fellow_acuity")
    if f.glasses_needed and f.refractive_adaptation_weeks is None:
        raise ClinicalInputError(
            "refractive_adaptation_weeks", msg("For how many weeks have the glasses been worn? 0 where they are new; or say that none are needed.")
        )
    if amblyopic.family is not AcuityFamily.OPTOTYPE or fellow.family is not AcuityFamily.OPTOTYPE:
        return NoPublishedDose(msg("The trials' bands are of optotype acuity in both eyes; no dose is published for other tests."), ("ats2b", "ats2a"))
    return _by_band(f, amblyopic, fellow)


def _needed(acuity: Acuity | None, field: str) -> Acuity:
    if acuity is None:
        raise ClinicalInputError(field, msg("The trials' doses go by acuity: please measure this eye, with the same test as the other."))
    return acuity


def _by_band(f: OcclusionFacts, amblyopic: Acuity, fellow: Acuity) -> Proposal | NoPublishedDose:
    line, other = amblyopic.nominal_logmar, fellow.nominal_logmar
    assert line is not None and other is not None
    difference = round_half_up(line - other, 0.1)
    least = number("wallace-2013", "amblyopia_from")
    if difference < least.value - 1e-9:
        reason = msg(
            "Amblyopia begins at an interocular difference of %(least)s; here it is %(here)s in chart steps.",
            least=least.quantity(Unit.LOGMAR_CHANGE),
            here=Quantity(difference, Unit.LOGMAR_CHANGE),
        )
        return NoPublishedDose(reason, (least.source_key,))
    by = start(f.aetiology, f.age_months, line)
    if by is not None:
        if f.glasses_needed and (f.refractive_adaptation_weeks or 0) < number("ats5", "spectacles_first").value:
            return _adaptation(f)
        return _trial_dose(f, by, amblyopic, difference, other)
    reason = msg(
        "The trials' bands go from %(best)s to %(worst)s in the amblyopic eye; here it is %(here)s in chart steps.",
        best=Quantity(number("ats2b", "band_from").value, Unit.LOGMAR),
        worst=Quantity(number("ats2a", "band_to").value, Unit.LOGMAR),
        here=Quantity(line, Unit.LOGMAR),
    )
    return NoPublishedDose(reason, ("ats2b", "ats2a"))


def _adaptation(f: OcclusionFacts) -> Proposal:
    glasses, first = row("refractive-adaptation-first"), number("ats5", "spectacles_first")
    worn = Quantity(f.refractive_adaptation_weeks or 0.0, Unit.WEEKS)
    working = (msg("glasses worn for %(worn)s, fewer than %(first)s", worn=worn, first=first.quantity(Unit.WEEKS)),)
    text = msg("Glasses first: no patch until they have been worn for %(first)s, or two visits bring no more gain.", first=first.quantity(Unit.WEEKS))
    early, late = (number("eupatch", name).quantity(Unit.WEEKS) for name in ("early", "late"))
    against = msg(
        "One trial found patching after %(early)s of glasses better than after %(late)s (read second-hand); local guidelines decide.", early=early, late=late
    )
    return dose(glasses, 0, f.age_months, text, glasses.status, working, (against, *PATCHING))


def _trial_dose(f: OcclusionFacts, by: Row, amblyopic: Acuity, difference: float, fellow_line: float) -> Proposal:
    assert by.amount is not None and by.band is not None
    minutes = int(round_half_up(by.amount.value * 60))
    working = (
        msg(
            "%(typed)s is %(line)s in chart steps; the trial's band is %(low)s to %(high)s",
            typed=amblyopic.typed,
            line=Quantity(amblyopic.nominal_logmar or 0.0, Unit.LOGMAR),
            low=by.band.best.quantity(Unit.LOGMAR),
            high=by.band.worst.quantity(Unit.LOGMAR),
        ),
        msg("interocular difference %(difference)s in chart steps", difference=Quantity(difference, Unit.LOGMAR_CHANGE)),
        msg("the trial's dose and the published start: %(dose)s a day", dose=hours_of(minutes)),
    )
    if f.age_months < number("holmes-2011", "less_from").value * MONTHS_A_YEAR:
        text = msg("Amblyopia in the band of this trial: %(dose)s a day to begin with.", dose=hours_of(minutes))
    else:
        # the band's own trials were of children under seven; for older ones the start is the table's, inside what ATS3 gave
        text = msg(
            "Amblyopia in this band at seven years or more: %(dose)s a day to begin with; the trial at this age gave %(low)s to %(high)s.",
            dose=hours_of(minutes),
            low=number("ats3", "hours_from").quantity(Unit.HOURS),
            high=number("ats3", "hours_to").quantity(Unit.HOURS),
        )
    cautions = (*_usual_entry(difference, fellow_line), *less_response(f.age_months), *PATCHING)
    return dose(by, minutes, f.age_months, text, by.status, working, cautions)


def _usual_entry(difference: float, fellow_line: float) -> tuple[Message, ...]:
    usual, fellow = number("pedig-entry", "interocular_difference"), number("pedig-entry", "fellow_no_worse_than")
    found = []
    if difference < usual.value - 1e-9:
        found.append(
            msg("The trials usually took children from an interocular difference of %(usual)s on (from memory).", usual=usual.quantity(Unit.LOGMAR_CHANGE))
        )
    if fellow_line > fellow.value + 1e-9:
        found.append(
            msg(
                "The trials usually asked for %(fellow)s or better in the fellow eye (from memory): look for a second cause.",
                fellow=fellow.quantity(Unit.LOGMAR),
            )
        )
    return tuple(found)
