"""Numbers and days of forms are written in the digits 0 to 9, as in a fleet folder."""

import datetime
import re
from pathlib import Path

import pytest
from django import forms
from django.core.exceptions import ValidationError

import fleet.pages.urls  # so that every form is loaded
from fleet.pages.fields import DayField, NumberField, WholeField

OURS = (NumberField, WholeField, DayField)


@pytest.mark.parametrize(
    ("field", "text", "value"),
    [
        (NumberField, "12.5", 12.5),
        (WholeField, "12", 12),
        (DayField, "2026-05-31", datetime.date(2026, 5, 31)),
    ],
)
def test_plain_digits_are_read_and_no_others(field, text, value):
    assert field().clean(text) == value
    assert field(required=False).clean("") is None
    other = text.translate({ord("2"): "２"})
    with pytest.raises(ValidationError, match=f"{other} has other digits than 0 to 9"):
        field().clean(other)


def forms_of(base: type) -> list[type]:
    found = base.__subclasses__()
    return [one for one in found if one.__module__.startswith("fleet.pages")] + [
        further for one in found for further in forms_of(one)
    ]


def test_no_form_takes_other_digits():
    loaded = forms_of(forms.Form)
    fields = [(form, name, field) for form in loaded for name, field in form.base_fields.items()]
    numbers = [
        one for one in fields if isinstance(one[2], (forms.FloatField, forms.IntegerField, forms.DateField))
    ]
    assert len(numbers) > 20
    assert [(form, name) for form, name, field in numbers if not isinstance(field, OURS)] == []


def test_no_form_makes_a_field_that_takes_other_digits():
    """Of those that a form makes once it is asked for, no class tells."""
    made = re.compile(r"\bforms\.(?:Float|Integer|Decimal|Date|DateTime)Field\(")
    modules = sorted(Path(fleet.pages.__file__).parent.rglob("*.py"))
    assert len(modules) > 20
    assert [module.name for module in modules if made.search(module.read_text(encoding="utf-8"))] == []


@pytest.mark.parametrize("written", ["03/04/2026", "3 April 2026", "2026-13-01", "260403"])
def test_a_day_is_read_in_one_order_alone(written):
    with pytest.raises(ValidationError, match="Write the day as 2026-05-31"):
        DayField().clean(written)
