"""The clinic's lens ranges: what holds today, what will, and what held before."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import groupby

from service.facts_of_lenses import EnteredRange
from service.i18n import Words
from shared.findings import Quantity, Unit, msg
from shared.optics.lens_range import BUILT_IN_RANGE, LensRange, shown_millimetres, shown_spans


@dataclass(frozen=True)
class VersionShown:
    entered: EnteredRange
    state: str
    powers: str
    count: str
    base_curves: str
    diameters: str
    material: str
    wear: str


@dataclass(frozen=True)
class RangeShown:
    name: str
    newest: EnteredRange  # what may be changed
    versions: tuple[VersionShown, ...]  # the newest first


@dataclass(frozen=True)
class RangesPage:
    ranges: tuple[RangeShown, ...]
    built_in: str  # what is used while the clinic has none of its own in force
    built_in_used: bool


def view(entered: Sequence[EnteredRange], today: date, words: Words) -> RangesPage:
    by_name = [list(versions) for _, versions in groupby(entered, lambda r: r.lens_range.name)]
    shown = tuple(_range(versions, today, words) for versions in by_name)
    used = not any((v := _holding(versions, today)) is not None and not v.ended for versions in by_name)
    return RangesPage(shown, words.gettext(BUILT_IN_RANGE.name), used)


def _holding(versions: Sequence[EnteredRange], today: date) -> EnteredRange | None:
    return next((v for v in reversed(versions) if v.from_on <= today), None)


def _range(versions: Sequence[EnteredRange], today: date, words: Words) -> RangeShown:
    holding = _holding(versions, today)
    newest = max(versions, key=lambda v: v.number)
    return RangeShown(newest.lens_range.name, newest, tuple(_version(v, v is holding, today, words) for v in reversed(versions)))


def _version(v: EnteredRange, holds: bool, today: date, words: Words) -> VersionShown:
    r = v.lens_range
    return VersionShown(
        entered=v,
        state=_state(v, holds, today, words),
        powers=shown_spans(r.spans),
        count=count(r, words),
        base_curves=shown_millimetres(r.base_curves_mm) or "–",
        diameters=shown_millimetres(r.diameters_mm) or "–",
        material=words.label(r.material) if r.material else "–",
        wear=words.label(r.wear_schedule) if r.wear_schedule else "–",
    )


def _state(v: EnteredRange, holds: bool, today: date, words: Words) -> str:
    if holds:
        return words.gettext("ended") if v.ended else words.gettext("in force")
    if v.from_on > today:
        return words.gettext("ends then") if v.ended else words.gettext("begins then")
    return words.gettext("superseded")


def count(r: LensRange, words: Words) -> str:
    """How many powers a range has and how far they reach, so that a slip in typing is seen."""
    low, high = (Quantity(power, Unit.DIOPTRE) for power in (r.powers[0], r.powers[-1]))
    return words.text(msg("%(n)s powers, from %(low)s to %(high)s", n=len(r.powers), low=low, high=high))
