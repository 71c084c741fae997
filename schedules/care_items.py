"""Care items: what is to be done beside patching, each on its day. Worked out from the facts and the clinic's care sets for a span of days."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace

from schedules import care_at_home, care_visits
from schedules.adherence import Span
from schedules.care_facts import CareFacts
from schedules.care_sets import CareSet, care_set_on
from schedules.care_words import CareItem
from shared.findings import msg

_MADE_BY: tuple[Callable[[CareFacts, Sequence[CareSet], Span], Iterator[CareItem]], ...] = (
    care_at_home.correction_on,
    care_at_home.lens_care,
    care_at_home.spare_lens,
    care_at_home.sheet,
    care_at_home.patch_stock,
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
    made = (item for make in _MADE_BY for item in make(facts, sets, span) if span.first_on <= item.on < span.end_on)
    return tuple(sorted((shown for item in made if (shown := _as_set(item, care_set_on(sets, item.on)))), key=lambda item: item.key))


def _as_set(item: CareItem, held: CareSet) -> CareItem | None:
    if item.kind in held.kinds_off:
        return None
    words = held.words.get(item.kind)
    return replace(item, family=msg("%(words)s", words=words.strip())) if words else item
