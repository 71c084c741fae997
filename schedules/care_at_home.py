"""Care at home: the correction on, the lens out, clean and replaced, drops and shield, and what has to be ordered in time."""

from collections.abc import Iterator, Sequence
from datetime import date, timedelta

from schedules.adherence import Span
from schedules.care_facts import CareFacts, LensLedger, PatchStock, WornLens
from schedules.care_sets import CareSet, care_set_on
from schedules.care_words import CareItem, CareKind, ordinal_of
from schedules.regimen import prescribed_minutes
from shared.findings import msg
from shared.lens_words import LensState, WearSchedule
from shared.optics.ledger import IN_HAND

_DAY = timedelta(days=1)


def correction_on(f: CareFacts, _sets: Sequence[CareSet], span: Span) -> Iterator[CareItem]:
    """Lens or glasses on all waking hours, day by day: without a focused image no hour is treatment (common practice)."""
    for lens in f.lenses:
        family = msg("The lens of the %(eye)s eye: in for all waking hours.", eye=lens.eye)
        clinic = msg("Contact lens of the %(eye)s eye on all waking hours.", eye=lens.eye)
        for day in _days(span, lens.from_on, f.lens_ends_on(lens)):
            yield CareItem(CareKind.CORRECTION_ON, day, ordinal_of(lens.eye), lens.eye, family, clinic, lens.from_on)
    for from_on in f.glasses_from_on:
        family, clinic = msg("The glasses: on for all waking hours."), msg("Glasses on all waking hours.")
        for day in _days(span, from_on, f.glasses_end_on(from_on)):
            yield CareItem(CareKind.CORRECTION_ON, day, ordinal_of(None), None, family, clinic, from_on)


def lens_care(f: CareFacts, _sets: Sequence[CareSet], span: Span) -> Iterator[CareItem]:
    """Out and clean by the wear schedule of the lens, replaced as it is labelled, until another is worn or the eye changes (common practice)."""
    for lens in f.lenses:
        end_on = f.lens_ends_on(lens)
        if lens.wear_schedule is None:
            continue
        if lens.wear_schedule is WearSchedule.DAILY_DISPOSABLE:
            yield from (_thrown_away(lens, day) for day in _days(span, lens.from_on, end_on))
            continue
        for day in _days(span, lens.from_on, end_on, lens.out_every_days):
            yield _out(lens, day)
            yield _clean(lens, day)
        if lens.replace_every_days is not None:
            yield from (_replaced(lens, day) for day in _days(span, lens.from_on, end_on, lens.replace_every_days))


def _out(lens: WornLens, day: date) -> CareItem:
    if lens.out_every_days is None:
        family = msg("Take the lens out of the %(eye)s eye for the night.", eye=lens.eye)
        clinic = msg("Lens of the %(eye)s eye out for the night: it is not for wear overnight.", eye=lens.eye)
    else:
        family = msg("Take the lens out of the %(eye)s eye tonight: it has been in for %(days)s days.", eye=lens.eye, days=lens.out_every_days)
        clinic = msg("Lens of the %(eye)s eye out: its labelled limit is %(days)s days.", eye=lens.eye, days=lens.out_every_days)
    return CareItem(CareKind.LENS_OUT, day, ordinal_of(lens.eye), lens.eye, family, clinic, lens.from_on)


def _clean(lens: WornLens, day: date) -> CareItem:
    family = msg("Wash your hands, clean the lens of the %(eye)s eye, and leave it in fresh solution.", eye=lens.eye)
    clinic = msg("Lens of the %(eye)s eye cleaned when it is out.", eye=lens.eye)
    return CareItem(CareKind.LENS_CLEAN, day, ordinal_of(lens.eye), lens.eye, family, clinic, lens.from_on)


def _thrown_away(lens: WornLens, day: date) -> CareItem:
    family = msg("Take the lens out of the %(eye)s eye for the night and throw it away: tomorrow has a new one.", eye=lens.eye)
    clinic = msg("Lens of the %(eye)s eye new every day.", eye=lens.eye)
    return CareItem(CareKind.LENS_REPLACE, day, ordinal_of(lens.eye), lens.eye, family, clinic, lens.from_on)


