"""What a family is to know: the plan in plain words, the steps; and who in a household can do what with a lens."""

from collections.abc import Sequence
from dataclasses import dataclass

from service.facts import Subscription
from service.facts_of_teaching import BUILT_IN, EnteredTexts, Learnt, Skill, Topic
from service.i18n import Words
from service.views.case import Case
from service.views.cautions import CAUTIONS
from service.views.family import correction_of, missing_correction, spoken, wears_lens
from shared.findings import Message, msg, safety
from shared.vocabulary import Phase

_HEADINGS = {Topic.PATCH: msg("The patch"), Topic.LENS: msg("The lens")}


@dataclass(frozen=True)
class WhyPage:
    label: str
    base: str
    said: tuple[Message, ...]
    steps: tuple[tuple[str, tuple[str, ...], bool], ...]  # and whether they are the clinic's own
    cautions: tuple[Message, ...]


def steps_of(entered: Sequence[EnteredTexts], topic: Topic, words: Words) -> tuple[str, ...]:
    """The clinic's own words where it has any, else the built-in ones."""
    return own_steps(entered, topic) or tuple(map(words.text, BUILT_IN[topic]))


def own_steps(entered: Sequence[EnteredTexts], topic: Topic) -> tuple[str, ...]:
    return entered[-1].texts.steps.get(topic, ()) if entered else ()


def why(c: Case, subscription: Subscription, entered: Sequence[EnteredTexts], base: str, words: Words) -> WhyPage:
    lens = wears_lens(c.child, c.today)
    topics = (Topic.PATCH, Topic.LENS) if lens else (Topic.PATCH,)
    return WhyPage(
        label=subscription.label,
        base=base,
        said=tuple(_said(c, words)),
        steps=tuple((words.text(_HEADINGS[topic]), steps_of(entered, topic, words), bool(own_steps(entered, topic))) for topic in topics),
        cautions=CAUTIONS,
    )


def _said(c: Case, words: Words) -> list[Message]:
    r = c.current.regimen if c.current else None
    what = correction_of(c.child, c.today)
    if r is None or r.phase in (Phase.PAUSE, Phase.STOP):
        return [msg("No patch is planned now.")]
    if r.phase is Phase.ATROPINE:
        return [msg("A drop blurs the stronger eye, so that the other one has to look. No patch is needed.")]
    found = [msg("One eye has learnt to see less well than the other. It learns by being used, while the brain can still learn.")]
    if r.phase is Phase.REFRACTIVE_ADAPTATION:
        return [*found, msg("For now %(what)s alone are at work: all day, every day.", what=what)]
    minutes = max((d.minutes for d in r.doses if d.from_on <= c.today), default=0)
    found.append(msg("The patch covers the stronger eye for a while each day, so that the other one does the work: %(time)s.", time=spoken(minutes, words)))
    found.append(msg("It counts only with %(what)s on: without a sharp picture there is nothing to learn from.", what=what))
    rule = missing_correction(r)
    if rule:
        found.append(safety("If %(what)s are missing, %(rule)s", what=what, rule=rule))
    found.append(msg("The clinic looks at both eyes at each visit, also at the covered one. How much is gained differs from child to child."))
    return found


@dataclass(frozen=True)
class HandlingRow:
    link: Subscription
    cells: tuple[str, ...]  # one a skill


@dataclass(frozen=True)
class HandlingPage:
    rows: tuple[HandlingRow, ...]
    history: tuple[Learnt, ...]  # the newest first


def handling(open_links: Sequence[Subscription], found: Sequence[Learnt], words: Words) -> HandlingPage:
    newest = {(one.subscription_id, one.skill): one for one in found}

    def cell(link: Subscription, skill: Skill) -> str:
        one = newest.get((link.id, skill))
        return words.text(msg("%(level)s, %(on)s", level=one.level, on=one.on)) if one else "–"

    rows = tuple(HandlingRow(link, tuple(cell(link, skill) for skill in Skill)) for link in open_links)
    return HandlingPage(rows, tuple(reversed(found)))
