"""The form of a visit: what was typed becomes an examination, and a stored visit what would have been typed."""

import re
from collections.abc import Iterator
from datetime import date
from typing import Any

from service.actions.visits import TEST_NAMES
from service.asked import EYE_GROUPS, VISIT_GROUPS, Asked, Group, asked
from service.facts import Child
from service.facts_of_visits import AcuityReading, AcuityTest, Examination, EyeFindings, Visit, VisitFindings
from service.forms import Form
from shared.dates import completed_months
from shared.findings import Message, Quantity, Unit, msg
from shared.optics.refraction import SpheroCylinder, keratometric_power, keratometric_radius
from shared.sight.acuity import read_acuity
from shared.vocabulary import AcuityMethod, CorrectionWorn, FixationPreference, Laterality, Reliability, TestedEye

CARDS_UNTIL_MONTHS = 24  # the test that a child of this age is usually shown (common practice)
FLATTEST_RADIUS_MM = 20.0  # no cornea is as flat as this in mm, nor as weak in D
_CONDITIONS = ("method", "distance_cm", "letters_per_line", "patched_beforehand", "cycloplegia", "tested_first")
_POWERS = {
    "refraction_sphere": msg("sphere of the refraction"),
    "refraction_cylinder": msg("cylinder of the refraction"),
    "trial_lens_dioptres": msg("trial lens"),
    "over_sphere": msg("sphere of the over-refraction"),
    "over_cylinder": msg("cylinder of the over-refraction"),
}


def examination(form: Form) -> Examination:
    return Examination(
        on=form.day("on"),
        tests=tuple(test for name in TEST_NAMES if (test := _test(form, name)) is not None),
        eyes={eye: _eye(form, eye) for eye in Laterality},
        together=VisitFindings(fixation_preference=form.optional_choice("fixation_preference", FixationPreference), **_noted(form, "", VISIT_GROUPS)),
        tester=form.optional_text("tester") or None,
    )


def tested_in_order(form: Form, child: Child, today: date) -> dict[str, list[tuple[str, str]]]:
    """For each test what looks at it, with its heading, in the order of the examination: cards begin with both eyes together (common practice)."""
    infant = completed_months(child.born_on, today) < CARDS_UNTIL_MONTHS
    words, found = form.words, {}
    right_left = [("right", words.gettext("Right eye")), ("left", words.gettext("Left eye"))]
    together = [("both", words.gettext("Both eyes together"))]
    for name in TEST_NAMES:
        method = form.raw(f"{name}_method")
        cards = method == AcuityMethod.GRATING_CARDS or (infant and not method)
        found[name] = together + right_left if cards else right_left + together
    return found


def unsigned_powers(form: Form) -> tuple[Message, ...]:
    """A question for each power without its sign: +2.50 D and −2.50 D are both lenses that are ordered."""
    return tuple(_unsigned(form))


def _unsigned(form: Form) -> Iterator[Message]:
    for eye in Laterality:
        for name, power in _POWERS.items():
            typed, value = form.raw(f"{eye}_{name}"), form.optional_number(f"{eye}_{name}", -40, 50, "D")
            if value and typed[0] not in "+-\u2212":
                yield msg(
                    "%(eye)s eye, %(power)s: “%(typed)s” has no sign. Did you mean %(plus)s or %(minus)s? As typed it is %(plus)s.",
                    eye=eye,
                    power=power,
                    typed=typed,
                    plus=Quantity(value, Unit.DIOPTRE),
                    minus=Quantity(-value, Unit.DIOPTRE),
                )


def _noted(form: Form, prefix: str, groups: tuple[Group, ...]) -> dict[str, Any]:
    """The findings of these groups; a field's name is its finding's, behind the eye's."""
    return {a.name: _noted_one(form, f"{prefix}{a.name}", a) for a in asked(groups)}


def _noted_one(form: Form, name: str, a: Asked) -> Any:
    if a.choices:
        return form.optional_choice(name, a.choices)
    if a.longest:
        return form.optional_text(name, longest=a.longest) or None
    if a.name in ("k1_dioptres", "k2_dioptres"):
        return _keratometry(form, name, a)
    if a.name == "corneal_thickness_um":
        return _not_in(form, name, (a.low, a.high, a.unit), msg("mm"), 1000)
    return form.optional_number(name, a.low, a.high, a.unit)


