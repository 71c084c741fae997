"""A fixed matrix of invented children, what the rules answer for each, and what has moved since the answers were last written down.

The matrix is walked in strides through every combination of what the rules ask, so that it is the same on every machine.
"""

from collections.abc import Iterator, Mapping, Sequence
from datetime import date, timedelta
from hashlib import sha256
from math import gcd, prod
from pathlib import Path
from typing import Any

from service.i18n import words
from service.settings import ROOT
from shared.course.review import findings, settle
from shared.course.review_facts import LensWorn, OperatedEye, Reading, ReviewFacts
from shared.errors import ClinicalInputError
from shared.examination_words import Skin
from shared.sight.acuity import read_acuity
from shared.treatment.dose import NoPublishedDose, OcclusionFacts
from shared.treatment.occlusion import propose
from shared.vocabulary import AcuityMethod, Aetiology, Laterality, OpticalStatus, Phase, RedReflex

ANSWERS = ROOT / "tests" / "golden" / "answers_of_the_rules.txt"
TODAY = date(2026, 3, 2)
Child = dict[str, Any]
CHILDREN = 5000

INFANTS: Mapping[str, Sequence[Any]] = {
    "age_months": (0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 11, 12, 13, 23, 24, 35, 36, 47, 59, 60, 61, 84),
    "age_at_surgery_months": (0, 1, 1, 2, 2, 4, 6, 7, None),
    "fellow_eye_status": (*(OpticalStatus.PHAKIC,) * 5, OpticalStatus.APHAKIC, OpticalStatus.ABSENT),
    "amblyopic_eye_status": (*(OpticalStatus.APHAKIC,) * 4, OpticalStatus.PSEUDOPHAKIC, OpticalStatus.PHAKIC),
    "waking_hours": (None, 9.0, 12.5),
    "weeks_premature": (0, 4, 6),
    "aetiology": (Aetiology.DEPRIVATION,),
}
SCHOOLCHILDREN: Mapping[str, Sequence[Any]] = {
    "age_months": (35, 36, 47, 59, 60, 71, 83, 84, 95, 96, 119, 155, 156, 203, 204, 215, 216, 240),
    "aetiology": (*(Aetiology.ANISOMETROPIC, Aetiology.STRABISMIC, Aetiology.COMBINED) * 3, Aetiology.AMETROPIC),
    "amblyopic_acuity": ("20/25", "20/32", "20/40", "20/50", "20/80", "20/100", "20/125", "20/200", "20/400", "20/500", "2 cpd", "HM", None),
    "fellow_acuity": ("20/16", "20/20", "20/25", "20/40", "20/50", "8 cpd", None),
    "refractive_adaptation_weeks": (None, 0.0, 3.0, 15.0, 16.0, 18.0, 40.0),
    "glasses_needed": (True, True, True, False),
    "amblyopic_eye_status": (*(OpticalStatus.PHAKIC,) * 9, OpticalStatus.PSEUDOPHAKIC),
    "fellow_eye_status": (OpticalStatus.PHAKIC,),
}
REVIEWS: Mapping[str, Sequence[Any]] = {
    "aetiology": tuple(Aetiology),
    "method": (AcuityMethod.CROWDED_HOTV, AcuityMethod.LOGMAR_CHART, AcuityMethod.CROWDED_PICTURES),
    "amblyopic": (
        ("20/80",),
        ("20/63", "20/63"),
        ("20/63", "20/63", "20/63"),
        ("20/80", "20/50", "20/32"),
        ("20/40", "20/25", "20/25"),
        ("20/32", "20/50"),
        (),
    ),
    "fellow": (*(("20/20", "20/20"),) * 4, ("20/20", "20/25"), ("20/20", "20/32"), ("20/16", "20/20", "20/25"), ("20/20", "CF"), ()),
    "phase": (None, *(phase for phase in Phase if phase is not Phase.ATROPINE), *(Phase.OCCLUSION,) * 4),  # drops have a proposal of their own
    "minutes_per_day": (0, 60, 120, 240, 360, 600),
    "weeks_on_dose": (0.0, 6.0, 11.0, 12.0, 20.0),
    "known_days_share": (None, 0.2, 0.5, 0.9),
    "received_share_of_known": (None, 0.3, 0.5, 0.9, 1.2, 1.4),
    "adaptation_weeks": (None, 6.0, 15.0, 16.0, 30.0),
    "days_to_review": (None, -10, 0, 5, 40),
    "operated": ((), ("clear", 14.0, 30), ("white", 14.0, 30), ("clear", 26.0, 30), ("clear", None, 400), (None, 14.0, 200)),
    "skin": (*(None,) * 4, Skin.CLEAR, Skin.RED, Skin.SORE),
    "double_vision": (*(False,) * 8, True),
    "refracted_days_ago": (0, 100, None),
    "over": (None, -2.0, 0.0, 1.5),
    "stopped_days_ago": (None, None, 30),
}


