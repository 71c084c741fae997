"""Atropine: the published schedules for the child, and the plan as it would be signed."""

from dataclasses import dataclass
from datetime import date, timedelta

from schedules.regimen import Regimen
from service.actions.atropine import DropPlan, Facts, offered
from service.facts import Child
from service.i18n import Words
from service.views.case import Case
from service.views.shown import FindingShown, age_shown, finding_shown, regimen_summary
from shared.treatment.atropine import CAUTIONS, finding, second_look
from shared.treatment.dose import NoPublishedDose


@dataclass(frozen=True)
class DropPlanShown:
    regimen: Regimen
    summary: str
    days: tuple[date, ...]  # each day with a drop
    digest: str


@dataclass(frozen=True)
class AtropinePage:
    child: Child
    age: str
    refusal: str  # why no schedule is published; "" where one is
    choices: tuple[tuple[str, str], ...]
    schedules: tuple[FindingShown, ...]
    asked: str  # what wants a reason and a second confirmation; "" where nothing does
    draft: DropPlanShown | None
    cautions: tuple[str, ...]
    supersedes: tuple[tuple[int, date], ...]
    may_sign: bool


def view(c: Case, facts: Facts, found: DropPlan | None, may_sign: bool, words: Words) -> AtropinePage:
    schedules = offered(facts)
    rows = () if isinstance(schedules, NoPublishedDose) else schedules
    asked = second_look(facts) if facts is not None and rows else None
    return AtropinePage(
        child=c.child,
        age=age_shown(c.child.born_on, c.today, words),
        refusal=words.text(schedules.reason) if isinstance(schedules, NoPublishedDose) else "",
        choices=tuple((row.rule, words.text(row.title)) for row in rows),
        schedules=tuple(finding_shown(finding(row), words) for row in rows),
        asked=words.text(asked) if asked else "",
        draft=_plan(found.regimen, found.digest, words) if found else None,
        cautions=tuple(map(words.text, CAUTIONS)),
        supersedes=tuple((s.regimen.number, s.regimen.start_on) for s in c.to_come),
        may_sign=may_sign,
    )


def drop_days(r: Regimen) -> tuple[date, ...]:
    """Every day of the plan on which a drop is due."""
    assert r.ends_on is not None
    days = (r.start_on + timedelta(days=n) for n in range((r.ends_on - r.start_on).days))
    return tuple(day for day in days if r.drop_on(day))


def _plan(r: Regimen, digest: str, words: Words) -> DropPlanShown:
    return DropPlanShown(r, regimen_summary(r, words), drop_days(r), digest)
