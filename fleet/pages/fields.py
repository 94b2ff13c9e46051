"""What a form takes for a number or a day: written in the digits 0 to 9, as in a fleet folder."""

from django import forms
from django.core.exceptions import ValidationError
from django.utils.translation import gettext_lazy

from fleet.exchange.numerals import tell_other_digits


class _PlainDigits(forms.Field):
    def to_python(self, value):
        if isinstance(value, str) and (told := tell_other_digits(value)):
            raise ValidationError(told)
        return super().to_python(value)


class NumberField(_PlainDigits, forms.FloatField):
    """Any number."""


class WholeField(_PlainDigits, forms.IntegerField):
    """A whole number."""


class DayField(_PlainDigits, forms.DateField):
    """A day, as 2026-05-31 alone: 03/04/2026 is one day to some and another to others."""

    input_formats = ("%Y-%m-%d",)
    default_error_messages = {"invalid": gettext_lazy("Write the day as 2026-05-31.")}
