"""How a story is told: through the same deeds that the pages use, each on the day and by the hands it would have had.

A deed of the clinic waits for the evenings before it, so that what a household noted is known by then and nothing of it later.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session

from demo_data.clinic import LENSES, TIME_ZONE, DemoClinic
from demo_data.lenses import fit
from demo_data.noted import GLASSES_OFF_EVERY, Noted, noted_as
from schedules.care_words import CareKind
from schedules.feed_style import FeedStyle
from schedules.regimen import in_force
from schedules.routine import Day, Routine, Week
from service.actions import bookings, care, children, contacts, corrections, households, links, operations, regimens, teaching, tellings, visits, wear
from service.actions.corrections import EyeOrder, Order, PowerSource
from service.facts import Child, Role, Staff
from service.facts_of_home_care import LensWear
from service.facts_of_messages import DeliveryState
from service.facts_of_teaching import Level, Skill
from service.facts_of_tellings import About
from service.facts_of_visits import AcuityReading, AcuityTest, Examination, EyeFindings, VisitFindings
from service.store import children as child_store
from service.store import contacts as contact_store
from service.store import outbox, signed
from service.store import visits as visit_store
from service.views import case
from shared.lens_words import WearSchedule
from shared.sight.acuity import read_acuity
from shared.vocabulary import (
    AcuityMethod,
    Aetiology,
    AmblyopicEye,
    BookingKind,
    CorrectionKind,
    CorrectionWorn,
    Laterality,
    MissingCorrectionRule,
    Operation,
    OpticalStatus,
    Phase,
    Reliability,
    TestedEye,
)

TIME = FeedStyle("time")
RIGHT, LEFT = Laterality.RIGHT, Laterality.LEFT
Worn = CorrectionWorn | tuple[CorrectionWorn, CorrectionWorn]  # one for both eyes, or right and left


def at(on: date, hour: int) -> datetime:
    return datetime.combine(on, time(hour), ZoneInfo(TIME_ZONE)).astimezone(UTC)


def measured(
    method: AcuityMethod,
    right: str,
    left: str,
    worn: Worn = CorrectionWorn.SPECTACLES,
    *,
    distance_cm: float | None = None,
    reliability: Reliability = Reliability.GOOD,
) -> AcuityTest:
    """One test of both eyes, each acuity as it would be typed."""
    each = worn if isinstance(worn, tuple) else (worn, worn)
    readings = {
        TestedEye(eye): AcuityReading(read_acuity(typed, distance_cm=distance_cm), correction_worn=before_it, reliability=reliability)
        for eye, typed, before_it in zip(Laterality, (right, left), each, strict=True)
    }
    return AcuityTest(method=method, readings=readings, distance_cm=distance_cm)


@dataclass(frozen=True)
class Scene:
    """Where and when a story is told; `tokens` are those of the family's link, which the demo knows beforehand."""

    session: Session
    clinic: DemoClinic
    today: date
    tokens: tuple[str, str]

    def register(self, on: date, reference: str, name: str, born_on: date, aetiology: Aetiology, eye: AmblyopicEye, *, interpreter_for: str = "") -> "Story":
        """A child with both lenses of its own, as every child of the demo was on the first day; `interpreter_for` the language of its family."""
        particulars = children.Particulars(
            reference=reference,
            short_name=name,
            born_on=born_on,
            weeks_premature=0,
            time_zone=TIME_ZONE,
            aetiology=aetiology,
            amblyopic_eye=eye,
            statuses=dict.fromkeys(Laterality, (OpticalStatus.PHAKIC, None)),
            spoken_language=interpreter_for,
            interpreter_needed=bool(interpreter_for),
        )
        return Story(self, children.register(self.session, self.clinic.staff[Role.RECEPTION], particulars, at(on, 9)))


@dataclass
class Household:
    """Whoever holds the link, and what they say of one day after the other, over and over."""

    link: links.NewLink
    next_evening: date
    says: Sequence[Noted] = ()
    evenings: int = 0
    mail_refused: bool = False


