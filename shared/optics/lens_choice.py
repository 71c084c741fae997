"""Which base curve of a range a cornea asks for, and how many lenses a first year took. Curves in mm, powers in D."""

from shared.findings import Finding, Quantity, Unit, Weight, msg
from shared.lens_words import LensMaterial
from shared.optics.biometry import CORNEA_LIMITS_DIOPTRES, check_between
from shared.optics.lens_range import LensRange
from shared.optics.refraction import keratometric_power, keratometric_radius, tear_lens
from shared.sources import number
from shared.vocabulary import Status

FIRST_YEAR_MONTHS = 12


def base_curve(lens_range: LensRange, cornea_dioptres: float, age_months: int) -> Finding:
    """The curve of the range nearest to what cornea (mean keratometry, D) and age in months ask for, and what it does there; a trial on the eye decides.

    Rigid: steeper than the cornea by what the trial's group means lay apart (Russell 2012, derived). Soft: a habit from memory, for infants only.
    No value where the material is not stated, no curve is listed or no habit is known. Raises `ClinicalInputError` naming `cornea_dioptres`.
    """
    check_between("cornea_dioptres", cornea_dioptres, CORNEA_LIMITS_DIOPTRES, Unit.DIOPTRE, msg("what a cornea may measure here"))
    if lens_range.material is None:
        return Finding("base-curve-by-cornea", msg("No base curve is proposed: the range does not say its material."), Status.COMMON_PRACTICE)
    if lens_range.material is LensMaterial.RIGID_GAS_PERMEABLE:
        return _rigid(lens_range, cornea_dioptres)
    return _soft(lens_range, age_months)


def _rigid(lens_range: LensRange, cornea_dioptres: float) -> Finding:
    lens, cornea = number("russell-2012", "rigid_base_curve"), number("russell-2012", "cornea_at_surgery")
    steeper = lens.value - cornea.value
    wanted = keratometric_radius(cornea_dioptres + steeper)
    working = (
        msg("group means of the trial: rigid lenses %(lens)s, corneas %(cornea)s", lens=lens.quantity(Unit.DIOPTRE), cornea=cornea.quantity(Unit.DIOPTRE)),
        msg(
            "%(cornea)s %(steeper)s steeper: %(wanted)s",
            cornea=Quantity(cornea_dioptres, Unit.DIOPTRE),
            steeper=Quantity(steeper, Unit.DIOPTRE),
            wanted=Quantity(wanted, Unit.MILLIMETRE),
        ),
    )
    if not lens_range.base_curves_mm:
        unlisted = msg("About %(wanted)s; the range lists no base curves.", wanted=Quantity(wanted, Unit.MILLIMETRE))
        return Finding("base-curve-by-cornea", unlisted, Status.DERIVED, (lens.source_key,), working=working)
    curve = _nearest(lens_range, wanted)
    tears = tear_lens(curve, cornea_dioptres)
    least, most = number("infant-base-curve", "rigid_steeper_least"), number("infant-base-curve", "rigid_steeper_most")
    usual = least.value <= tears.value <= most.value
    habit = msg("taught: %(least)s to %(most)s steeper than the cornea (from memory)", least=least.quantity(Unit.DIOPTRE), most=most.quantity(Unit.DIOPTRE))
    text = (
        msg("%(curve)s: %(tears)s against the cornea, which the tears behind the lens add to its power.", curve=Quantity(curve, Unit.MILLIMETRE), tears=tears)
        if usual
        else msg(
            "%(curve)s is the nearest of the range, but %(tears)s against the cornea: not the usual fit.", curve=Quantity(curve, Unit.MILLIMETRE), tears=tears
        )
    )
    weight = Weight.NOTE if usual else Weight.CHECK
    return Finding("base-curve-by-cornea", text, least.status, (lens.source_key, least.source_key), Quantity(curve, Unit.MILLIMETRE), (*working, habit), weight)


def _soft(lens_range: LensRange, age_months: int) -> Finding:
    wanted, until = number("infant-base-curve", "soft_curve"), number("infant-base-curve", "soft_until_month")
    if age_months >= until.value:
        text = msg("From %(until)s on flatter than an infant's; how much was not found published: by trial on the eye.", until=until.quantity(Unit.MONTHS))
        return Finding("base-curve-by-cornea", text, until.status, (until.source_key,))
    if not lens_range.base_curves_mm:
        text = msg("About %(wanted)s; the range lists no base curves.", wanted=wanted.quantity(Unit.MILLIMETRE))
        return Finding("base-curve-by-cornea", text, wanted.status, (wanted.source_key,))
    curve = _nearest(lens_range, wanted.value)
    text = msg(
        "%(curve)s: the nearest of the range to %(wanted)s, with which soft lenses are begun below %(until)s.",
        curve=Quantity(curve, Unit.MILLIMETRE),
        wanted=wanted.quantity(Unit.MILLIMETRE),
        until=until.quantity(Unit.MONTHS),
    )
    return Finding("base-curve-by-cornea", text, wanted.status, (wanted.source_key,), Quantity(curve, Unit.MILLIMETRE))


def _nearest(lens_range: LensRange, wanted_mm: float) -> float:
    """By power of the surface; a tie goes to the steeper."""
    return min(lens_range.base_curves_mm, key=lambda mm: (abs(keratometric_power(mm) - keratometric_power(wanted_mm)), mm))


def lenses_in_first_year(age_months: int) -> tuple[Finding, ...]:
    """How many lenses an infant needed in the trial (Russell 2012, read): replaced for every reason, before one year of age; nothing above (months)."""
    if age_months >= FIRST_YEAR_MONTHS:
        return ()
    soft, rigid = number("russell-2012", "silicone_replaced"), number("russell-2012", "rigid_replaced")
    text = msg(
        "In the trial a lens was replaced, for every reason and not for loss alone, %(soft)s times (%(soft_least)s to %(soft_most)s; silicone elastomer) "
        "or %(rigid)s times (%(rigid_least)s to %(rigid_most)s; rigid) before one year of age: keep a spare.",
        soft=f"{soft.value:g}",
        soft_least=f"{number('russell-2012', 'silicone_fewest').value:g}",
        soft_most=f"{number('russell-2012', 'silicone_most').value:g}",
        rigid=f"{rigid.value:g}",
        rigid_least=f"{number('russell-2012', 'rigid_fewest').value:g}",
        rigid_most=f"{number('russell-2012', 'rigid_most').value:g}",
    )
    return (Finding("lenses-in-first-year", text, Status.weakest(soft.status, rigid.status), (soft.source_key,)),)
