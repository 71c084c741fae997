"""Four invented children. Each story is told through the same deeds that the pages use, on the days on which they would have happened."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from sqlmodel import Session

from demo_data.clinic import TIME_ZONE, DemoClinic
from service.actions import children, corrections, links, regimens, visits, wear
from service.actions.corrections import EyeOrder, Order, PowerSource
from service.facts import AcuityReading, AcuityTest, Child, Examination, EyeFindings, Role, VisitFindings
from service.store import signed
from service.store import visits as visit_store
from service.views import case
from shared.acuity import read_acuity
from shared.dates import month_on
from shared.dose import Proposal
from shared.refraction import SpheroCylinder
from shared.vocabulary import (
    AcuityMethod,
    Aetiology,
    AmblyopicEye,
    CorrectionKind,
    CorrectionWorn,
    FixationPreference,
    Laterality,
    MissingCorrectionRule,
    OpticalStatus,
    Phase,
    Reliability,
    TestedEye,
)

RIGHT, LEFT = Laterality.RIGHT, Laterality.LEFT
# What a household noted day by day, as a share of the prescribed time; None: nothing was noted.
STEADY = (1.0, 1.0, 0.75, 1.0, None, 1.0, 0.5, 1.0, 1.0, 0.0, 1.0, 0.75, 1.0, None)
PATCHY = (0.5, None, 0.25, None, 0.0, 0.6, None, None, 0.4, 0.0, 0.5, None, 0.3, 0.75)


@dataclass(frozen=True)
class Seen:
    """One eye at one visit: what it gave on the test, and what else was measured."""

    method: AcuityMethod
    reading: AcuityReading
    findings: EyeFindings


@dataclass
class Story:
    """One child's months, told in one transaction."""

    session: Session
    clinic: DemoClinic
    today: date
    child: Child

    def at(self, on: date, hour: int) -> datetime:
        return datetime.combine(on, time(hour), ZoneInfo(TIME_ZONE)).astimezone(UTC)

    def examine(self, on: date, right: Seen, left: Seen, fixation: FixationPreference | None = None) -> str:
        """Both eyes with one test."""
        test = AcuityTest(right.method, {TestedEye.RIGHT: right.reading, TestedEye.LEFT: left.reading})
        examination = Examination(on, (test,), {RIGHT: right.findings, LEFT: left.findings}, VisitFindings(fixation))
        return visits.record(self.session, self.clinic.staff[Role.ORTHOPTIST], self.child, examination, self.at(on, 10))

    def correct(self, on: date, visit_id: str, order: Order) -> None:
        visit = visit_store.visit(self.session, self.child, visit_id)
        provisional = corrections.provisional_eyes(visit_store.visits(self.session, self.child), visit)
        seen = corrections.digest(visit, order, corrections.work_out(self.child, visit, order), provisional)
        corrections.sign(self.session, self.clinic.staff[Role.OPTOMETRIST], self.child, visit, order, seen, self.at(on, 11))

    def sign(self, on: date, review_on: date, *, phase: Phase = Phase.OCCLUSION, weeks_of_glasses: float | None = None) -> None:
        """Signs what the rules propose that day."""
        now = self.at(on, 12)
        known = case.load(self.session, self.child, now)
        facts = known.occlusion_facts(adaptation_weeks=weeks_of_glasses, glasses_needed=True, waking_hours=None)
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
        assert isinstance(regimens.answer(facts), Proposal), regimens.answer(facts)
        seen = regimens.work_out(self.child, facts, draft, known.next_number, on).digest
        regimens.sign(self.session, self.clinic.staff[Role.ORTHOPTIST], self.child, lambda: facts, draft, seen, now)

    def link(self, on: date, caregiver: str, tokens: tuple[str, str]) -> links.NewLink:
        return links.issue(
            self.session,
            self.clinic.staff[Role.ORTHOPTIST],
            self.child,
            caregiver=caregiver,
            label="time",
            alarm_minutes=None,
            now=self.at(on, 13),
            tokens=tokens,
        )

    def wear(self, link: links.NewLink, first_on: date, end_on: date, shares: Sequence[float | None]) -> None:
        revisions = signed.revisions(signed.regimens(self.session, self.child))
        for n in range((end_on - first_on).days):
            on, share = first_on + timedelta(days=n), shares[n % len(shares)]
            prescribed = max((r.minutes_on(on) for r in revisions if r.covers(on)), default=0)
            if share is None or not prescribed:
                continue
            how = wear.How.ALL if share == 1.0 else wear.How.SOME if share else wear.How.NONE
            reason = wear.NotWornReason.REFUSED if how is wear.How.NONE else None
            worn = n % 11 != 7  # now and then the glasses or the lens were off
            minutes = round_to_five(prescribed * share) if how is wear.How.SOME else None
            said = wear.Said(on, how, minutes, reason, worn, f"demo-{on.isoformat()}")
            wear.say(self.session, link.subscription, self.child, revisions, said, self.at(on, 19))


