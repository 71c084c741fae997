"""What a visit looks as if it held by a slip of the pen. It is asked about, never refused (common practice throughout)."""

from collections.abc import Callable, Iterator, Mapping, Sequence

from service.actions.corrections import refraction_at_cornea
from service.facts_of_visits import Examination, EyeFindings, Visit, VisitFindings
from shared.errors import ClinicalInputError
from shared.findings import Message, Quantity, Unit, msg
from shared.optics import exchange
from shared.optics.refraction import SpheroCylinder, over_refraction_at_cornea
from shared.rounding import round_half_up
from shared.vocabulary import AcuityFamily, AcuityMethod, Laterality

MaybePair = tuple[float | None, float | None]  # right, left


def questions(examination: Examination, others: Sequence[Visit], stood: Visit | None = None) -> tuple[Message, ...]:
    """`others` are the child's other visits, oldest first; `stood` is the version that is corrected: nothing is asked again about what it held already."""
    return (
        *_emptied(examination, stood),
        *_second_that_day(examination, others, stood),
        *_eyes_against_before(examination, others, stood),
        *_lenses(examination, stood),
    )


def _emptied(examination: Examination, stood: Visit | None) -> Iterator[Message]:
    empty = all(f == EyeFindings(eye) for eye, f in examination.eyes.items())
    if examination.tests or examination.together != VisitFindings() or not empty:
        return
    if stood is None:
        yield msg("Nothing was noted at this visit. Is it to be kept all the same?")
    else:
        yield msg("Nothing would be left of this visit. Is that meant?")


def _second_that_day(examination: Examination, others: Sequence[Visit], stood: Visit | None) -> Iterator[Message]:
    that_day = [v for v in others if v.on == examination.on]
    if not that_day or (stood and stood.on == examination.on):
        return
    if any((v.tests, v.eyes, v.together) == (examination.tests, examination.eyes, examination.together) for v in that_day):
        yield msg("A visit of %(on)s with just these findings is recorded already. Is this another one?", on=examination.on)
    else:
        yield msg("A visit of %(on)s is recorded already, with other findings. Is this a second one on that day?", on=examination.on)


def _eyes_against_before(examination: Examination, others: Sequence[Visit], stood: Visit | None) -> Iterator[Message]:
    """What looks exchanged between the eyes, or far from the last three visits: acuity by test, refraction, axial length."""
    earlier = [v for v in others if v.on <= examination.on]
    for method in dict.fromkeys(t.series(eye) for t in examination.tests for eye in Laterality):
        if method is None or method is AcuityMethod.OBSERVED:
            continue
        before = [pair for v in earlier for pair in _logmar(v, method)]
        limits = exchange.GRATING if method.family is AcuityFamily.GRATING else exchange.LOGMAR
        for now in _logmar(examination, method):
            if not stood or now not in _logmar(stood, method):
                yield from _odd(msg("acuity by %(test)s", test=method), now, before, limits)
    for name, measure, limits in ((msg("refraction"), _equivalent, exchange.DIOPTRES), (msg("axial length"), _length, exchange.MILLIMETRES)):
        measured = _both(examination.eyes, measure)
        if not stood or _both(stood.eyes, measure) != measured:
            yield from _odd(name, measured, [_both(v.eyes, measure) for v in earlier], limits)


def _odd(name: Message, now: MaybePair, earlier: Sequence[MaybePair], limits: exchange.Limits) -> Iterator[Message]:
    whole = [(r, le) for r, le in earlier if r is not None and le is not None]
    if now[0] is not None and now[1] is not None and whole and exchange.looks_exchanged((now[0], now[1]), whole[-1], limits):
        yield msg("The %(what)s looks as if right and left were exchanged, against the last visit. Is it as typed?", what=name)
        return
    for n, eye in enumerate(Laterality):
        value, last = now[n], [pair[n] for pair in earlier]
        if value is not None and exchange.looks_far(value, [x for x in last if x is not None], limits):
            yield msg("The %(what)s of the %(eye)s eye is far from the last visits. Is it as typed?", what=name, eye=eye)


def _logmar(v: Examination, method: AcuityMethod) -> list[MaybePair]:
    """One pair for each test that gave a reading of this series."""
    pairs: list[MaybePair] = []
    for test in v.tests:
        right, left = (acuity.logmar if (acuity := test.acuity(eye)) and test.series(eye) is method else None for eye in Laterality)
        if right is not None or left is not None:
            pairs.append((right, left))
    return pairs


def _both(eyes: Mapping[Laterality, EyeFindings], measure: Callable[[EyeFindings], float | None]) -> MaybePair:
    right, left = (measure(eyes[eye]) for eye in Laterality)
    return right, left


def _equivalent(f: EyeFindings) -> float | None:
    return f.refraction.spherical_equivalent if f.refraction else None


def _length(f: EyeFindings) -> float | None:
    return f.axial_length_mm


def _lenses(examination: Examination, stood: Visit | None) -> Iterator[Message]:
    """The refraction of an eye against its trial lens with the over-refraction, both at the cornea."""
    for eye, f in examination.eyes.items():
        measured = _at_cornea(f)
        if measured is None or (stood and _at_cornea(stood.eyes[eye]) == measured):
            continue
        refraction, over_lens = measured
        if exchange.disagree(refraction, over_lens):
            yield msg(
                "At the cornea the refraction of the %(eye)s eye is %(refraction)s, the trial lens with the refraction over it %(over_lens)s "
                "(spherical equivalents): more than %(limit)s D apart, the limit of common practice. Are both as typed?",
                eye=eye,
                refraction=_shown(refraction),
                over_lens=_shown(over_lens),
                limit=f"{exchange.DISAGREE_DIOPTRES:.2f}",
            )


def _shown(power: float) -> Quantity:
    return Quantity(round_half_up(power, 0.01), Unit.DIOPTRE)


def _at_cornea(f: EyeFindings) -> tuple[float, float] | None:
    """Spherical equivalents in D by refraction and by trial lens; None without both, or where no lens could do what was typed."""
    if f.refraction is None or f.over_refraction is None or f.trial_lens_dioptres is None:
        return None
    try:
        refraction, _ = refraction_at_cornea(f, f.refraction)
        over_lens = over_refraction_at_cornea(SpheroCylinder(f.trial_lens_dioptres), f.over_refraction, f.over_vertex_distance_mm or 0.0).exact
    except ClinicalInputError:
        return None
    return refraction.spherical_equivalent, over_lens.spherical_equivalent
