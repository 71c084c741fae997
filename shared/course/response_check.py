"""The own model beside the group means of published trials. The disagreement is shown, never tuned away."""

from collections.abc import Iterator
from dataclasses import dataclass

from shared.course.response import LINE_LOGMAR, Band, Course, hours_per_line, respond
from shared.dates import DAYS_A_WEEK, DAYS_PER_YEAR, MONTHS_A_YEAR
from shared.findings import Message, msg
from shared.sources import Published, number
from shared.vocabulary import AcuityFamily, Aetiology, Status

DAYS_A_MONTH = DAYS_PER_YEAR / MONTHS_A_YEAR


@dataclass(frozen=True)
class Compared:
    """One arm of a trial. Age in years, deficit and gains in logMAR, hours received; `assumed` says what of it was not published."""

    source_key: str
    arm: Message
    age_years: float
    deficit_logmar: float
    hours: float
    predicted_mean: float
    predicted: Band
    published_gain: float
    status: Status
    assumed: Message

    @property
    def difference(self) -> float:
        """Predicted less published, in logMAR."""
        return self.predicted_mean - self.published_gain


def against_published() -> tuple[Compared, ...]:
    """Every arm whose mean gain in logMAR was found. Trials that begin with new glasses carry the gain of the glasses too, which the model does not have."""
    return (*_untreated(), *_after_glasses(), *_monitored())


MIDDLE = msg("age, deficit (middle of the entry band, fellow eye at 0.0) and hours (share received in monitored studies)")
AGE_KNOWN = msg("deficit (middle of the entry band, fellow eye at 0.0) and hours (share received in monitored studies)")
MONITORED = msg("age and deficit (middle of the entry band, fellow eye at 0.0); hours were monitored")
OLDER = msg("deficit, and the middle of 7 to 16 years as age; hours were monitored")


def _untreated() -> Iterator[Compared]:
    """Trials in which children began without earlier treatment, glasses included."""
    share, age, lines = number("wallace-2013", "received_share").value / 100, number("own-response-model", "check_age"), LINE_LOGMAR
    days = number("ats2b", "months").value * DAYS_A_MONTH
    deficit = _middle(number("ats2b", "band_from"), number("ats2b", "band_to"))
    gain = number("ats2b", "gain")
    for hours in (number("ats2b", "hours").value, number("ats2b", "hours_more").value):
        yield _compared(gain, msg("%(hours)s h a day, moderate", hours=f"{hours:g}"), age.value, deficit, hours * days * share, gain.value * lines, MIDDLE)
    severe = _middle(number("ats2a", "band_from"), number("ats2a", "band_to"))
    worn = number("ats2a", "hours").value * number("ats2a", "months").value * DAYS_A_MONTH * share
    gain = number("ats2a", "gain")
    yield _compared(gain, msg("6 h a day, severe"), age.value, severe, worn, gain.value * lines, MIDDLE)


def _after_glasses() -> Iterator[Compared]:
    """Trials that began once glasses alone brought no more."""
    share, lines = number("wallace-2013", "received_share").value / 100, LINE_LOGMAR
    deficit = _middle(number("ats5", "band_from"), number("ats5", "band_to"))
    worn = number("ats5", "hours").value * number("ats5", "visit").value * DAYS_A_WEEK * share
    gain = number("ats5", "gain")
    yield _compared(gain, msg("2 h a day after glasses"), number("own-response-model", "check_age").value, deficit, worn, gain.value * lines, MIDDLE)
    deficit, age = _middle(number("ats15", "band_from"), number("ats15", "band_to")), number("ats15", "mean_age").value
    days = number("ats15", "weeks").value * DAYS_A_WEEK
    for hours, gain in ((number("ats15", "hours_up_to"), number("ats15", "gain_more")), (number("ats15", "hours_before"), number("ats15", "gain_same"))):
        arm = msg("%(hours)s h a day, residual", hours=f"{hours.value:g}")
        yield _compared(gain, arm, age, deficit, hours.value * days * share, gain.value * lines, AGE_KNOWN)


def _monitored() -> Iterator[Compared]:
    """Studies that measured the hours."""
    age = number("own-response-model", "check_age").value
    deficit = _middle(number("awan-2005", "band_from"), number("awan-2005", "band_to"))
    days = number("awan-2005", "weeks").value * DAYS_A_WEEK
    none = number("awan-2005", "gain_no_patch")
    yield _compared(none, msg("no patch"), age, deficit, 0.0, none.value, MONITORED)
    three, gain = number("awan-2005", "minutes_three_hour_arm"), number("awan-2005", "gain_three_hour_arm")
    yield _compared(gain, msg("3 h a day prescribed"), age, deficit, three.value / 60 * days, gain.value, MONITORED)
    six, gain = number("awan-2005", "minutes_six_hour_arm"), number("awan-2005", "gain_six_hour_arm")
    yield _compared(gain, msg("6 h a day prescribed"), age, deficit, six.value / 60 * days, gain.value, MONITORED)
    first, later, months = number("fronius-2009", "hours_first_month"), number("fronius-2009", "hours_later"), number("fronius-2009", "months")
    worn = (first.value + later.value * (months.value - 1)) * DAYS_A_MONTH
    age, gain = (number("fronius-2009", "from_age").value + number("fronius-2009", "to_age").value) / 2, number("fronius-2009", "gain")
    yield _compared(gain, msg("7 to 16 years"), age, number("own-response-model", "check_deficit").value, worn, gain.value, OLDER)


def _middle(low: Published, high: Published) -> float:
    return (low.value + high.value) / 2


def _compared(source: Published, arm: Message, age: float, deficit: float, hours: float, gain: float, assumed: Message) -> Compared:
    """Anisometropic stands for every cause that the model knows: it makes no difference between them."""
    response = respond(Course(Aetiology.ANISOMETROPIC, AcuityFamily.OPTOTYPE, age, deficit))
    status = Status.weakest(source.status, Status.MEMORY)
    return Compared(source.source_key, arm, age, deficit, hours, response.mean_gain(hours), response.gain(hours), gain, status, assumed)


def hours_against_published() -> tuple[float, float]:
    """Hours per 0.1 logMAR: the model's at ten years, and those published for 7 to 16 years (Fronius 2009, read), which it was not fitted to."""
    return hours_per_line(10.0), number("fronius-2009", "hours_per_line").value
