"""An acuity of a visit beside the norm of its age: small, with its source, and only where one was published for that test and age."""

from datetime import date

from service.facts import Child
from service.facts_of_visits import AcuityTest
from shared.dates import completed_months, corrected_months
from shared.errors import ClinicalInputError
from shared.findings import Finding
from shared.sight.acuity_norms import against_norm, norms_for, uses_corrected_age
from shared.vocabulary import AcuityMethod, Laterality


def norm_finding(child: Child, on: date, test: AcuityTest, eye: Laterality, rules_off: frozenset[str]) -> Finding | None:
    """None without a norm for this test at this age, for a reading on which no rule rests, and where the clinic switched the rule off."""
    acuity, method = test.acuity(eye), test.series(eye)
    if acuity is None or method is None or not test.usable(eye):
        return None
    try:
        age_months = _age(child, on, method)
        found = next((against_norm(acuity, norm, age_months) for norm in norms_for(method)), None)
    except ClinicalInputError:
        return None  # outside the ages of the norm, or of another notation than its test
    return None if found is None or found.rule in rules_off else found


def _age(child: Child, on: date, method: AcuityMethod) -> int:
    return corrected_months(child.born_on, child.weeks_premature, on) if uses_corrected_age(method) else completed_months(child.born_on, on)
