"""What a family told, for itself and for the clinic's inbox."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from service.facts import Child, Subscription
from service.facts_of_tellings import SOON, URGENT, About, Telling
from service.i18n import Words
from service.views.case import Case
from service.views.family import missing_correction, wears_lens
from shared.findings import Message, msg, safety

DAY = timedelta(days=1)
UNTIL_ANSWERED: dict[About, tuple[Message, ...]] = {
    About.LENS_LOST: (
        safety("First look where lenses hide: under the upper lid and on the white of the eye, on cheek and clothes, in bed and on the floor."),
        safety("Wash your hands before you touch eye or lens. A lens that lay about goes in again only after the clinic has said so."),
    ),
    About.LENS_BROKEN: (safety("Do not put a broken lens in. If a piece may still be in the eye, or the eye is red: call now."),),
    About.SKIN: (safety("Leave the patch off until you have spoken with the clinic."),),
    About.DOUBLE: (safety("Leave the patch off and ring the clinic today."),),
    About.REFUSES: (safety("Do not force it. A short time that works is a beginning; the clinic thinks with you."),),
}


@dataclass(frozen=True)
class ToldShown:
    telling: Telling
    what: str
    state: str


@dataclass(frozen=True)
class TellPage:
    label: str
    eyes: bool  # whether a lens is worn at all
    choices: tuple[tuple[str, str], ...]
    until_answered: tuple[Message, ...]  # what to do meanwhile, for what was just told
    told: tuple[ToldShown, ...]


def view(c: Case, subscription: Subscription, told: list[Telling], just: str, words: Words) -> TellPage:
    lens = wears_lens(c.child, c.today)
    newest = next((t for t in told if t.public_id == just), None)
    return TellPage(
        label=subscription.label,
        eyes=lens,
        choices=tuple((a.value, _sentence(words.label(a))) for a in About if a is not About.SIGNS and (lens or not a.of_a_lens)),
        until_answered=_until_answered(c, newest.about) if newest else (),
        told=tuple(_shown(t, c.child, words) for t in told),
    )


def _until_answered(c: Case, about: About) -> tuple[Message, ...]:
    found = list(UNTIL_ANSWERED.get(about, ()))
    if c.current and (rule := missing_correction(c.current.regimen)):
        if about.of_a_lens:
            found.append(safety("Until there is a lens again, as the clinic signed: %(rule)s", rule=rule))
        elif about is About.GLASSES:
            found.append(safety("Until there are glasses again, as the clinic signed: %(rule)s", rule=rule))
    return tuple(found)


def _shown(t: Telling, child: Child, words: Words) -> ToldShown:
    if t.closed_at:
        state = words.text(msg("answered %(at)s", at=words.moment(t.closed_at, child.time_zone)))
    elif t.taken_at:
        state = words.text(msg("read by the clinic %(at)s", at=words.moment(t.taken_at, child.time_zone)))
    else:
        state = words.gettext("sent; nobody has read it yet")
    return ToldShown(t, what_of(t, words), state)


def what_of(t: Telling, words: Words) -> str:
    what = _sentence(words.label(t.about))
    return words.text(msg("%(what)s (%(eye)s eye)", what=what, eye=t.eye)) if t.eye else what


def _sentence(text: str) -> str:
    return text[:1].upper() + text[1:]


@dataclass(frozen=True)
class InboxLine:
    """`mark` is `act` for what cannot wait, `check` for what waits no day, else ""."""

    telling: Telling
    what: str
    mark: str
    age: str


def inbox(waiting: list[Telling], now: datetime, words: Words) -> tuple[InboxLine, ...]:
    return tuple(InboxLine(t, what_of(t, words), _mark(t.about), age(now - t.told_at, words)) for t in waiting)


def _mark(about: About) -> str:
    return "act" if about in URGENT else "check" if about in SOON else ""


def age(since: timedelta, words: Words) -> str:
    """Whole days, hours or minutes."""
    if since >= DAY:
        return words.catalogue.ngettext("%(n)s day", "%(n)s days", since.days) % {"n": since.days}
    hours, minutes = since.seconds // 3600, since.seconds // 60
    if hours:
        return words.catalogue.ngettext("%(n)s hour", "%(n)s hours", hours) % {"n": hours}
    return words.catalogue.ngettext("%(n)s minute", "%(n)s minutes", minutes) % {"n": minutes}
