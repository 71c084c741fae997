"""Every rule by its name: what it says, and which publications it rests on (none: common practice). A clinic may switch any of them off."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from shared.findings import Message, msg
from shared.treatment.alternative_rows import ALTERNATIVES
from shared.treatment.atropine import ROWS as DROPS
from shared.treatment.protocol_rows import ROWS


class RuleGroup(StrEnum):
    """Where a rule speaks, in the order of a review."""

    HARM = "harm"
    LENSES = "lenses"
    WEAR = "wear"
    GAIN = "gain"
    DATES = "dates"
    DECISION = "decision"
    DOSE = "dose"
    RESPONSE = "response"
    IMPLANT = "implant"


@dataclass(frozen=True)
class Rule:
    """A rule as a clinic sees it; `sources` are keys of `shared/published/`."""

    name: str
    group: RuleGroup
    title: Message
    sources: tuple[str, ...] = ()


_H, _L, _W, _G, _D = RuleGroup.HARM, RuleGroup.LENSES, RuleGroup.WEAR, RuleGroup.GAIN, RuleGroup.DATES
_RETEST = ("holmes-2001", "chen-2006", "beck-2003", "mayer-1995")
_NORMS = ("mayer-1995", "salomao-ventura-1995", "leone-2014", "pan-2009", "hotv-cohort-norms")
_HARM = (
    Rule("covers-amblyopic-eye", _H, msg("The plan covers the eye recorded as amblyopic, without a reason")),
    Rule("fellow-eye-two-lines", _H, msg("Fellow eye worse by two lines"), ("aao-ppp-2022",)),
    Rule("fellow-eye-one-line", _H, msg("Fellow eye worse by one line"), ("aao-ppp-2022", *_RETEST)),
    Rule("fellow-eye-grating", _H, msg("Fellow eye down by an octave on grating cards"), ("mayer-1995",)),
    Rule("fellow-eye-category", _H, msg("Fellow eye down to a category of low vision")),
    Rule("double-vision", _H, msg("Double vision"), ("aao-ppp-2022",)),
    Rule("new-deviation", _H, msg("A deviation where there was none"), ("aao-ppp-2022",)),
    Rule("skin-sore", _H, msg("Sore skin under the patch"), ("aao-ppp-2022",)),
    Rule("skin-red", _H, msg("Red skin under the patch")),
    Rule("axis-first", _H, msg("The axis of an operated eye is not clear")),
    Rule("axis-not-seen", _H, msg("The axis of an operated eye was never recorded")),
    Rule("pressure-high", _H, msg("Pressure of an operated eye above the limit"), ("pressure-watch",)),
    Rule("pressure-due", _H, msg("Pressure of an operated eye is due"), ("pressure-watch", "iats-glaucoma-2021")),
)
_LENSES = (
    Rule("operated-no-correction", _L, msg("Operated, and no correction signed since")),
    Rule("operated-no-regimen", _L, msg("Operated, and no regimen signed since")),
    Rule("aphakic-uncorrected", _L, msg("An aphakic eye without a correction")),
    Rule("lens-off", _L, msg("The lens worn is off by more than the clinic's limit")),
    Rule("lenses-exchanged", _L, msg("Lenses may have changed eyes")),
    Rule("near-added-twice", _L, msg("Near is added in lens and glasses")),
    Rule("lens-none-in-use", _L, msg("No lens in use")),
    Rule("lens-no-spare", _L, msg("No valid spare lens")),
    Rule("lens-barred-in-use", _L, msg("A barred lens in use")),
    Rule("lens-superseded-in-use", _L, msg("A superseded lens in use")),
    Rule("lens-spare-stale", _L, msg("A spare lens past its date")),
    Rule("near-overcorrection-by-age", _L, msg("Overcorrection for near by age"), ("trivedi-2014", "iats-lens-protocol")),
    Rule("spectacle-magnification", _L, msg("Magnification by spectacles over one aphakic eye"), ("aphakic-magnification",)),
    Rule("magnification-by-power", _L, msg("Magnification by the power of the lenses")),
    Rule("aphakic-forecast", _L, msg("Forecast of an aphakic refraction"), ("mcclatchey-parks-1997", "moore-1989")),
    Rule("lens-off-expected", _L, msg("The lens worn is expected to be off by the clinic's limit"), ("mcclatchey-parks-1997", "moore-1989")),
    Rule("growth-outside-band", _L, msg("An eye grows beyond its forecast"), ("mcclatchey-parks-1997", "moore-1989", "iats-length", "trivedi-2014")),
    Rule("lens-change-habit", _L, msg("When lenses were changed in a published series"), ("trivedi-wilson-lens-power",)),
    Rule("lenses-in-first-year", _L, msg("How many lenses an infant needs"), ("russell-2012",)),
    Rule("base-curve-by-cornea", _L, msg("Base curve by the cornea"), ("russell-2012", "infant-base-curve")),
    Rule("near-taught-by-age", _L, msg("What textbooks add for near"), ("near-overcorrection-taught",)),
    Rule("near-for-distance", _L, msg("What a working distance asks for")),
    Rule("lens-power-by-regression", _L, msg("Power from length by a regression"), ("trivedi-wilson-lens-power", "trivedi-2014")),
    Rule("lens-power-by-implant-formula", _L, msg("Power from length and cornea by an implant formula"), ("retzlaff-1990", "trivedi-2014")),
    Rule("lens-power-by-vergence", _L, msg("Power from length and cornea as a thin lens"), ("thin-lens-vergence",)),
    Rule("starting-power-by-age", _L, msg("Starting powers by age"), ("sclafani-2002",)),
    Rule("rigid-power-by-age", _L, msg("Rigid lenses by age"), ("rigid-infant-fitting",)),
    Rule("aphakic-course-by-age", _L, msg("Mean course of unilateral aphakia"), ("moore-1989",)),
    Rule("length-at-birth", _L, msg("Length of the eye at birth"), ("gordon-donzis-1985",)),
    Rule("length-grown", _L, msg("Length of the grown eye"), ("gordon-donzis-1985",)),
    Rule("segment-height", _L, msg("Height of a child's bifocal segment"), ("child-segment",)),
)
_WEAR = (
    Rule("wear-not-known", _W, msg("Wear is not known")),
    Rule("wear-low", _W, msg("Little is worn")),
    Rule("worn-beyond-signed", _W, msg("More is worn than was signed")),
    Rule("worn-without-correction", _W, msg("The patch is worn without lens or glasses")),
)
_GAIN = (
    Rule("not-working", _G, msg("Worn, and no gain"), ("ats15",)),
    Rule("low-dose-first", _G, msg("No gain, and little worn"), ("ats15",)),
    Rule("amblyopic-change", _G, msg("Change of the amblyopic eye against a retest"), _RETEST),
    Rule("beyond-retest", _G, msg("A change beyond what a retest gives"), _RETEST),
    Rule("within-retest", _G, msg("A change within what a retest gives"), _RETEST),
    Rule("retest-not-known", _G, msg("A change by a test whose retest is not known")),
    Rule("below-age-norm", _G, msg("Acuity below the norm of its age and test"), _NORMS),
    Rule("eyes-differ-by-gratings", _G, msg("The eyes differ more than healthy children's by gratings"), ("mayer-1995",)),
    Rule("eyes-alike-by-gratings", _G, msg("The eyes differ no more than healthy children's by gratings"), ("mayer-1995",)),
    Rule("within-age-norm", _G, msg("Acuity within the norm of its age and test"), _NORMS),
    Rule("outcome", _G, msg("Share of the deficit made good"), ("stewart-2003",)),
    Rule("adaptation-done", _G, msg("Refractive adaptation is done"), ("ats5",)),
    Rule("adaptation-going-on", _G, msg("Refractive adaptation is going on"), ("ats5", "eupatch")),
    Rule("resolved", _G, msg("Resolved by its definition"), ("cotter-2006",)),
    Rule("recurrence", _G, msg("Loss after a stop"), ("ats2c",)),
    Rule("amblyopic-eye-unsaid", _G, msg("The eyes differ, and no eye is recorded as amblyopic")),
)
_DATES = (
    Rule("plan-ended", _D, msg("The plan has ended")),
    Rule("review-today", _D, msg("The review is today")),
    Rule("review-near", _D, msg("The review is near")),
    Rule("review-overdue", _D, msg("The review has slipped, and the plan goes on as signed for that")),
    Rule("review-slipped", _D, msg("The review lies beyond the plan")),
    Rule("not-brought", _D, msg("A child who was not brought")),
    Rule("day-without-room", _D, msg("A day of the family has no room for a session")),
    Rule("day-too-short", _D, msg("A day of the family cannot hold its hours")),
    Rule("days-off-ahead", _D, msg("Days off take dates from the plan")),
    Rule("observation-year", _D, msg("The year after stopping"), ("ats2c",)),
)
_DECISIONS = (
    Rule("settle-pause", RuleGroup.DECISION, msg("Propose: pause"), ("aao-ppp-2022",)),
    Rule("settle-stop-for-now", RuleGroup.DECISION, msg("Propose: stop for the time being"), ("aao-ppp-2022",)),
    Rule("settle-axis-first", RuleGroup.DECISION, msg("Propose: axis first")),
    Rule("settle-correction-first", RuleGroup.DECISION, msg("Propose: correction first")),
    Rule("settle-retest", RuleGroup.DECISION, msg("Propose: measure the fellow eye again"), ("mayer-1995",)),
    Rule("settle-wear-first", RuleGroup.DECISION, msg("Propose: wear first")),
    Rule("settle-age-rule", RuleGroup.DECISION, msg("Propose: continue by the age rule"), ("iats-patching",)),
    Rule("settle-occlusion", RuleGroup.DECISION, msg("Propose: occlusion after glasses"), ("ats5",)),
    Rule("settle-confirm", RuleGroup.DECISION, msg("Propose: confirm, then taper"), ("aao-ppp-2022", "cotter-2006")),
    Rule("settle-taper", RuleGroup.DECISION, msg("Propose: taper"), ("aao-ppp-2022", "ats2c")),
    Rule("settle-recurrence", RuleGroup.DECISION, msg("Propose: begin again after a loss"), ("ats2c",)),
    Rule("settle-refract-first", RuleGroup.DECISION, msg("Propose: refract before more hours")),
    Rule("settle-pressure-first", RuleGroup.DECISION, msg("Propose: pressure first"), ("pressure-watch",)),
    Rule("settle-step-up", RuleGroup.DECISION, msg("Propose: more hours"), ("ats15",)),
    Rule("settle-look-for-cause", RuleGroup.DECISION, msg("Propose: look for another cause"), ("ats15",)),
    Rule("settle-atropine", RuleGroup.DECISION, msg("Propose: look at both eyes under drops")),
    Rule("settle-continue", RuleGroup.DECISION, msg("Propose: continue")),
)
_PLANS = (Rule("full-time-review", RuleGroup.DOSE, msg("Full-time occlusion is seen sooner"), ("full-time-review", "ats2a", "galland-2012")),)
_DOSES = tuple(Rule(row.rule, RuleGroup.DOSE, row.title, row.publications) for row in (*ROWS, *ALTERNATIVES, *DROPS))
_MODEL = ("stewart-2007", "own-response-model", "holmes-2001", "wallace-2013", "ats3", "ats5")
_RESPONSES = (
    Rule("own-response-model", RuleGroup.RESPONSE, msg("The expected response by the own model, partly from memory"), _MODEL),
    Rule("response-so-far", RuleGroup.RESPONSE, msg("Gain so far beside what was expected"), _MODEL),
    Rule("hours-per-line", RuleGroup.RESPONSE, msg("Hours received for each 0.1 logMAR gained"), ("fronius-2009",)),
    Rule("response-pace", RuleGroup.RESPONSE, msg("A response slower than most"), _MODEL),
    Rule("response-hours-unknown", RuleGroup.RESPONSE, msg("Hours received are not known exactly")),
    Rule("response-other-test", RuleGroup.RESPONSE, msg("The error of a HOTV score, taken for another test"), ("holmes-2001", "own-response-model")),
)
_IMPLANTS = (
    Rule("aim-rule-of-seven", RuleGroup.IMPLANT, msg("Refraction aimed at: rule of 7"), ("enyedi-1998",)),
    Rule("aim-infant-trial", RuleGroup.IMPLANT, msg("Refraction aimed at: protocol of the infant trial"), ("vanderveen-2012",)),
    Rule("aim-infant-trial-hindsight", RuleGroup.IMPLANT, msg("Refraction aimed at: the infant trial in hindsight"), ("weakley-2017",)),
    Rule("aim-textbook", RuleGroup.IMPLANT, msg("Refraction aimed at: a textbook's table, from memory"), ("wilson-trivedi",)),
    Rule("secondary-lens-results", RuleGroup.IMPLANT, msg("Results of secondary lenses"), ("vanderveen-2021",)),
    Rule("rule-of-seven-results", RuleGroup.IMPLANT, msg("Results of the rule of 7"), ("sachdeva-2017",)),
    Rule("shift-in-a-series", RuleGroup.IMPLANT, msg("Shift after an implant, by age"), ("crouch-2002",)),
    Rule("implant-plausible", RuleGroup.IMPLANT, msg("A plausible power of an implant"), ("vanderveen-2021", "retzlaff-1990")),
    Rule("implant-formula", RuleGroup.IMPLANT, msg("How near the formula comes in children"), ("shuaib-2021",)),
    Rule("implant-short-eye", RuleGroup.IMPLANT, msg("An eye too short for a good prediction"), ("vanderveen-2012",)),
    Rule("implant-undercorrection", RuleGroup.IMPLANT, msg("The share left out of the power"), ("undercorrection-2018",)),
)
RULES: Mapping[str, Rule] = {rule.name: rule for rule in (*_HARM, *_LENSES, *_WEAR, *_GAIN, *_DATES, *_DECISIONS, *_DOSES, *_PLANS, *_RESPONSES, *_IMPLANTS)}
NOT_RULES = frozenset({"settle-own", "settle-none", "settle-examine-first"})  # what is said where no rule speaks


# What a publication feeds besides rules: arithmetic, and the named sets that stand side by side.
_SETS = (
    "ats1",
    "ats2a",
    "ats2b",
    "ats3",
    "ats4",
    "ats7",
    "weekend-atropine-2009",
    "two-hour-run-in",
    "wang-2021",
    "wallace-2013",
    "eupatch",
    "pedig-entry",
    "aao-ppp-2022",
)
_USES: tuple[tuple[Message, tuple[str, ...]], ...] = (
    (msg("Reading of an acuity"), ("gregori-2010", "grating-card-rule", "lange-2009", "schulze-bonsel-2006")),
    (msg("Named sets of criteria, severity and success"), _SETS),
    (msg("Asking for the vertex distance"), ("vertex-distance-rule",)),
    (msg("Tear lens of a rigid lens, and keratometry"), ("contact-lens-formula-sheet",)),
    (msg("Tolerances of made-up spectacles"), ("ansi-z80-1-2015",)),
    (msg("Tolerances of made-up contact lenses"), ("iso-18369-2-2017",)),
    (msg("Forecast of refraction"), ("iats-refraction-2021", "mcclatchey-hofmeister-2010")),
    (msg("When an operated eye is refracted"), ("weakley-2017", "liu-2019", "crouch-2002")),
    (msg("Length of the eye by age"), ("boston-length", "mutti-2018", "trivedi-wilson-2007")),
    (msg("An eye with a lens, or waiting"), ("mcclatchey-2000", "mcclatchey-parks-1997", "vanderveen-2021")),
    (msg("A second opinion on an implant's power"), ("sanders-1988",)),
    (msg("The own model beside published means"), ("awan-2005", "fronius-2009", "ats2a", "ats2b", "ats5", "ats15")),
)


def feeds(source_key: str) -> tuple[Message, ...]:
    """What a publication is used for: the titles of the rules that rest on it, and arithmetic."""
    return (*(rule.title for rule in resting_on(source_key)), *(what for what, keys in _USES if source_key in keys))


def resting_on(source_key: str) -> tuple[Rule, ...]:
    """The rules that a publication feeds."""
    return tuple(rule for rule in RULES.values() if source_key in rule.sources)
