"""How much of a part a form asks for and tells: by number, or hose in metres or feet."""

from dataclasses import dataclass
from typing import Any

from django import forms

from fleet.models import Part
from fleet.services.stock.shelves import counted_in, unit_of
from fleet.templatetags.measures import amount

from .fields import DayField

KEY_LENGTH = 80  # of a lot, a piece or an order in the register


@dataclass(frozen=True, slots=True)
class Amount:
    """How much of `part`, in the unit that the organization's settings `units` ask for."""

    part: Part
    units: Any

    @property
    def counted_in(self) -> str:
        return counted_in(self.part)

    @property
    def unit(self) -> str:
        """The unit beside the field of a form: m, ft, or nothing where parts are counted."""
        unit = unit_of(self.counted_in, self.units)
        return unit.symbol if unit else ""

    def stored(self, entered: float, began: float | None = None) -> float:
        """What was entered as the register keeps it; exactly `began` where the field was left as it began."""
        if began is not None and entered == self.shown(began):
            return began
        unit = unit_of(self.counted_in, self.units)
        return unit.to_stored(entered) if unit else entered

    def shown(self, stored: float) -> float:
        """What the register keeps as a field shows it, without the digits that only the conversion made."""
        unit = unit_of(self.counted_in, self.units)
        shown = round(unit.from_stored(stored), 3) if unit and unit.suffix else stored
        return int(shown) if shown == int(shown) else shown

    def told(self, stored: float) -> str:
        """What the register keeps as a sentence tells it: 4, 12.5 m, 41 ft."""
        return amount(stored, self.counted_in, self.units)


class KeptText(forms.CharField):
    """A key or a name as the register keeps it."""

    def __init__(self, **given) -> None:
        super().__init__(max_length=KEY_LENGTH, **given)


def day_field(label) -> forms.DateField:
    """A day that may be left empty, picked or written as 2026-05-31."""
    picked = forms.DateInput(format="%Y-%m-%d", attrs={"type": "date"})
    return DayField(label=label, required=False, widget=picked)
