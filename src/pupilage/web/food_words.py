"""Words for food: methods, labels, body condition, whoever said what a pup will weigh."""

from django.utils.translation import gettext_lazy as _

from pupilage.core.care.food.energy import EnergyMethod
from pupilage.core.care.food.label import LabelUnit
from pupilage.core.care.food.pup import AdultWeightSource

METHOD_WORDS = {
    EnergyMethod.RESTING_BY_AGE: _("Resting need, by age"),
    EnergyMethod.LINEAR_BY_AGE: _("Resting need, straight line"),
    EnergyMethod.GROWTH_CURVE: _("Growth equation of 2006"),
    EnergyMethod.GROWTH_BANDS: _("Growth bands"),
    EnergyMethod.LARGE_BREED: _("Large breeds"),
    EnergyMethod.UNCONFIRMED_LINEAR: _("Newer line, not confirmed"),
}

UNIT_WORDS = {
    LabelUnit.KCAL_PER_100G: _("kcal per 100 g"),
    LabelUnit.KCAL_PER_KG: _("kcal per kg"),
    LabelUnit.KJ_PER_100G: _("kJ per 100 g"),
    LabelUnit.ANALYSIS: _("no energy there: from the analysis"),
}

ADULT_FROM_WORDS = {
    AdultWeightSource.UNKNOWN: _("not said"),
    AdultWeightSource.PARENTS: _("its parents"),
    AdultWeightSource.BREED: _("its breed"),
    AdultWeightSource.VETERINARIAN: _("the veterinarian"),
    AdultWeightSource.GUESS: _("a guess"),
}

CONDITION_WORDS = {
    1: _("1: ribs, backbone and hips stand out, no fat at all"),
    2: _("2: ribs and backbone easily seen"),
    3: _("3: ribs felt without any cover, deep waist"),
    4: _("4: ribs easily felt, waist seen from above"),
    5: _("5: ribs felt under a thin cover, belly tucked up"),
    6: _("6: ribs felt under some fat, waist hardly seen"),
    7: _("7: ribs hard to feel, no waist"),
    8: _("8: ribs felt only with pressure, fat at the tail"),
    9: _("9: thick fat on chest, back and tail"),
}
"""In words of our own; 4 and 5 are ideal."""
