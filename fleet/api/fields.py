"""What a program sends for a number or a day: in the digits 0 to 9 where it sends a text.

Fields of what is sent alone; what is answered has those of the framework.
"""

from rest_framework import serializers

from fleet.exchange.numerals import tell_other_digits


class _PlainDigits(serializers.Field):
    def to_internal_value(self, data):
        if isinstance(data, str) and (told := tell_other_digits(data)):
            raise serializers.ValidationError(told)
        return super().to_internal_value(data)


class NumberField(_PlainDigits, serializers.FloatField):
    """Any number."""


class WholeField(_PlainDigits, serializers.IntegerField):
    """A whole number."""


class DayField(_PlainDigits, serializers.DateField):
    """A day."""
