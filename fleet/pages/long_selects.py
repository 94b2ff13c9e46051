"""The field of a form in which one of many is chosen, such as the sites of a large fleet."""

from django import forms
from django.forms.utils import flatatt
from django.utils.html import format_html

from fleet.templatetags.choices import options


class LongSelect(forms.Select):
    """A select whose options, all of them values with their labels, are written in one piece."""

    def render(self, name, value, attrs=None, renderer=None):
        held = self.build_attrs({"name": name} | self.attrs, attrs)
        return format_html("<select{}>{}</select>", flatatt(held), options(self.choices, value))