@dataclass
class Story:
    """One child's months, told in one transaction and in the order of the days."""

    scene: Scene
    child: Child
    household: Household | None = field(default=None, init=False)

    def examine(
        self,
        on: date,
        *tests: AcuityTest,
        eyes: Sequence[EyeFindings] = (),
        together: VisitFindings | None = None,
        by: Role = Role.ORTHOPTIST,
    ) -> str:
        self.evenings_before(on)
        found = {eye: EyeFindings(eye) for eye in Laterality} | {f.eye: f for f in eyes}
        examination = Examination(on, tests, found, together or VisitFindings())
        return visits.record(self.scene.session, self._staff(by), self.child, examination, at(on, 10))

    def operate(self, on: date, operation: Operation, eye: Laterality | None, review_on: date | None = None) -> None:
        """`review_on`: until when a patch that is going on is suspended."""
        self.evenings_before(on)
        session, surgery = self.scene.session, operations.Surgery(operation, eye, on, review_on)
        seen = operations.work_out(self.child, signed.regimens(session, self.child), signed.corrections(session, self.child), surgery, on).digest
        operations.sign(session, self._staff(Role.CLINICIAN), self.child, surgery, seen, at(on, 11))
        self.child = child_store.child_by_id(session, self.child.id)

    def glasses(self, on: date, visit_id: str, vertex_distance_mm: float = 12.0) -> None:
        """For both eyes, from their refraction."""
        eyes = dict.fromkeys(Laterality, EyeOrder(PowerSource.REFRACTION, near_dioptres=0.0))
        self.correct(on, visit_id, Order(CorrectionKind.SPECTACLES, vertex_distance_mm, eyes))

    def lenses(self, on: date, visit_id: str, near_dioptres: Mapping[Laterality, float]) -> None:
        """A contact lens of the clinic's range for each eye named, from the trial lens and the refraction over it."""
        eyes = {eye: EyeOrder(PowerSource.TRIAL_LENS, near, base_curve_mm=7.6, diameter_mm=11.5) for eye, near in near_dioptres.items()}
        self.correct(on, visit_id, Order(CorrectionKind.CONTACT_LENS, 0.0, eyes, lens_range=LENSES))
        fit(self.scene.session, self.scene.clinic, self.child, near_dioptres, on, at(on, 11))

    def worn_overnight(self, on: date, eye: Laterality, out_every_days: int, replace_every_days: int) -> None:
        """How the newest lens of an eye is worn."""
        document = signed.corrections(self.scene.session, self.child)[-1]
        wear_of_lens = LensWear(document.public_id, eye, WearSchedule.OVERNIGHT, out_every_days, replace_every_days)
        care.set_lens_wear(self.scene.session, self._staff(Role.OPTOMETRIST), self.child, wear_of_lens, at(on, 12))

    def surgeons_sheet(self, on: date, eye: Laterality) -> None:
        """Drops for four weeks and a shield for the nights of the first, as the family was told."""
        self.evenings_before(on)
        for line in (
            care.NewLine(CareKind.DROPS, eye, on, on + timedelta(weeks=4), 4, f"The drops with the pink cap, in the {eye.upper()} eye"),
            care.NewLine(CareKind.SHIELD, eye, on, on + timedelta(weeks=1), 1, f"The clear shield over the {eye.upper()} eye, all night"),
        ):
            care.enter_line(self.scene.session, self._staff(Role.CLINICIAN), self.child, line, at(on, 12))

    def patches(self, on: date, left: int, a_day: int) -> None:
        self.evenings_before(on)
        care.count_patches(self.scene.session, self._staff(Role.RECEPTION), self.child, left, a_day, at(on, 14))

    def plan_implant(self, on: date, eye: Laterality, from_on: date) -> None:
        self.evenings_before(on)
        care.plan_secondary_lens(self.scene.session, self._staff(Role.CLINICIAN), self.child, eye, from_on, at(on, 14))

    def correct(self, on: date, visit_id: str, order: Order) -> None:
        self.evenings_before(on)
        visit = visit_store.visit(self.scene.session, self.child, visit_id)
        provisional = corrections.provisional_eyes(visit_store.visits(self.scene.session, self.child), visit)
        seen = corrections.digest(visit, order, corrections.work_out(self.child, visit, order), provisional)
        corrections.sign(self.scene.session, self._staff(Role.OPTOMETRIST), self.child, visit, order, seen, at(on, 11))

    def sign(self, on: date, review_on: date, phase: Phase = Phase.OCCLUSION) -> None:
        """Signs what the rules propose that day and books the review; refractive adaptation needs no dose."""
        self.evenings_before(on)
        now = at(on, 12)
        known = case.load(self.scene.session, self.child, now)
        facts = known.occlusion_facts(adaptation_weeks=known.weeks_of_glasses, glasses_needed=True, waking_hours=None)
        amblyopic = self.child.amblyopic_eye.laterality
        draft = regimens.Draft(
            phase=phase,
            start_on=on,
            review_on=review_on,
            covered_eye=amblyopic.other if amblyopic and phase is Phase.OCCLUSION else None,
            own_minutes=None,
            own_reason="",
            covered_reason="",
            covered_confirmed=False,
            missing_correction=MissingCorrectionRule.HOLD_AND_RING,
            cautions_read=True,
        )
        seen = regimens.work_out(self.child, facts, draft, known.next_number, on).digest
        regimens.sign(self.scene.session, self._staff(Role.ORTHOPTIST), self.child, lambda: facts, draft, seen, now)
        self._hand_over(now)
        self.book(on, BookingKind.REVIEW, review_on)

    def _hand_over(self, now: datetime) -> None:
        """What the signature told the family, as the worker would have sent it."""
        for delivery in outbox.claim(self.scene.session, "story", now, now, limit=50):
            if self.household and self.household.mail_refused and delivery.contact_id:
                outbox.settle(self.scene.session, delivery.id, "story", DeliveryState.DEAD, error="address-refused")
                contact_store.note_bounced(self.scene.session, delivery.contact_id, now)
            else:
                outbox.settle(self.scene.session, delivery.id, "story", DeliveryState.SENT, sent_at=now)

    def book(self, on: date, kind: BookingKind, visit_on: date, reason: str = "") -> None:
        self.evenings_before(on)
        bookings.book(self.scene.session, self._staff(Role.RECEPTION), self.child, kind, visit_on, reason, at(on, 13))

    def link(
        self,
        on: date,
        caregiver: str,
        email: str = "",
        *,
        refused: bool = False,
        taught: Mapping[Skill, Level] | None = None,
        style: FeedStyle = TIME,
    ) -> None:
        """Reminders go to `email`, where there is one; `refused`: its server takes nothing for it. `taught`: how far the caregiver has come that day."""
        self.evenings_before(on)
        link = links.issue(
            self.scene.session,
            self._staff(Role.ORTHOPTIST),
            self.child,
            caregiver=caregiver,
            style=style,
            now=at(on, 14),
            tokens=self.scene.tokens,
        )
        self.household = Household(link, next_evening=on, mail_refused=refused)
        for skill, level in (taught or {}).items():
            teaching.record(self.scene.session, self._staff(Role.OPTOMETRIST), self.child, link.subscription.public_id, skill, level, on, at(on, 15))
        if email:
            contacts.add_email(self.scene.session, link.subscription, link.subscription, email, at(on, 15))

    def says(self, from_on: date, noted: Sequence[Noted]) -> None:
        """From that evening on the household notes this, over and over."""
        self.evenings_before(from_on)
        assert self.household is not None, "nobody has a link yet"
        self.household.says, self.household.evenings = noted, 0

    def tells_of_days(self, on: date, days: Sequence[Day]) -> None:
        """The family describes its week, Monday to Sunday, as it is from that day on."""
        self.evenings_before(on)
        assert self.household is not None, "nobody has a link yet"
        routine = Routine((Week(on, tuple(days)),))
        households.enter(self.scene.session, self.household.link.subscription, self.child, 0, lambda h: replace(h, routine=routine), at(on, 15))

    def tells(self, on: date, about: About, text: str, answer: str = "") -> None:
        """The family tells the clinic something, and is answered on the same day where there is an `answer`."""
        self.evenings_before(on)
        assert self.household is not None, "nobody has a link yet"
        said = tellings.Said(about, None, text, no_signs=True, client_key=f"demo-{on.isoformat()}")
        public_id = tellings.tell(self.scene.session, self.household.link.subscription, self.child, said, at(on, 8))
        if answer:
            tellings.close(self.scene.session, self._staff(Role.ORTHOPTIST), public_id, answer, "", at(on, 12))

    def evenings_before(self, on: date) -> None:
        """Lets the evenings until the day before pass, each noted at its hour."""
        h = self.household
        if h is None:
            return
        revisions = signed.revisions(signed.regimens(self.scene.session, self.child)) if h.says and h.next_evening < on else ()
        while h.next_evening < on:
            noted = h.says[h.evenings % len(h.says)] if h.says else None
            regimen = in_force(revisions, h.next_evening)
            if noted is not None and regimen is not None:
                said = noted_as(h.next_evening, noted, regimen.minutes_on(h.next_evening), h.evenings % GLASSES_OFF_EVERY != 7)
                wear.say(self.scene.session, wear.caregiver(h.link.subscription), self.child, revisions, said, at(h.next_evening, 19))
            h.next_evening += timedelta(days=1)
            h.evenings += 1

    def _staff(self, role: Role) -> Staff:
        return self.scene.clinic.staff[role]
