"""A child's care beside patching: what waits for the clinic, which trips would do, what is ahead and what was done."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from schedules.adherence import Span
from schedules.care_facts import PatchStock, SheetLine
from schedules.care_sets import care_set_on
from schedules.care_visits import Trip, trips
from schedules.care_words import CareItem, CareKind, DoneBy
from service.facts import Child
from service.facts_of_home_care import CareEntry, LensWear, LineEnded, SecondaryLensPlanned
from service.i18n import Words
from service.views import in_force
from service.views.care import LOOKED_BACK, MET_EARLY, care_items_of, overdue_of, wear_signed
from service.views.case import Case
from service.views.shown import SourceShown, sources_shown
from shared.findings import Quantity, Unit, msg
from shared.lens_words import WearSchedule
from shared.vocabulary import Laterality, OpticalStatus

CLINIC_AHEAD, FAMILY_AHEAD = timedelta(days=365), timedelta(days=28)
_DAY = timedelta(days=1)


@dataclass(frozen=True)
class ItemShown:
    when: str
    state: str  # overdue by how much, or when it was done; "" for what is ahead
    kind: str
    who: str
    text: str
    status: str
    status_label: str
    sources: tuple[SourceShown, ...]


@dataclass(frozen=True)
class TripShown:
    on: date
    items: tuple[str, ...]


@dataclass(frozen=True)
class LineShown:
    line: SheetLine
    last_on: date
    kind: str
    eye: str


@dataclass(frozen=True)
class LensShown:
    key: str  # document and eye, as the form says them
    name: str
    wear: str  # "" where nobody has said it


@dataclass(frozen=True)
class CarePage:
    child: Child
    overdue: tuple[ItemShown, ...]
    trips: tuple[TripShown, ...]
    ahead: tuple[ItemShown, ...]
    done: tuple[ItemShown, ...]
    sheet: tuple[LineShown, ...]
    stock: str
    lenses: tuple[LensShown, ...]
    planned: tuple[str, ...]  # an eye and the date from which its implant is planned
    aphakic: tuple[tuple[str, str], ...]
    entries: tuple[tuple[CareEntry, str], ...]  # the newest first


def ahead_of(c: Case) -> tuple[CareItem, ...]:
    """What is still to do: the clinic's items of a year, and four weeks of the family's."""
    found = care_items_of(c, Span(c.today, c.today + CLINIC_AHEAD))
    return tuple(i for i in found if i.met_on is None and (i.kind.done_by is DoneBy.CLINIC or i.on < c.today + FAMILY_AHEAD))


def trips_of(c: Case, late: Iterable[CareItem], ahead: Sequence[CareItem]) -> tuple[Trip, ...]:
    """What is overdue is wanted today, or waits for a booked day that is the next journey anyway, as near as visits are put together."""
    booked = {i.on for i in ahead if i.kind is CareKind.VISIT}
    next_on = min((i.due_on for i in ahead if i.kind.is_visit), default=c.today)
    near = next_on <= c.today + timedelta(days=care_set_on(c.care_sets, c.today).together_days)
    wait_until = next_on if near and next_on in booked else None
    return trips([*(replace(i, on=c.today, latest_on=wait_until) for i in late), *ahead], c.care_sets)


def view(c: Case, words: Words) -> CarePage:
    late, ahead = overdue_of(c), ahead_of(c)
    known = care_items_of(c, Span(max(c.child.born_on, c.today - LOOKED_BACK), c.today + MET_EARLY))
    done = [i for i in reversed(known) if i.met_on is not None]
    return CarePage(
        child=c.child,
        overdue=tuple(_shown(i, i, c.today, words) for i in late),
        trips=tuple(TripShown(t.on, tuple(named(i, words) for i in t.items)) for t in trips_of(c, late, ahead)),
        ahead=tuple(_shown(first, last, c.today, words) for first, last in _runs(ahead, words)),
        done=tuple(_shown(i, i, c.today, words) for i in done),
        sheet=tuple(_line(line, words) for line in c.care_record.sheet if line.end_on > c.today),
        stock=_stock(c, words),
        lenses=tuple(_lenses(c, words)),
        planned=tuple(words.text(msg("%(eye)s eye: from %(on)s", eye=eye, on=on)) for eye, on in c.care_record.secondary_lenses.items()),
        aphakic=tuple((eye.value, words.label(eye)) for eye in Laterality if c.child.status(eye, c.today) is OpticalStatus.APHAKIC),
        entries=tuple((e, said(e, words)) for e in reversed(c.care_record.entries)),
    )


def _runs(items: Sequence[CareItem], words: Words) -> list[tuple[CareItem, CareItem]]:
    """The first and the last of each run of days on which the same is to be done; by the first day."""
    runs: dict[tuple[str, int, str], tuple[CareItem, CareItem]] = {}
    found: list[tuple[CareItem, CareItem]] = []
    for item in items:
        same = (item.kind, item.ordinal, words.text(item.clinic))
        run = runs.get(same)
        if run and run[1].on + _DAY == item.on:
            runs[same] = (run[0], item)
            continue
        if run:
            found.append(run)
        runs[same] = (item, item)
    return sorted([*found, *runs.values()], key=lambda run: run[0].key)


def _shown(first: CareItem, last: CareItem, today: date, words: Words) -> ItemShown:
    return ItemShown(
        when=_when(first, last, words),
        state=_state(first, today, words),
        kind=words.label(first.kind),
        who=words.label(first.kind.done_by),
        text=words.text(first.clinic),
        status=first.status,
        status_label=words.label(first.status),
        sources=sources_shown(first.sources),
    )


def _when(first: CareItem, last: CareItem, words: Words) -> str:
    if last.on > first.on:
        return words.text(msg("daily, %(first)s to %(last)s", first=first.on, last=last.on))
    return words.text(msg("%(first)s to %(last)s", first=first.on, last=first.latest_on)) if first.latest_on else words.date(first.on)


def _state(item: CareItem, today: date, words: Words) -> str:
    if item.met_on is not None:
        return words.text(msg("met on %(on)s", on=item.met_on))
    late = (today - item.due_on).days
    return words.catalogue.ngettext("overdue by %(n)s day", "overdue by %(n)s days", late) % {"n": late} if late > 0 else ""


def named(item: CareItem, words: Words) -> str:
    """A kind and its eye: `pressure check, left eye`."""
    return words.text(msg("%(kind)s, %(eye)s eye", kind=item.kind, eye=item.eye)) if item.eye else words.label(item.kind)


def _line(line: SheetLine, words: Words) -> LineShown:
    return LineShown(line, line.end_on - _DAY, words.label(line.kind), words.label(line.eye) if line.eye else "")


def _stock(c: Case, words: Words) -> str:
    held = c.care_record.stock
    counted = msg("%(left)s left on %(on)s, %(a_day)s a day", left=held.patches_left, on=held.counted_on, a_day=held.patches_a_day) if held else None
    return words.text(counted) if counted else ""


def _lenses(c: Case, words: Words) -> list[LensShown]:
    """The contact lenses in force, and how each is worn."""
    found = []
    for eye, document in in_force.lens_documents(c).items():
        wear, signed = c.care_record.lens_wear(document.public_id, eye), wear_signed(document, eye)
        name = msg("%(eye)s eye: %(power)s", eye=eye, power=Quantity(document.content["eyes"][eye]["power"], Unit.DIOPTRE))
        worn = _worn(wear.wear_schedule, wear.out_every_days, wear.replace_every_days, words) if wear else words.label(signed) if signed else ""
        found.append(LensShown(f"{document.public_id}:{eye}", words.text(name), worn))
    return found


def _worn(schedule: WearSchedule, out_every_days: int | None, replace_every_days: int | None, words: Words) -> str:
    parts = [words.label(schedule)]
    if out_every_days:
        parts.append(words.text(msg("out after %(days)s days", days=out_every_days)))
    if replace_every_days:
        parts.append(words.text(msg("replaced after %(days)s days", days=replace_every_days)))
    return ", ".join(parts)


def said(e: CareEntry, words: Words) -> str:
    """One entry in a line."""
    match e.said:
        case SheetLine(kind=kind, times_a_day=times, words=text, start_on=start_on, end_on=end_on):
            last = end_on - _DAY
            line = msg(
                "line %(number)s: %(kind)s, %(times)s times a day, %(start)s to %(last)s: %(words)s",
                number=e.number,
                kind=kind,
                times=times,
                start=start_on,
                last=last,
                words=text,
            )
        case LineEnded(line=number, end_on=end_on):
            line = msg("line %(number)s of the sheet ends on %(on)s", number=number, on=end_on)
        case PatchStock(counted_on=on, patches_left=left, patches_a_day=a_day):
            line = msg("%(left)s patches left on %(on)s, %(a_day)s a day", left=left, on=on, a_day=a_day)
        case SecondaryLensPlanned(eye=eye, on=on):
            line = (
                msg("secondary lens of the %(eye)s eye: plan from %(on)s", eye=eye, on=on) if on else msg("secondary lens of the %(eye)s eye: no date", eye=eye)
            )
        case LensWear(eye=eye):
            worn = _worn(e.said.wear_schedule, e.said.out_every_days, e.said.replace_every_days, words)
            line = msg("lens of the %(eye)s eye: %(worn)s", eye=eye, worn=worn)
    return words.text(line)