def every(matrix: Mapping[str, Sequence[Any]], count: int) -> Iterator[Child]:
    """`count` children, spread evenly over every combination: a stride that shares no factor with their number visits each at most once."""
    of = prod(len(values) for values in matrix.values())
    stride = next(n for n in range(of * 61803 // 100000, 2 * of) if gcd(n, of) == 1)
    seen: set[str] = set()
    for n in range(of):
        at, child = n * stride % of, {}
        for name, values in matrix.items():
            at, which = divmod(at, len(values))
            child[name] = values[which]
        if (said := _said(child)) not in seen:  # a value that is listed several times is asked more often
            seen.add(said)
            yield child
        if len(seen) == count:
            return


def answers() -> Iterator[str]:
    """One line a child: its facts in the order of the heading, and what the rules say."""
    for matrix, count, answer in ((INFANTS, 1500, _infant), (SCHOOLCHILDREN, 2000, _dose), (REVIEWS, 1500, _review)):
        yield f"# {', '.join(matrix)}"
        yield from (f"{_said(child)} -> {answer(child)}" for child in every(matrix, count))


def _said(child: Child) -> str:
    return " ".join("/".join(map(str, value)) or "-" if isinstance(value, tuple) else str(value) for value in child.values())


def _infant(child: Child) -> str:
    return _dose(child | {"amblyopic_acuity": None, "fellow_acuity": None})


def _dose(child: Child) -> str:
    acuities = {name: read_acuity(child[name]) if child.get(name) else None for name in ("amblyopic_acuity", "fellow_acuity")}
    try:
        found = propose(OcclusionFacts(**child | acuities))
    except ClinicalInputError as refused:
        return f"refused: {refused.field}"
    if isinstance(found, NoPublishedDose):
        return f"none: {words('en').text(found.reason)}"
    said = (f"{found.minutes_per_day} min", found.phase, f"review in {found.review_in_weeks} weeks", found.finding.status, f"{len(found.cautions)} cautions")
    return f"{found.rule} {', '.join(said)}"


def _review(child: Child) -> str:
    facts = _review_facts(child)
    return f"{settle(facts).rule}; {', '.join(sorted(f'{f.rule}:{f.weight}' for f in findings(facts)))}"


def _review_facts(child: Child) -> ReviewFacts:
    def ago(days: int | None) -> date | None:
        return None if days is None else TODAY - timedelta(days=days)

    def readings(typed: Sequence[str]) -> tuple[Reading, ...]:
        return tuple(Reading(TODAY - timedelta(weeks=6 * (len(typed) - 1 - n)), read_acuity(t), True) for n, t in enumerate(typed))

    to_review = child["days_to_review"]
    eyes: tuple[OperatedEye, ...] = ()
    if child["operated"]:
        reflex, mmhg, days = child["operated"]
        seen = RedReflex(reflex) if reflex else None
        eyes = (OperatedEye(Laterality.LEFT, date(2025, 6, 2), ago(days), mmhg, axis_on=ago(days) if seen else None, red_reflex=seen),)
    return ReviewFacts(
        today=TODAY,
        aetiology=child["aetiology"],
        method=child["method"],
        amblyopic=readings(child["amblyopic"]),
        fellow=readings([t for t in child["fellow"] if t != "CF"]),
        fellow_any=readings(child["fellow"]),
        phase=child["phase"],
        minutes_per_day=child["minutes_per_day"],
        weeks_on_dose=child["weeks_on_dose"],
        review_on=None if to_review is None else TODAY + timedelta(days=to_review),
        ended_unreviewed=to_review is not None and to_review <= 0,
        known_days_share=child["known_days_share"],
        received_share_of_known=child["received_share_of_known"],
        adaptation_weeks=child["adaptation_weeks"],
        operated_eyes=eyes,
        skin=child["skin"],
        double_vision_on=TODAY if child["double_vision"] else None,
        refracted_on=ago(child["refracted_days_ago"]),
        lenses_worn=() if child["over"] is None else (LensWorn(Laterality.LEFT, TODAY, child["over"], 2.0),),
        stopped_on=ago(child["stopped_days_ago"]) if child["phase"] is None else None,
        born_on=date(2021, 3, 2),
    )


def moved(path: Path = ANSWERS) -> list[str]:
    """Every answer that is no longer what was written down, before and now."""
    before = dict(_split(path.read_text("utf-8").splitlines())) if path.is_file() else {}
    now = dict(_split(answers()))
    children = [child for child in now | before if before.get(child) != now.get(child)]
    return [f"{child}\n  - {before.get(child, 'no answer yet')}\n  + {now.get(child, 'no longer asked')}" for child in children]


def _split(lines: Any) -> Iterator[tuple[str, str]]:
    for line in lines:
        if line.startswith("#"):
            continue
        child, _, said = line.partition(" -> ")
        yield child, said


def write(path: Path = ANSWERS) -> None:
    path.write_text("".join(f"{line}\n" for line in answers()), "utf-8")


def digest(path: Path = ANSWERS) -> str:
    """Names the answers as they were written down."""
    return sha256(path.read_bytes()).hexdigest()[:12]
