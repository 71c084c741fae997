"""Care items: what is to be done beside patching, each on its day. Worked out from the facts and the clinic's care sets for a span of days."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from datetime import date

from schedules import care_at_home, care_visits
from schedules.adherence import Span
from schedules.care_facts import CareFacts
from schedules.care_sets import CareSet, care_set_on
from schedules.care_words import CareItem, CareKind, DoneBy
from shared.findings import msg
from shared.vocabulary import Laterality

Maker = Callable[[CareFacts, Sequence[CareSet], Span], Iterator[CareItem]]
_BY_FAMILY: tuple[Maker, ...] = (care_at_home.correction_on, care_at_home.lens_care, care_at_home.sheet, care_at_home.patch_stock)
_BY_CLINIC: tuple[Maker, ...] = (
    care_at_home.spare_lens,
    care_visits.first_correction,
    care_visits.stitches,
    care_visits.refraction,
    care_visits.pressure,
    care_visits.power_out_of_date,
    care_visits.reviews,
    care_visits.secondary_lens,
)


def care_items(facts: CareFacts, sets: Sequence[CareSet], span: Span) -> tuple[CareItem, ...]:
    """The items that begin on a day of the half-open span, by date; two spans that adjoin give what one would.

    A date rests on the care set that held when its cause did, so that a new set never moves it; whether a kind is asked for, and in
    which words, is said by the set that holds on the item's own day.
    """
    return _items((*_BY_FAMILY, *_BY_CLINIC), facts, sets, span)


def clinic_items(facts: CareFacts, sets: Sequence[CareSet], span: Span) -> tuple[CareItem, ...]:
    """Those of `care_items` that the clinic does: few, where a family has some every day."""
    return _items(_BY_CLINIC, facts, sets, span)


def _items(makers: Iterable[Maker], facts: CareFacts, sets: Sequence[CareSet], span: Span) -> tuple[CareItem, ...]:
    made = (item for make in makers for item in make(facts, sets, span) if span.first_on <= item.on < span.end_on)
    return tuple(sorted((shown for item in made if (shown := _as_set(item, care_set_on(sets, item.on)))), key=lambda item: item.key))


def overdue(items: Iterable[CareItem], today: date) -> tuple[CareItem, ...]:
    """What waits for the clinic: of each kind and eye the newest item that is past, or met before its day, unless something has met it.

    An older one asks for nothing beside it. What became of a booked visit is said where it is booked.
    """
    newest: dict[tuple[CareKind, Laterality | None], CareItem] = {}
    for item in sorted(items, key=lambda item: item.due_on):
        if item.kind.done_by is DoneBy.CLINIC and item.kind is not CareKind.VISIT and (item.due_on < today or item.met_on is not None):
            newest[item.kind, item.eye] = item
    return tuple(item for item in newest.values() if item.met_on is None)


def _as_set(item: CareItem, held: CareSet) -> CareItem | None:
    if item.kind in held.kinds_off:
        return None
    words = held.words.get(item.kind)
    return replace(item, family=msg("%(words)s", words=words.strip())) if words else item
