"""What is measured at a visit as JSON, in and out the same: the findings walk `service/asked.py`, so a new one needs no line here."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any, TypeVar

from pydantic import BaseModel, Field, create_model

from service.actions.visits import TEST_NAMES
from service.api.body import SPEAK, Day, Filled, Line, Number, Strict, Truth, Whole
from service.asked import EYE_GROUPS, VISIT_GROUPS, Asked, Group, asked
from service.facts_of_visits import AcuityReading, AcuityTest, Examination, EyeFindings, Visit, VisitFindings
from shared.errors import ClinicalInputError
from shared.findings import msg
from shared.optics.refraction import SpheroCylinder
from shared.sight.acuity import read_acuity
from shared.vocabulary import AcuityFamily, AcuityMethod, CorrectionWorn, FixationPreference, Laterality, Reliability, TestedEye

B = TypeVar("B", bound=BaseModel)
_POWERS = ("refraction", "over_refraction")


def _findings(groups: tuple[Group, ...]) -> dict[str, Any]:
    return {a.name: _finding(a) for a in asked(groups)}


def _finding(a: Asked) -> tuple[Any, Any]:
    label = SPEAK.text(a.label)
    if a.choices:
        return a.choices | None, Field(None, description=label)
    if a.longest:
        return Line | None, Field(None, max_length=a.longest, description=label)
    return Number | None, Field(None, ge=a.low, le=a.high, description=f"{label}, {a.unit}" if a.unit else label)


class ReadingBody(Strict):
    acuity: Filled | None = Field(None, max_length=60, description="as it was measured, as 6/12, 0.3 logMAR, 4.7 cpd or HM")
    not_testable: Truth = False
    correction_worn: CorrectionWorn | None = None
    reliability: Reliability | None = None


class ReadingsBody(Strict):
    right: ReadingBody | None = None
    left: ReadingBody | None = None
    both: ReadingBody | None = None


class TestBody(Strict):
    """One test under one set of conditions; null for an eye that was not tested."""

    __test__ = False
    method: AcuityMethod | None = None
    distance_cm: Number | None = Field(None, ge=10, le=1000)
    letters_per_line: Whole | None = Field(None, ge=1, le=10)
    patched_beforehand: Truth = False
    cycloplegia: Truth = False
    tested_first: TestedEye | None = None
    readings: ReadingsBody


class PowerBody(Strict):
    sphere: Number = Field(ge=-40, le=50)
    cylinder: Number = Field(0, ge=-15, le=15)
    axis: Number | None = Field(None, ge=0, le=180)


class MeasuredEye(Strict):
    refraction: PowerBody | None = None
    working_distance_cm: Number | None = Field(None, ge=20, le=200, description="of a gross refraction; null for a net one")
    refraction_vertex_distance_mm: Number | None = Field(None, ge=0, le=30)
    trial_lens_dioptres: Number | None = Field(None, ge=-40, le=50)
    over_refraction: PowerBody | None = None
    over_vertex_distance_mm: Number | None = Field(None, ge=0, le=30)


EyeBody = create_model("EyeBody", __base__=MeasuredEye, **_findings(EYE_GROUPS))
TogetherBody = create_model("TogetherBody", __base__=Strict, fixation_preference=(FixationPreference | None, None), **_findings(VISIT_GROUPS))


class EyesBody(Strict):
    right: EyeBody = Field(default_factory=EyeBody)  # type: ignore[valid-type]  # made while running
    left: EyeBody = Field(default_factory=EyeBody)  # type: ignore[valid-type]  # made while running


class ExaminationBody(Strict):
    """Powers in D, vertex distances in mm. Nothing is obligatory but the day; what was not looked for is null."""

    on: Day
    tests: list[TestBody] = Field(default_factory=list, max_length=len(TEST_NAMES))
    eyes: EyesBody = Field(default_factory=EyesBody)
    together: TogetherBody = Field(default_factory=TogetherBody)  # type: ignore[valid-type]  # made while running
    tester: Line | None = Field(None, max_length=80, description="who examined, where it is known")


class ReadAs(BaseModel):
    logmar: float | None = Field(description="lower is better; null where none is defined")
    family: AcuityFamily


@contextmanager
def within(path: str) -> Iterator[None]:
    """Names the fields of a part by their path in the whole."""
    try:
        yield
    except ClinicalInputError as e:
        raise ClinicalInputError(f"{path}.{e.field}", e.message) from e


def examination(body: ExaminationBody) -> Examination:
    """Raises `ClinicalInputError` naming the field by its path."""
    return Examination(
        on=body.on,
        tests=tuple(_test(t, f"tests.{n}") for n, t in enumerate(body.tests)),
        eyes={eye: _eye(getattr(body.eyes, eye), eye) for eye in Laterality},
        together=VisitFindings(**_values(body.together)),
        tester=body.tester or None,
    )


def _values(body: BaseModel) -> dict[str, Any]:
    return {name: getattr(body, name) for name in type(body).model_fields}


def _eye(body: MeasuredEye, eye: Laterality) -> EyeFindings:
    powers = {name: _power(getattr(body, name), f"eyes.{eye}.{name}") for name in _POWERS}
    return EyeFindings(eye=eye, **_values(body) | powers)


def _power(body: PowerBody | None, path: str) -> SpheroCylinder | None:
    with within(path):
        return SpheroCylinder(body.sphere, body.cylinder, body.axis) if body else None


def _test(body: TestBody, path: str) -> AcuityTest:
    given = {eye: r for eye in TestedEye if (r := getattr(body.readings, eye)) is not None}
    if not given:
        raise ClinicalInputError(f"{path}.readings", msg("A test needs the reading of an eye, or of both together."))
    readings = {eye: _reading(r, body, f"{path}.readings.{eye}") for eye, r in given.items()}
    return AcuityTest(readings=readings, **{name: value for name, value in _values(body).items() if name != "readings"})


def _reading(body: ReadingBody, test: TestBody, path: str) -> AcuityReading:
    if body.acuity is None and not body.not_testable:
        raise ClinicalInputError(f"{path}.acuity", msg("Please give the acuity as measured, or say that the eye was not testable."))
    acuity = read_acuity(body.acuity, f"{path}.acuity", test.distance_cm, test.letters_per_line) if body.acuity else None
    return AcuityReading(acuity, body.not_testable, body.correction_worn, body.reliability)


def examination_fields(visit: Visit) -> dict[str, Any]:
    """A stored visit's fields of `ExaminationBody`, as they could be sent again. What is stored is shown even where a limit has moved since."""
    eyes: dict[str, Any] = {eye.value: _shown(EyeBody, f, {name: _power_shown(getattr(f, name)) for name in _POWERS}) for eye, f in visit.eyes.items()}
    return {
        "on": visit.on,
        "tests": [_shown(TestBody, t, {"readings": _readings_shown(t)}) for t in visit.tests],
        "eyes": EyesBody.model_construct(**eyes),
        "together": _shown(TogetherBody, visit.together, {}),
        "tester": visit.tester,
    }


def _shown(kind: type[B], fact: Any, other: dict[str, Any]) -> B:
    """The body of a fact: its fields of the same names, but for `other`."""
    return kind.model_construct(**{name: other[name] if name in other else getattr(fact, name) for name in kind.model_fields})


def _power_shown(p: SpheroCylinder | None) -> PowerBody | None:
    return _shown(PowerBody, p, {}) if p else None


def _readings_shown(t: AcuityTest) -> ReadingsBody:
    readings: dict[str, Any] = {eye.value: _shown(ReadingBody, r, {"acuity": r.acuity.typed if r.acuity else None}) for eye, r in t.readings.items()}
    return ReadingsBody.model_construct(**readings)


def read_as(visit: Visit) -> list[dict[TestedEye, ReadAs]]:
    """How each test's acuities were read, beside what was typed."""
    return [{eye: ReadAs(logmar=r.acuity.logmar, family=r.acuity.family) for eye, r in t.readings.items() if r.acuity} for t in visit.tests]