def round_to_five(minutes: float) -> int:
    return max(5, int(minutes // 5) * 5)


def seen(eye: Laterality, acuity: str, method: AcuityMethod, worn: CorrectionWorn = CorrectionWorn.SPECTACLES, **more: object) -> Seen:
    reading = AcuityReading(read_acuity(acuity), correction_worn=worn, reliability=Reliability.GOOD)
    return Seen(method, reading, EyeFindings(eye, **more))  # type: ignore[arg-type]  # fields by name


def register(session: Session, clinic: DemoClinic, on: date, today: date, particulars: children.Particulars) -> Story:
    now = datetime.combine(on, time(9), UTC)
    child = children.register(session, clinic.staff[Role.RECEPTION], particulars, now)
    return Story(session, clinic, today, child)


def _particulars(
    reference: str, name: str, born_on: date, aetiology: Aetiology, eye: AmblyopicEye, left: tuple[OpticalStatus, date | None] = (OpticalStatus.PHAKIC, None)
) -> children.Particulars:
    return children.Particulars(reference, name, born_on, 0, TIME_ZONE, aetiology, eye, {RIGHT: (OpticalStatus.PHAKIC, None), LEFT: left})


def infant(session: Session, clinic: DemoClinic, today: date, tokens: tuple[str, str]) -> links.NewLink:
    """Left lens removed at seven weeks; a contact lens since; the dose rises with each completed month."""
    born_on = month_on(today, -6) - timedelta(days=12)
    surgery_on = born_on + timedelta(weeks=7)
    first_on, second_on, third_on = surgery_on + timedelta(weeks=2), month_on(born_on, 4), today - timedelta(weeks=2)
    p = _particulars("HM-1041", "Juno", born_on, Aetiology.DEPRIVATION, AmblyopicEye.LEFT, (OpticalStatus.APHAKIC, surgery_on))
    s = register(session, clinic, first_on, today, p)
    cards, lens = AcuityMethod.GRATING_CARDS, CorrectionWorn.CONTACT_LENS
    at_first = s.examine(
        first_on,
        seen(RIGHT, "1.3 cpd", cards, CorrectionWorn.NONE),
        seen(LEFT, "0.65 cpd", cards, lens, trial_lens_dioptres=29.0, over_refraction=SpheroCylinder(1.5), over_vertex_distance_mm=12.0),
        FixationPreference.RIGHT_ONLY,
    )
    s.correct(first_on, at_first, Order(CorrectionKind.CONTACT_LENS, 12.0, {LEFT: EyeOrder(PowerSource.TRIAL_LENS, 2.0)}))
    s.sign(first_on, second_on)
    link = s.link(first_on, "Mother, phone", tokens)
    s.examine(second_on, seen(RIGHT, "2.4 cpd", cards, CorrectionWorn.NONE), seen(LEFT, "1.6 cpd", cards, lens), FixationPreference.PREFERS_RIGHT_HOLDS_LEFT)
    s.sign(second_on, third_on)
    at_third = s.examine(
        third_on,
        seen(RIGHT, "4.7 cpd", cards, CorrectionWorn.NONE),
        seen(LEFT, "3.2 cpd", cards, lens, trial_lens_dioptres=29.0, over_refraction=SpheroCylinder(-2.0), over_vertex_distance_mm=12.0),
        FixationPreference.PREFERS_RIGHT_HOLDS_LEFT,
    )
    s.correct(third_on, at_third, Order(CorrectionKind.CONTACT_LENS, 12.0, {LEFT: EyeOrder(PowerSource.TRIAL_LENS, 2.0)}))
    s.sign(third_on, third_on + timedelta(weeks=4))
    s.wear(link, first_on, today, STEADY)
    return link


def moderate(session: Session, clinic: DemoClinic, today: date, tokens: tuple[str, str]) -> links.NewLink:
    """Glasses first, then two hours a day; seen today, a few days before the plan ends."""
    start = today - timedelta(weeks=30)
    patching = today - timedelta(weeks=10)
    s = register(session, clinic, start, today, _particulars("HM-1007", "Milo", month_on(today, -62), Aetiology.ANISOMETROPIC, AmblyopicEye.LEFT))
    chart = AcuityMethod.CROWDED_HOTV
    glasses = {
        RIGHT: SpheroCylinder(0.75),
        LEFT: SpheroCylinder(3.75, 1.0, 90),
    }
    at_start = s.examine(
        start,
        seen(RIGHT, "6/7.5", chart, CorrectionWorn.TRIAL_LENSES, refraction=glasses[RIGHT], refraction_vertex_distance_mm=12.0),
        seen(LEFT, "6/38", chart, CorrectionWorn.TRIAL_LENSES, refraction=glasses[LEFT], refraction_vertex_distance_mm=12.0),
    )
    s.correct(start, at_start, Order(CorrectionKind.SPECTACLES, 12.0, {eye: EyeOrder(PowerSource.REFRACTION, 0.0) for eye in (RIGHT, LEFT)}))
    s.sign(start, start + timedelta(weeks=10), phase=Phase.REFRACTIVE_ADAPTATION, weeks_of_glasses=0)
    link = s.link(start, "Father, phone", tokens)
    midway = start + timedelta(weeks=10)
    s.examine(midway, seen(RIGHT, "6/7.5", chart), seen(LEFT, "6/30", chart))
    s.sign(midway, patching, phase=Phase.REFRACTIVE_ADAPTATION, weeks_of_glasses=10)
    s.examine(patching, seen(RIGHT, "6/7.5", chart), seen(LEFT, "6/24", chart))
    s.sign(patching, patching + timedelta(weeks=5), weeks_of_glasses=20)
    middle = patching + timedelta(weeks=5)
    s.examine(middle, seen(RIGHT, "6/6", chart), seen(LEFT, "6/15", chart))
    s.sign(middle, today + timedelta(days=5), weeks_of_glasses=25)
    s.wear(link, patching, today, STEADY)
    s.examine(today, seen(RIGHT, "6/6", chart), seen(LEFT, "6/12", chart))
    return link


def severe(session: Session, clinic: DemoClinic, today: date, tokens: tuple[str, str]) -> links.NewLink:
    """Six hours a day proposed and signed; little of it was noted as worn."""
    start = today - timedelta(weeks=22)
    s = register(session, clinic, start, today, _particulars("HM-1019", "Tessa", month_on(today, -73), Aetiology.COMBINED, AmblyopicEye.RIGHT))
    chart = AcuityMethod.CROWDED_HOTV
    at_start = s.examine(
        start,
        seen(
            RIGHT,
            "6/60",
            chart,
            CorrectionWorn.TRIAL_LENSES,
            refraction=SpheroCylinder(7.0, -1.5, 10),
            working_distance_cm=67.0,
            refraction_vertex_distance_mm=12.0,
        ),
        seen(LEFT, "6/6", chart, CorrectionWorn.TRIAL_LENSES, refraction=SpheroCylinder(2.5), working_distance_cm=67.0, refraction_vertex_distance_mm=12.0),
    )
    s.correct(start, at_start, Order(CorrectionKind.SPECTACLES, 11.0, {eye: EyeOrder(PowerSource.REFRACTION, 0.0) for eye in (RIGHT, LEFT)}))
    patching = start + timedelta(weeks=17)
    s.sign(start, patching, phase=Phase.REFRACTIVE_ADAPTATION, weeks_of_glasses=0)
    link = s.link(start, "Grandmother, phone", tokens)
    s.examine(patching, seen(RIGHT, "6/48", chart), seen(LEFT, "6/6", chart))
    s.sign(patching, today + timedelta(days=2), weeks_of_glasses=17)
    s.wear(link, patching, today, PATCHY)
    return link


def adapting(session: Session, clinic: DemoClinic, today: date, tokens: tuple[str, str]) -> links.NewLink:
    """New glasses six weeks ago; no patch yet."""
    start = today - timedelta(weeks=6)
    s = register(session, clinic, start, today, _particulars("HM-1033", "Ari", month_on(today, -48), Aetiology.STRABISMIC, AmblyopicEye.RIGHT))
    chart = AcuityMethod.CROWDED_PICTURES
    at_start = s.examine(
        start,
        seen(
            RIGHT,
            "0.525 logMAR",
            chart,
            CorrectionWorn.TRIAL_LENSES,
            refraction=SpheroCylinder(4.5),
            working_distance_cm=67.0,
            refraction_vertex_distance_mm=12.0,
        ),
        seen(
            LEFT,
            "0.175 logMAR",
            chart,
            CorrectionWorn.TRIAL_LENSES,
            refraction=SpheroCylinder(4.0),
            working_distance_cm=67.0,
            refraction_vertex_distance_mm=12.0,
        ),
    )
    s.correct(start, at_start, Order(CorrectionKind.SPECTACLES, 12.0, {eye: EyeOrder(PowerSource.REFRACTION, 0.0) for eye in (RIGHT, LEFT)}))
    s.sign(start, today + timedelta(days=1), phase=Phase.REFRACTIVE_ADAPTATION, weeks_of_glasses=0)
    return s.link(start, "Mother, phone", tokens)
