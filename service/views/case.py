"""One child's facts on one day, gathered once: what every clinical page is worked out from."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from functools import cached_property

from sqlmodel import Session

from schedules.adherence import Adherence, Span, WearEntry, adherence, days_not_worn
from schedules.care_sets import CareSet
from schedules.household import Household
from schedules.regimen import Regimen, in_force, prescribed_dose
from service.clock import local_today
from service.facts import Child, Role, SignedCorrection, SignedKind, SignedRegimen, Staff, Subscription
from service.facts_of_care import Booking, ClinicRules, SignedOperation
from service.facts_of_home_care import CareRecord
from service.facts_of_households import EnteredHousehold
from service.facts_of_lenses import LedgerLens
from service.facts_of_protocols import EnteredProtocol
from service.facts_of_visits import AcuityTest, Visit
from service.store import bookings, care_record, care_sets, clinic_protocols, clinic_rules, households, lenses, links, operations, people, signed, visits, wear
from shared.dates import DAYS_A_WEEK, completed_months
from shared.treatment.dose import OcclusionFacts
from shared.treatment.waking import LIMITS_HOURS
from shared.vocabulary import AcuityMethod, BookingKind, BookingState, CorrectionKind, Laterality, OpticalStatus, Phase


@dataclass(frozen=True)
class Case:
    child: Child
    today: date
    visits: Sequence[Visit]
    corrections: Sequence[SignedCorrection]
    regimens: Sequence[SignedRegimen]
    entries: Sequence[WearEntry]
    subscriptions: Sequence[Subscription]
    operations: Sequence[SignedOperation] = ()
    bookings: Sequence[Booking] = ()
    ledger: Sequence[LedgerLens] = ()
    protocols: Sequence[EnteredProtocol] = ()  # the clinic's own that are in force today
    care_record: CareRecord = field(default_factory=CareRecord)
    care_sets: Sequence[CareSet] = ()
    told: EnteredHousehold | None = None  # the newest version of the household; None before anybody told of it
    sign_rights: frozenset[tuple[Role, SignedKind]] = field(default_factory=frozenset)
    rules: ClinicRules = clinic_rules.UNSET

    def may_sign(self, staff: Staff, kind: SignedKind) -> bool:
        return (staff.role, kind) in self.sign_rights

    @cached_property
    def revisions(self) -> tuple[Regimen, ...]:
        return signed.revisions(self.regimens)

    @cached_property
    def household(self) -> Household:
        """The family's days as they were told; without any, the child's own zones."""
        return self.told.household if self.told else households.untold(self.child)

    @property
    def next_number(self) -> int:
        return max((r.number for r in self.revisions), default=0) + 1

    @property
    def current(self) -> SignedRegimen | None:
        """The revision in force today."""
        regimen = in_force(self.revisions, self.today)
        return next((s for s in self.regimens if s.regimen is regimen), None)

    @property
    def to_come(self) -> tuple[SignedRegimen, ...]:
        """Signed revisions that have not begun and that no newer one takes the place of."""
        return tuple(s for s in self.regimens if s.regimen.start_on > self.today and in_force(self.revisions, s.regimen.start_on) is s.regimen)

    @property
    def newest(self) -> SignedRegimen | None:
        return self.regimens[-1] if self.regimens else None

    @property
    def age_months(self) -> int:
        return completed_months(self.child.born_on, self.today)

    def booked(self, kind: BookingKind) -> Booking | None:
        """The next booked visit of a kind, from today on; on its day it may already have been kept."""
        seen = {v.on for v in self.visits}
        return next((b for b in self.bookings if b.kind is kind and b.state is BookingState.BOOKED and b.on >= self.today and b.on not in seen), None)

    @property
    def not_brought_on(self) -> date | None:
        """The last booked visit to which the child was not brought, unless it has been seen since."""
        missed = max((b.on for b in self.bookings if b.state is BookingState.NOT_BROUGHT), default=None)
        return missed if missed is not None and all(v.on < missed for v in self.visits) else None

    @property
    def weeks_of_glasses(self) -> float | None:
        """Weeks since glasses were first signed or an adaptation phase began, whichever came first, less the days on which they were noted as off.

        None where neither was.
        """
        starts = [r.start_on for r in self.revisions if r.phase is Phase.REFRACTIVE_ADAPTATION and r.start_on <= self.today]
        starts += [local_today(c.signed_at, self.child.time_zone) for c in self.corrections if c.kind is CorrectionKind.SPECTACLES]
        if not starts:
            return None
        since = Span(min(min(starts), self.today), self.today)
        return (len(since.days()) - days_not_worn(self.entries, since)) // 7

    def adherence(self, first_on: date, end_on: date) -> Adherence:
        return adherence(self.revisions, self.entries, Span(first_on, max(first_on, end_on)))

    @property
    def course_from(self) -> date | None:
        """The first day of the occlusion course that is going on or ended last: what a review looks back on."""
        start = None
        for r in self.revisions:
            if r.phase is Phase.OCCLUSION and start is None:
                start = r.start_on
            elif r.phase is Phase.STOP:
                start = None
        return start if start is not None and start < self.today else None

    @property
    def under_review(self) -> Regimen | None:
        """The revision a review looks at: the one in force, or the last one where it has ended and nothing followed; None after a stop."""
        begun = [r for r in self.revisions if r.start_on <= self.today]
        return begun[-1] if begun and begun[-1].phase is not Phase.STOP else None

    @property
    def signed_under_review(self) -> SignedRegimen | None:
        regimen = self.under_review
        return next((s for s in self.regimens if s.regimen is regimen), None)

    @property
    def last_day_of_plan(self) -> date:
        """Today while a plan is in force, else its last day: on the day of the review the plan is already over."""
        r = self.under_review
        return min(self.today, r.ends_on - timedelta(days=1)) if r and r.ends_on else self.today

    def weeks_on_dose(self) -> float:
        """Weeks up to the plan's last day for which its minutes have been the prescribed ones, without a break."""
        last = first = self.last_day_of_plan
        held = prescribed_dose(self.revisions, last)
        if held is None or not held.minutes:
            return 0
        while (before := prescribed_dose(self.revisions, first - timedelta(days=1))) and replace(before, from_on=held.from_on) == held:
            first -= timedelta(days=1)
        return ((last - first).days + 1) // 7

    @property
    def waking_hours_told(self) -> float | None:
        """The mean of the coming seven days as the family has described them; None where it has not, and for hours that no rule takes."""
        days = [self.household.resolve(self.today + timedelta(days=n)).day for n in range(DAYS_A_WEEK)]
        hours = sum(day.waking_minutes for day in days if day) / DAYS_A_WEEK / 60
        low, high = LIMITS_HOURS
        return hours if all(days) and low <= hours <= high else None

    def occlusion_facts(self, *, adaptation_weeks: float | None, glasses_needed: bool, waking_hours: float | None) -> OcclusionFacts | None:
        """None where no eye is known to be amblyopic."""
        amblyopic = self.child.amblyopic_eye.laterality
        if amblyopic is None:
            return None
        surgery_on = self.child.surgery_on(amblyopic, self.today)
        pair = newest_pair(self.visits)
        return OcclusionFacts(
            age_months=self.age_months,
            aetiology=self.child.aetiology,
            amblyopic_eye_status=self.child.status(amblyopic, self.today) or OpticalStatus.PHAKIC,
            fellow_eye_status=self.child.status(amblyopic.other, self.today) or OpticalStatus.PHAKIC,
            age_at_surgery_months=completed_months(self.child.born_on, surgery_on) if surgery_on else None,
            amblyopic_acuity=pair[1].acuity(amblyopic) if pair else None,
            fellow_acuity=pair[1].acuity(amblyopic.other) if pair else None,
            refractive_adaptation_weeks=adaptation_weeks,
            glasses_needed=glasses_needed,
            waking_hours=self.waking_hours_told if waking_hours is None else waking_hours,
            weeks_premature=self.child.weeks_premature,
            rules_off=self.rules.limits.rules_off,
        )

    def drop_facts(self) -> OcclusionFacts | None:
        """What the schedules of atropine ask; neither weeks of glasses nor waking hours are among it."""
        return self.occlusion_facts(adaptation_weeks=None, glasses_needed=True, waking_hours=None)


