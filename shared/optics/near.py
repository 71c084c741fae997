"""What is added for near in an eye that cannot accommodate: by age from a table that a clinic may keep itself, and by working distance. Powers in D."""

import math
from dataclasses import dataclass

from shared.errors import ClinicalInputError
from shared.findings import Finding, Quantity, Unit, msg
from shared.sources import number, table
from shared.vocabulary import OpticalStatus, Status

NEAR_LIMITS_DIOPTRES = (0.0, 4.0)
MOST_ROWS = 12
LAST_MONTH = 216
WORKING_DISTANCE_LIMITS_CM = (10.0, 100.0)


@dataclass(frozen=True)
class NearRow:
    """From an age in completed months on: how much (D) is added in the lens. Nothing: distance power, and bifocal spectacles for near."""

    from_month: int
    dioptres: float


@dataclass(frozen=True)
class NearTable:
    """Rows by age, the first from birth; `author` says whose they are. Raises `ClinicalInputError` naming `near_rows`."""

    rows: tuple[NearRow, ...]
    status: Status
    sources: tuple[str, ...] = ()
    author: str = ""

    def __post_init__(self) -> None:
        months = [row.from_month for row in self.rows]
        if not months or months[0] != 0 or len(months) > MOST_ROWS or months != sorted(set(months)) or months[-1] > LAST_MONTH:
            raise ClinicalInputError(
                "near_rows", msg("Ages must rise from 0 months to %(most)s at most, in no more than %(n)s rows.", most=LAST_MONTH, n=MOST_ROWS)
            )
        low, high = NEAR_LIMITS_DIOPTRES
        for row in self.rows:
            if not math.isfinite(row.dioptres) or not low <= row.dioptres <= high:
                raise ClinicalInputError(
                    "near_rows",
                    msg("%(typed)s D for near cannot be; %(low)s to %(high)s D would.", typed=f"{row.dioptres:g}", low=f"{low:g}", high=f"{high:g}"),
                )

    def at(self, age_months: int) -> NearRow:
        """The row that holds at an age in completed months. Raises `ClinicalInputError` naming `age_months` before birth."""
        if age_months < 0:
            raise ClinicalInputError("age_months", msg("An age of %(months)s months cannot be.", months=age_months))
        return next(row for row in reversed(self.rows) if row.from_month <= age_months)

    def until_month(self, row: NearRow) -> int | None:
        """The age in months at which the next row takes over; None: it is the last."""
        return next((later.from_month for later in self.rows if later.from_month > row.from_month), None)

    @property
    def typed(self) -> str:
        """`0: 2.5; 12: 1.5; 24: 0`, as it is entered: months and D."""
        return "; ".join(f"{row.from_month}: {row.dioptres:g}" for row in self.rows)


def read_near_rows(typed: str) -> tuple[NearRow, ...]:
    """Rows as a person types them: `0: 2.5; 12: 1.5; 24: 0`, months and D. Raises `ClinicalInputError` naming `near_rows`."""
    return tuple(_read_row(part) for part in typed.replace(",", ".").split(";") if part.strip())


def _read_row(part: str) -> NearRow:
    month, _, dioptres = part.partition(":")
    try:
        return NearRow(int(month), float(dioptres))
    except ValueError:
        raise ClinicalInputError("near_rows", msg("“%(typed)s” is no row; “12: 1.5”, months and D, would be.", typed=part.strip())) from None


def built_in_near() -> NearTable:
    """+2.00 D in the Infant Aphakia Treatment Study (Trivedi 2014, read) until two years (from memory)."""
    amount, limit = number("trivedi-2014", "near_overcorrection"), number("iats-lens-protocol", "near_until_month")
    rows = (NearRow(0, amount.value), NearRow(int(limit.value), 0.0))
    return NearTable(rows, Status.weakest(amount.status, limit.status), (amount.source_key, limit.source_key))


def near_overcorrection(age_months: int, optical_status: OpticalStatus, by_age: NearTable | None) -> Finding:
    """The plus (D) to add once for near, by completed months: an aphakic eye cannot accommodate, and an infant's world is near.

    From a table by age, a clinic's own or the built-in one. Raises `ClinicalInputError` naming `age_months` before birth.
    """
    rule = "near-overcorrection-by-age"
    if by_age is None:
        text = msg("The rule is switched off in this clinic: what is added for near is the signer's own.")
        return Finding(rule, text, Status.COMMON_PRACTICE, value=Quantity(0.0, Unit.DIOPTRE))
    if optical_status is not OpticalStatus.APHAKIC:
        return Finding(rule, msg("None: the rule is for aphakic eyes."), Status.COMMON_PRACTICE, value=Quantity(0.0, Unit.DIOPTRE))
    row = by_age.at(age_months)
    amount, until = Quantity(row.dioptres, Unit.DIOPTRE), by_age.until_month(row)
    working = (msg("the clinic's own table: %(author)s", author=by_age.author),) if by_age.author else ()
    if not row.dioptres:
        since = Quantity(row.from_month, Unit.MONTHS)
        text = msg("None in the lens from %(until)s on: distance power, and bifocal spectacles for near.", until=since)
    elif until is None:
        text = msg("%(amount)s, added once, at the lens or at the spectacles.", amount=amount)
    else:
        text = msg("%(amount)s until %(until)s of age, added once, at the lens or at the spectacles.", amount=amount, until=Quantity(until, Unit.MONTHS))
    return Finding(rule, text, by_age.status, by_age.sources, amount, working)


def near_taught(age_months: int) -> Finding:
    """What textbooks teach at an age in completed months (D, from memory): a second view beside the table in use. Raises naming `age_months`."""
    if age_months < 0:
        raise ClinicalInputError("age_months", msg("An age of %(months)s months cannot be.", months=age_months))
    t, until = table("near-overcorrection-taught", "by_age"), number("near-overcorrection-taught", "until_month")
    if age_months >= until.value:
        least, most = number("near-overcorrection-taught", "addition_least"), number("near-overcorrection-taught", "addition_most")
        text = msg(
            "Often taught from %(until)s on, or a year later: distance power in the lens, and a bifocal with an addition of %(least)s to %(most)s.",
            until=until.quantity(Unit.MONTHS),
            least=least.quantity(Unit.DIOPTRE),
            most=most.quantity(Unit.DIOPTRE),
        )
    else:
        _, low, high = next(row for row in reversed(t.rows) if row[0] <= age_months)
        text = msg("Often taught at this age: %(least)s to %(most)s in the lens.", least=Quantity(low, Unit.DIOPTRE), most=Quantity(high, Unit.DIOPTRE))
    return Finding("near-taught-by-age", text, t.status, (t.source_key,))


def near_for_distance(working_distance_cm: float) -> Finding:
    """100 / cm: the plus (D) that brings a distance into focus without any accommodation (by definition). Raises naming `working_distance_cm`."""
    low, high = WORKING_DISTANCE_LIMITS_CM
    if not math.isfinite(working_distance_cm) or not low <= working_distance_cm <= high:
        text = msg("A working distance of %(cm)s cm cannot be; %(low)s to %(high)s cm would.", cm=f"{working_distance_cm:g}", low=f"{low:g}", high=f"{high:g}")
        raise ClinicalInputError("working_distance_cm", text)
    amount, distance = Quantity(100 / working_distance_cm, Unit.DIOPTRE), Quantity(working_distance_cm, Unit.CENTIMETRE)
    text = msg("%(amount)s brings %(distance)s into focus, without accommodation.", amount=amount, distance=distance)
    return Finding("near-for-distance", text, Status.DERIVED, value=amount, working=(msg("100 / %(distance)s", distance=distance),))