def _not_in(form: Form, name: str, asked_for: tuple[float, float, str], mistaken: Message, factor: float) -> float | None:
    """A number between limits in a unit; one that fits them only `factor` times over was read in another unit, and is named in ours."""
    low, high, unit = asked_for
    value = form.optional_number(name, 0, high, unit)
    if value is None or value >= low or name in form.errors:
        return value
    if low <= value * factor <= high:
        said = f"{value * factor:g} {unit}"
        form.refuse(name, msg("“%(typed)s” looks like a value in %(mistaken)s: that is %(said)s.", typed=form.raw(name), mistaken=mistaken, said=said))
    return form.optional_number(name, low, high, unit)


def _test(form: Form, name: str) -> AcuityTest | None:
    """None where nothing was entered."""
    distance = _not_in(form, f"{name}_distance_cm", (10, 1000, "cm"), msg("metres"), 100)
    counted = form.optional_number(f"{name}_letters_per_line", 1, 10, "letters")
    letters = None if counted is None else int(counted)
    readings = {eye: reading for eye in TestedEye if (reading := _reading(form, f"{name}_{eye}", distance, letters)) is not None}
    test = AcuityTest(
        method=form.optional_choice(f"{name}_method", AcuityMethod),
        readings=readings,
        distance_cm=distance,
        letters_per_line=letters,
        patched_beforehand=form.ticked(f"{name}_patched_beforehand"),
        cycloplegia=form.ticked(f"{name}_cycloplegia"),
        tested_first=form.optional_choice(f"{name}_tested_first", TestedEye),
    )
    if readings:
        return test
    if test != AcuityTest(None, {}):
        form.refuse(f"{name}_method", msg("This test has no result yet: give what an eye saw, tick “not testable”, or clear the test."))
    return None


def _reading(form: Form, prefix: str, distance_cm: float | None, letters_per_line: int | None) -> AcuityReading | None:
    typed, not_testable = form.raw(f"{prefix}_acuity"), form.ticked(f"{prefix}_not_testable")
    worn = form.optional_choice(f"{prefix}_correction_worn", CorrectionWorn)
    reliability = form.optional_choice(f"{prefix}_reliability", Reliability)
    if not typed and not not_testable:
        if worn or reliability:
            form.refuse(f"{prefix}_acuity", msg("What was seen with this correction is missing; “not testable” is an answer too."))
        return None
    acuity = None
    if typed:
        with form.catching(default=f"{prefix}_acuity"):
            acuity = read_acuity(typed, f"{prefix}_acuity", distance_cm, letters_per_line)
    return AcuityReading(acuity, not_testable, worn, reliability)


def _eye(form: Form, eye: Laterality) -> EyeFindings:
    gross = form.raw(f"{eye}_refraction_kind") == "gross"
    distance = form.optional_number(f"{eye}_working_distance_cm", 20, 200, "cm")
    if gross and distance is None and form.raw(f"{eye}_refraction_sphere"):
        form.refuse(f"{eye}_working_distance_cm", msg("A gross refraction needs its working distance in cm."))
    if distance is not None and not gross:
        form.refuse(f"{eye}_working_distance_cm", msg("A net refraction has its working distance taken off already: choose “gross”, or clear the distance."))
    return EyeFindings(
        eye=eye,
        refraction=_power(form, f"{eye}_refraction"),
        working_distance_cm=distance if gross else None,
        refraction_vertex_distance_mm=form.optional_number(f"{eye}_refraction_vertex_distance_mm", 0, 30, "mm"),
        trial_lens_dioptres=form.optional_number(f"{eye}_trial_lens_dioptres", -40, 50, "D"),
        over_refraction=_power(form, f"{eye}_over"),
        over_vertex_distance_mm=form.optional_number(f"{eye}_over_vertex_distance_mm", 0, 30, "mm"),
        **_noted(form, f"{eye}_", EYE_GROUPS),
    )


