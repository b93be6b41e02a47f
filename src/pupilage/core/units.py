"""Units of weight. Stored values are kilograms; pounds exist at the border only."""

from enum import StrEnum

from pupilage.core.errors import InvalidInput

KG_PER_LB = 0.45359237
"""Exact by definition. Source: international yard and pound agreement, 1959."""

MIN_WEIGHT_KG = 0.2
MAX_WEIGHT_KG = 120.0


class WeightUnit(StrEnum):
    KG = "kg"
    LB = "lb"


def to_kg(value: float, unit: WeightUnit) -> float:
    """Return a weight in kilograms."""
    return value * KG_PER_LB if unit is WeightUnit.LB else value


def from_kg(weight_kg: float, unit: WeightUnit) -> float:
    """Return a weight in kilograms as a number in the unit."""
    return weight_kg / KG_PER_LB if unit is WeightUnit.LB else weight_kg


def require_weight_kg(weight_kg: float, where: str = "weight_kg") -> float:
    """Return the weight. Raises InvalidInput when no dog weighs that."""
    if not MIN_WEIGHT_KG <= weight_kg <= MAX_WEIGHT_KG:  # NaN fails too
        raise InvalidInput.of(
            where,
            "{given:g} kg cannot be a dog's weight; give a number between {low:g} and {high:g} kg.",
            given=weight_kg,
            low=MIN_WEIGHT_KG,
            high=MAX_WEIGHT_KG,
        )
    return weight_kg
