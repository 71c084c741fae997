"""The bands of acuity that the rows of the trials are for; what each trial calls moderate or severe is asked of `shared.sight.severity`."""

from dataclasses import dataclass

from shared.findings import Message, Unit, msg
from shared.sources import Published, number

_SLACK = 1e-9


@dataclass(frozen=True)
class AcuityBand:
    """The amblyopic eye's acuity from `best` to `worst`, both included: lines of a chart in logMAR."""

    best: Published
    worst: Published

    def holds(self, line: float) -> bool:
        """Whether a line of the chart, in logMAR, lies in the band."""
        return self.best.value - _SLACK <= line <= self.worst.value + _SLACK

    @property
    def words(self) -> Message:
        return msg("%(best)s to %(worst)s in the amblyopic eye", best=self.best.quantity(Unit.LOGMAR), worst=self.worst.quantity(Unit.LOGMAR))


ATS1_MODERATE = AcuityBand(number("ats1", "moderate_from"), number("ats1", "moderate_to"))
ATS2A_SEVERE = AcuityBand(number("ats2a", "band_from"), number("ats2a", "band_to"))
ATS2B_MODERATE = AcuityBand(number("ats2b", "band_from"), number("ats2b", "band_to"))
ATS8_MODERATE = AcuityBand(number("ats8", "band_from"), number("ats8", "band_to"))
ATS9_MODERATE = AcuityBand(number("ats9", "band_from"), number("ats9", "band_to"))
RUN_IN_SEVERE = AcuityBand(number("two-hour-run-in", "severe_from"), number("two-hour-run-in", "severe_to"))
WEEKEND_SEVERE = AcuityBand(number("weekend-atropine-2009", "severe_from"), number("weekend-atropine-2009", "severe_to"))
