"""What a form takes for a number or a day: written in the digits 0 to 9, as in a fleet folder."""

from django import forms
from django.core.exceptions import ValidationError

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
    """A day."""