def load(session: Session, child: Child, now: datetime) -> Case:
    today = local_today(now, child.time_zone)
    return Case(
        child=child,
        today=today,
        visits=visits.visits(session, child),
        corrections=signed.corrections(session, child),
        regimens=signed.regimens(session, child),
        entries=wear.entries(session, child.id, child.born_on, today + timedelta(days=1)),
        subscriptions=links.subscriptions(session, child.id),
        operations=operations.operations(session, child),
        bookings=bookings.bookings(session, child),
        ledger=lenses.ledger(session, child),
        protocols=clinic_protocols.in_force(session, child.clinic_id, today),
        care_record=care_record.record(session, child),
        care_sets=care_sets.in_turn(session, child.clinic_id),
        told=households.newest(session, child),
        sign_rights=people.sign_rights(session, child.clinic_id),
        rules=clinic_rules.newest(session, child.clinic_id),
    )


def newest_pair(all_visits: Iterable[Visit]) -> tuple[date, AcuityTest] | None:
    """The newest test that gave both eyes a reading of one series on which a rule may rest, with its date."""
    for visit in reversed(list(all_visits)):
        for test in reversed(visit.tests):
            if all(test.usable(eye) for eye in Laterality) and test.series(Laterality.RIGHT) is test.series(Laterality.LEFT):
                return visit.on, test
    return None


def by_test(all_visits: Iterable[Visit], eye: Laterality) -> dict[AcuityMethod, list[tuple[date, AcuityTest]]]:
    """The tests that gave an acuity of one eye, a series for each method, oldest first."""
    series: dict[AcuityMethod, list[tuple[date, AcuityTest]]] = {}
    for visit in all_visits:
        for test in visit.tests:
            if (method := test.series(eye)) is not None and test.acuity(eye) is not None:
                series.setdefault(method, []).append((visit.on, test))
    return series
