"""How severe an amblyopia is: the bands of the trials differ, so each answer belongs to a named set. In chart steps."""

from dataclasses import dataclass
from enum import StrEnum

from shared.errors import ClinicalInputError
from shared.findings import Finding, Message, Quantity, Unit, msg
from shared.rounding import round_half_up
from shared.sight.acuity import Acuity, in_steps
from shared.sources import Published, number
from shared.vocabulary import AcuityFamily, Status


class Severity(StrEnum):
    MODERATE = "moderate"
    SEVERE = "severe"
    OUTSIDE = "outside"


@dataclass(frozen=True)
class Band:
    """Where an acuity lies in one set of bands, which are in logMAR chart steps; the finding's rule is the set's id."""

    title: Message
    severity: Severity
    finding: Finding


def severity(amblyopic: Acuity) -> tuple[Band, ...]:
    """The amblyopic eye in every named set of bands. Raises `ClinicalInputError` naming `amblyopic_acuity`: bands are of letters or pictures."""
    if amblyopic.family is not AcuityFamily.OPTOTYPE:
        raise ClinicalInputError("amblyopic_acuity", msg("“%(typed)s”: severity bands are of letters or pictures.", typed=amblyopic.typed))
    moderate, severe = Severity.MODERATE, Severity.SEVERE
    seen = in_steps(amblyopic)
    weekend = (
        (moderate, number("weekend-atropine-2009", "moderate_from"), number("weekend-atropine-2009", "moderate_to")),
        (severe, number("weekend-atropine-2009", "severe_from"), number("weekend-atropine-2009", "severe_to")),
    )
    run_in = (
        (moderate, number("two-hour-run-in", "moderate_from"), number("two-hour-run-in", "moderate_to")),
        (severe, number("two-hour-run-in", "severe_from"), number("two-hour-run-in", "severe_to")),
    )
    return (
        _band("band-ats1", msg("ATS1"), seen, (moderate, number("ats1", "moderate_from"), number("ats1", "moderate_to"))),
        _band("band-ats2a", msg("ATS2A"), seen, (severe, number("ats2a", "band_from"), number("ats2a", "band_to"))),
        _band("band-ats2b", msg("ATS2B"), seen, (moderate, number("ats2b", "band_from"), number("ats2b", "band_to"))),
        _band("band-ats4", msg("ATS4"), seen, (moderate, number("ats4", "moderate_from"), number("ats4", "moderate_to"))),
        _band("band-weekend-atropine", msg("Weekend atropine trials"), seen, *weekend),
        _band("band-two-hour-run-in", msg("Two-hour run-in"), seen, *run_in),
        _band("band-wang-2021", msg("Wang 2021"), seen, (severe, number("wang-2021", "severe_from"), number("wang-2021", "severe_to"))),
    )


def _band(rule: str, title: Message, lines: float, *bands: tuple[Severity, Published, Published]) -> Band:
    here = next((s for s, low, high in bands if round_half_up(low.value * 10) <= lines <= round_half_up(high.value * 10)), Severity.OUTSIDE)
    printed = [_printed(name, low, high) for name, low, high in bands]
    of = printed[0] if len(printed) == 1 else msg("%(one)s, %(other)s", one=printed[0], other=printed[1])
    value = Quantity(lines / 10, Unit.LOGMAR)
    text = msg("%(seen)s in chart steps: %(here)s, the set having %(bands)s.", seen=value, here=here, bands=of)
    status = Status.weakest(*(n.status for _, low, high in bands for n in (low, high)))
    return Band(title, here, Finding(rule, text, status, (bands[0][1].source_key,), value))


def _printed(name: Severity, low: Published, high: Published) -> Message:
    return msg("%(name)s from %(low)s to %(high)s", name=name, low=low.as_printed, high=high.as_printed)
