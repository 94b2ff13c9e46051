"""Measures as a person typed them, and as the register keeps them."""

from forecasting.units import MEASURES, stored_unit


def to_stored(value: float, measure: str, suffix: str) -> float:
    """What was typed in a unit, in the stored one: 8700 psi as 599.8 bar."""
    return MEASURES[measure][suffix].to_stored(value)


def from_stored(value: float, measure: str, suffix: str) -> float:
    """What the register keeps, in the unit that a form asks for."""
    return MEASURES[measure][suffix].from_stored(value)


def symbol_of(measure: str, suffix: str) -> str:
    """The unit as a reader knows it: bar, psi, MPa, mm, in."""
    return MEASURES[measure][suffix].symbol


def as_entered(value: float | None, measure: str, suffix: str) -> list | None:
    """What `Measured.entered` keeps of a value; None where it was typed in the stored unit, or not at all."""
    if value is None or suffix == stored_unit(measure).suffix:
        return None
    return [value, suffix]