def _keratometry(form: Form, name: str, a: Asked) -> float | None:
    """In D, or a radius with its unit, as “7.50 mm”, which is kept as its power; a radius without the unit is caught by its size and its power named."""
    radius = re.fullmatch(r"([\d.,]+)\s*mm", form.raw(name), re.IGNORECASE)
    if radius:
        in_mm = Form(form.words, values={name: radius[1]})
        typed = in_mm.optional_number(name, keratometric_radius(a.high), keratometric_radius(a.low), "mm")
        form.take_errors(in_mm)
        return None if typed is None or in_mm.errors else keratometric_power(typed)
    typed = form.optional_number(name, 5, 65, "D")
    if typed is None or typed >= FLATTEST_RADIUS_MM:
        return form.optional_number(name, a.low, a.high, "D")
    power = Quantity(keratometric_power(typed), Unit.DIOPTRE)
    form.refuse(name, msg("%(typed)s looks like a radius in mm: write “%(typed)s mm”, or its power, %(power)s.", typed=f"{typed:g}", power=power))
    return None


def _power(form: Form, prefix: str) -> SpheroCylinder | None:
    sphere = form.optional_number(f"{prefix}_sphere", -40, 50, "D")
    cylinder = form.optional_number(f"{prefix}_cylinder", -15, 15, "D")
    axis = form.optional_number(f"{prefix}_axis", 0, 180, "°")
    if sphere is None:
        if cylinder is not None or axis is not None:
            form.refuse(f"{prefix}_sphere", msg("A cylinder needs its sphere; write 0 for plano."))
        return None
    with form.catching({name: f"{prefix}_{name}" for name in ("sphere", "cylinder", "axis")}):
        return SpheroCylinder(sphere, cylinder or 0.0, axis)
    return None


def typed(visit: Visit) -> dict[str, Any]:
    """A stored visit as it would have been typed."""
    together = visit.together
    values: dict[str, Any] = {"on": visit.on, "tester": visit.tester, "fixation_preference": together.fixation_preference, "version": visit.version}
    values |= {a.name: getattr(together, a.name) for a in asked(VISIT_GROUPS)}
    for name, test in zip(TEST_NAMES, visit.tests, strict=False):
        values |= {f"{name}_{condition}": _tick(getattr(test, condition)) for condition in _CONDITIONS}
        for tested, r in test.readings.items():
            values |= {
                f"{name}_{tested}_acuity": r.acuity.typed if r.acuity else None,
                f"{name}_{tested}_not_testable": _tick(r.not_testable),
                f"{name}_{tested}_correction_worn": r.correction_worn,
                f"{name}_{tested}_reliability": r.reliability,
            }
    for eye, f in visit.eyes.items():
        values |= {f"{eye}_{a.name}": getattr(f, a.name) for a in asked(EYE_GROUPS)}
        values |= {
            f"{eye}_refraction_kind": "gross" if f.working_distance_cm else "net",
            f"{eye}_working_distance_cm": f.working_distance_cm,
            f"{eye}_refraction_vertex_distance_mm": f.refraction_vertex_distance_mm,
            f"{eye}_trial_lens_dioptres": _signed(f.trial_lens_dioptres),
            f"{eye}_over_vertex_distance_mm": f.over_vertex_distance_mm,
        }
        for prefix, power in ((f"{eye}_refraction", f.refraction), (f"{eye}_over", f.over_refraction)):
            if power:
                values |= {f"{prefix}_sphere": _signed(power.sphere), f"{prefix}_cylinder": _signed(power.cylinder or None), f"{prefix}_axis": power.axis}
    return values


def _tick(value: Any) -> Any:
    """A box that is ticked says yes, and one that is not says nothing."""
    return {True: "yes", False: None}[value] if isinstance(value, bool) else value


def _signed(power: float | None) -> str | None:
    """With its sign, and two places where they hold it, as a power is written."""
    if not power:
        return None if power is None else "0"
    two_places = f"{power:+.2f}"
    return two_places if float(two_places) == power else f"{power:+g}"
