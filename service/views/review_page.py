"""The review as a function of the facts and a day, so that it can be shown again: dose received beside vision gained."""

from collections import Counter
from dataclasses import dataclass
from datetime import date, datetime

from schedules.adherence import Adherence, Span, counted
from service.actions.amendments import extension
from service.actions.wear import NotWornReason
from service.facts import Child, SignedRegimen
from service.i18n import Words
from service.views import charts, course, expected_view
from service.views.case import Case
from service.views.child_page import CorrectionShown, corrections_shown
from service.views.planned import is_off
from service.views.review_facts import review_facts
from service.views.shown import NOT_WORN, FindingShown, dose_shown, finding_shown, regimen_summary
from service.views.visit_page import read_as
from shared.course.review import findings, settle
from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, Weight, msg
from shared.vocabulary import Operation, Phase


@dataclass(frozen=True)
class AcuityRow:
    on: date
    eye: str
    typed: str
    read_as: str
    test: str
    reliability: str


@dataclass(frozen=True)
class RevisionRow:
    number: int
    state: str
    summary: str
    start_on: date
    review_on: date | None
    signed_by: str
    signed_at: datetime
    reason: str


@dataclass(frozen=True)
class ExtensionShown:
    """What a telephone extension would carry on, and until when at most."""

    dose: str
    last_on: date


@dataclass(frozen=True)
class ReviewPage:
    child: Child
    today: date
    span_from: date | None
    adherence: Adherence
    adherence_text: str
    days_off_unknown: int  # of the unknown days those that the family told as off
    corrections: tuple[CorrectionShown, ...]
    acuity_chart: charts.LineChart | None
    dose_chart: charts.DoseChart | None
    caption: str
    acuities: tuple[AcuityRow, ...]
    weeks: tuple[charts.WeekDose, ...]
    findings: tuple[FindingShown, ...]
    suggestion: FindingShown | None
    decisions: tuple[tuple[str, str], ...]  # none before the first visit
    drops: bool  # of atropine are under review
    leads: bool  # whether the proposal is one of the decisions below; a pause or a stop is not
    reasons: tuple[tuple[str, int], ...]  # why nothing was worn, as families said, with the number of days
    may_sign: bool
    break_until: date | None  # the review up to which a treatment break may lie; None where no patch is going on
    extension: ExtensionShown | None
    revisions: tuple[RevisionRow, ...]
    expected: expected_view.ExpectedShown | None
    not_expected: str  # why there is no forecast; "" where there is one


CAPTION = msg("%(lines)s %(bars)s", lines=msg("Lower logMAR is better. A change of test starts a new series."), bars=charts.LEGEND)
DECISIONS: tuple[tuple[str, Message], ...] = (
    ("continue", msg("Continue")),
    ("change", msg("Change the dose")),
    ("taper", msg("Taper")),
)


def view(c: Case, may_sign: bool, words: Words) -> ReviewPage:
    since = c.course_from
    found = c.adherence(since or c.today, c.today)
    weeks = course.weeks(c)
    suggestion = settle(review_facts(c)) if c.revisions or not c.visits else None
    expected = expected_view.worked(c)
    return ReviewPage(
        child=c.child,
        today=c.today,
        span_from=since,
        adherence=found,
        adherence_text=_share(found, words),
        days_off_unknown=_days_off_unknown(c, since or c.today),
        corrections=corrections_shown(c, words),
        acuity_chart=course.acuity_chart(c, words),
        dose_chart=course.dose_chart(c, weeks, words),
        caption=words.text(CAPTION),
        acuities=_acuities(c, words),
        weeks=weeks,
        findings=tuple(finding_shown(f, words) for f in findings(review_facts(c))),
        suggestion=finding_shown(suggestion, words) if suggestion else None,
        decisions=tuple((value, words.text(label)) for value, label in DECISIONS) if c.visits else (),
        drops=c.under_review is not None and c.under_review.drops is not None,
        leads=suggestion is not None and suggestion.weight is not Weight.ACT,
        reasons=_reasons(c, since, words),
        may_sign=may_sign,
        break_until=c.current.regimen.review_on if c.current and c.current.regimen.phase is Phase.OCCLUSION else None,
        extension=_extension(c, words),
        revisions=tuple(_revision(c, s, words) for s in reversed(c.regimens)),
        expected=None if isinstance(expected, Message) else expected_view.shown(expected, words),
        not_expected=words.text(expected) if isinstance(expected, Message) else "",
    )


def _extension(c: Case, words: Words) -> ExtensionShown | None:
    try:
        found = extension(c.child, c.regimens, c.today)
    except ClinicalInputError:
        return None
    dose = dose_shown(found.dose, words) if found.dose else words.label(found.base.regimen.phase)
    return ExtensionShown(dose, found.last_on)


def _reasons(c: Case, since: date | None, words: Words) -> tuple[tuple[str, int], ...]:
    """The most frequent first; days, not taps."""
    days = {(e.local_on, e.reason) for e in counted(c.entries) if e.reason and since is not None and since <= e.local_on < c.today}
    counts = Counter(reason for _, reason in days)
    return tuple((words.text(NOT_WORN[NotWornReason(reason)]), n) for reason, n in sorted(counts.items(), key=lambda item: (-item[1], item[0])))


def _days_off_unknown(c: Case, since: date) -> int:
    noted = {e.local_on for e in counted(c.entries)}
    return sum(is_off(c, on) and on not in noted for on in Span(since, c.today).days())


def _share(a: Adherence, words: Words) -> str:
    if a.low is None:
        return words.gettext("nothing prescribed")
    low = words.quantity(Quantity(a.low * 100, Unit.PERCENT))
    return low if a.high is None else f"{low} – {words.quantity(Quantity(a.high * 100, Unit.PERCENT))}"


def _acuities(c: Case, words: Words) -> tuple[AcuityRow, ...]:
    return tuple(
        AcuityRow(
            visit.on,
            words.label(eye),
            r.acuity.typed,
            read_as(r.acuity, words),
            words.label(test.method) if test.method else "",
            words.label(r.reliability) if r.reliability else "–",
        )
        for visit in reversed(c.visits)
        for test in visit.tests
        for eye, r in test.readings.items()
        if r.acuity is not None
    )


def _state(c: Case, s: SignedRegimen, words: Words) -> str:
    if s is c.current:
        return words.gettext("in force")
    if s in c.to_come:
        return words.gettext("to come")
    followed = any(other.number > s.regimen.number and other.start_on < (s.regimen.ends_on or c.today) for other in c.revisions)
    return words.gettext("superseded") if followed else words.gettext("ended")


def _revision(c: Case, s: SignedRegimen, words: Words) -> RevisionRow:
    r = s.regimen
    reasons = [s.content.get("reason") or s.content.get("own_reason") or s.content.get("covered_reason") or ""]
    if "operation_kind" in s.content:
        reasons.insert(0, words.label(Operation(s.content["operation_kind"])))
    return RevisionRow(
        r.number, _state(c, s, words), regimen_summary(r, words), r.start_on, r.review_on, s.signed_by, s.signed_at, ": ".join(filter(None, reasons))
    )