def _replaced(lens: WornLens, day: date) -> CareItem:
    assert lens.replace_every_days is not None
    family = msg("The lens of the %(eye)s eye has been used for as long as it is made for: a new one from today.", eye=lens.eye)
    clinic = msg("Lens of the %(eye)s eye replaced: it is used for %(days)s days.", eye=lens.eye, days=lens.replace_every_days)
    return CareItem(CareKind.LENS_REPLACE, day, ordinal_of(lens.eye), lens.eye, family, clinic, lens.from_on)


def sheet(f: CareFacts, _sets: Sequence[CareSet], span: Span) -> Iterator[CareItem]:
    """Drops and shield as the surgeon's sheet says, in its words, day by day."""
    for line in f.sheet:
        text = msg("%(words)s – times today: %(times)s", words=line.words.strip(), times=line.times_a_day)
        clinic = msg(
            "By the surgeon's sheet until %(last)s: %(words)s – times a day: %(times)s",
            last=line.end_on - _DAY,
            words=line.words.strip(),
            times=line.times_a_day,
        )
        for day in _days(span, line.start_on, line.end_on):
            yield CareItem(line.kind, day, line.number, line.eye, text, clinic, line.start_on)


def spare_lens(f: CareFacts, sets: Sequence[CareSet], _span: Span) -> Iterator[CareItem]:
    """When to order: before the last spare that is in hand or on its way is no longer trusted; at once where there is none (common practice)."""
    for ledger in f.ledgers:
        if not ledger.lenses:
            continue  # a ledger that was never begun says nothing
        on = _order_spare_on(ledger, care_set_on(sets, ledger.newest_on).spare_order_days)
        if not f.wears_lens_on(ledger.eye, on):
            continue
        family = msg("The spare lens of the %(eye)s eye will soon be out of date, or there is none: the clinic orders one.", eye=ledger.eye)
        clinic = msg("Order a spare lens for the %(eye)s eye.", eye=ledger.eye)
        yield CareItem(CareKind.SPARE_LENS, on, ordinal_of(ledger.eye), ledger.eye, family, clinic, ledger.newest_on)


def _order_spare_on(ledger: LensLedger, ahead_days: int) -> date:
    spares = [lens for lens in ledger.lenses if lens.state in IN_HAND | {LensState.ORDERED} and not lens.superseded and not lens.barred]
    trusted_until = max((lens.valid_until for lens in spares), default=ledger.newest_on)
    return max(ledger.newest_on, trusted_until - timedelta(days=ahead_days))


def patch_stock(f: CareFacts, sets: Sequence[CareSet], _span: Span) -> Iterator[CareItem]:
    """When to order patches: before the first signed patching day for which there would be too few (common practice)."""
    if f.stock is None:
        return
    short_on = _short_on(f, f.stock)
    if short_on is None:
        return
    counted_on = f.stock.counted_on
    on = max(counted_on, short_on - timedelta(days=care_set_on(sets, counted_on).patch_order_days))
    family = msg("Time for new patches: by the count, the ones you have last until %(last)s.", last=short_on - _DAY)
    clinic = msg("Patches counted on %(counted)s last until %(last)s.", counted=counted_on, last=short_on - _DAY)
    yield CareItem(CareKind.PATCH_STOCK, on, ordinal_of(None), None, family, clinic, counted_on)


def _short_on(f: CareFacts, stock: PatchStock) -> date | None:
    """The first day with minutes signed and too few patches; None where the signed plan ends before."""
    left, end_on = stock.patches_left, max((r.ends_on for r in f.revisions if r.ends_on), default=stock.counted_on)
    for n in range((end_on - stock.counted_on).days):
        day = stock.counted_on + timedelta(days=n)
        if prescribed_minutes(f.revisions, day):
            left -= stock.patches_a_day
            if left < 0:
                return day
    return None


def _days(span: Span, from_on: date, end_on: date | None, every_days: int | None = None) -> list[date]:
    """The days of the span from `from_on` on, before `end_on`; with `every_days` those that lie so many days, or a multiple, after it."""
    first_on, end_on = max(span.first_on, from_on), min(span.end_on, end_on or span.end_on)
    days = [first_on + timedelta(days=n) for n in range((end_on - first_on).days)]
    if every_days is None:
        return days
    return [day for day in days if day > from_on and not (day - from_on).days % every_days]
