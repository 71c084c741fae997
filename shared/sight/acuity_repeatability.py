"""Whether a change of acuity is more than a retest gives: published test by test, and unknown for the tests where nothing was."""

from dataclasses import dataclass

from shared.findings import Finding, Message, Param, Quantity, Unit, msg
from shared.sight.acuity import Acuity, change_between
from shared.sources import number
from shared.vocabulary import AcuityMethod, Status

_TOLERANCE = 1e-9


@dataclass(frozen=True)
class Repeatability:
    """How far a retest with one test may differ, in logMAR or octaves; a change of just `limit` is beyond it where `limit_is_beyond`."""

    limit: Quantity
    limit_is_beyond: bool
    status: Status
    source: str
    measured_on: Message

    def is_beyond(self, change: Quantity) -> bool:
        """Whether a change in the unit of `limit` is more than a retest gives."""
        return abs(change.value) > self.limit.value + (-_TOLERANCE if self.limit_is_beyond else _TOLERANCE)


def repeatability(method: AcuityMethod) -> Repeatability | None:
    """None: nothing was found published for this test.

    HOTV ±0.18 logMAR (Holmes 2001), crowded pictures ±0.18 (Chen 2006, crowded symbols), both 95 % limits; a letter chart from 0.2 logMAR on (Beck 2003, of the
    electronic test: a chart read by hand is taken as the same, common practice); gratings from one octave on, an inference from retests within half an octave.
    """
    if method is AcuityMethod.CROWDED_HOTV:
        hotv = number("holmes-2001", "change")
        return Repeatability(
            hotv.quantity(Unit.LOGMAR), False, hotv.status, hotv.source_key, msg("ninety-five in a hundred retests of surrounded HOTV letters")
        )
    if method is AcuityMethod.CROWDED_PICTURES:
        pictures = number("chen-2006", "change")
        return Repeatability(
            pictures.quantity(Unit.LOGMAR),
            False,
            pictures.status,
            pictures.source_key,
            msg("ninety-five in a hundred retests of crowded symbols, scored by line"),
        )
    if method is AcuityMethod.LOGMAR_CHART:
        chart = number("beck-2003", "change_from")
        status = Status.weakest(chart.status, Status.COMMON_PRACTICE)
        measured = msg("ninety-eight in a hundred retests of the electronic test; a chart read by hand is taken as the same (common practice)")
        return Repeatability(chart.quantity(Unit.LOGMAR), True, status, chart.source_key, measured)
    if method is AcuityMethod.GRATING_CARDS:
        within = number("mayer-1995", "retest_within")
        octave = Quantity(2 * within.value, Unit.OCTAVES)
        measured = msg("nine in ten retests lie within %(half)s; twice that is an inference", half=within.quantity(Unit.OCTAVES))
        return Repeatability(octave, True, Status.weakest(within.status, Status.DERIVED), within.source_key, measured)
    return None


def change_beyond_retest(before: Acuity, now: Acuity, method: AcuityMethod) -> Finding:
    """Now against before with one test: beyond a retest, within it, or not known; the value is the change, positive where worse.

    Raises `ClinicalInputError` naming `change` across families of tests.
    """
    change, known = change_between(before, now), repeatability(method)
    params: dict[str, Param] = {"before": before.typed, "now": now.typed, "change": as_said(change), "way": way(change)}
    if known is None:
        text = msg("%(way)s from “%(before)s” to “%(now)s”, %(change)s: how far a retest with this test may differ was not found published.", **params)
        return Finding("retest-not-known", text, Status.DERIVED, value=change)
    params["limit"] = known.limit
    if known.is_beyond(change):
        text = msg("%(way)s from “%(before)s” to “%(now)s”, %(change)s: more than a retest may differ (%(limit)s).", **params)
        return Finding("beyond-retest", text, known.status, (known.source,), change, (known.measured_on,))
    text = msg("%(way)s from “%(before)s” to “%(now)s”, %(change)s: within what a retest may differ (%(limit)s); measure again.", **params)
    return Finding("within-retest", text, known.status, (known.source,), change, (known.measured_on,))


def way(change: Quantity) -> Message:
    """Better, worse or unchanged: worse is up, in logMAR and in octaves lost alike."""
    if abs(change.value) <= _TOLERANCE:
        return msg("unchanged")
    return msg("worse") if change.value > 0 else msg("better")


def as_said(change: Quantity) -> Quantity:
    """A change beside the word for its way: octaves (positive where lost) without their sign, which would read the other way round; logMAR with it."""
    return Quantity(abs(change.value), Unit.OCTAVES) if change.unit is Unit.OCTAVES else change
