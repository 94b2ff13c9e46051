"""Fields in which one of many is chosen."""

from django import forms
from django.test.html import parse_html

from fleet.pages.long_selects import LongSelect
from fleet.templatetags.choices import options

SITES = [("north", "north – The <North> yard"), ('"south"', '"south"')]


def test_options_stand_in_their_order_with_the_chosen_one_selected_and_nothing_taken_for_markup():
    assert options(SITES, '"south"') == (
        '<option value="north">north – The &lt;North&gt; yard</option>'
        '<option value="&quot;south&quot;" selected>&quot;south&quot;</option>'
    )
    assert "selected" not in options(SITES)


def test_a_long_select_is_the_field_that_a_select_is():
    class Form(forms.Form):
        usual = forms.ChoiceField(choices=SITES)
        site = forms.ChoiceField(choices=SITES, widget=LongSelect)

    form = Form({"usual": "north", "site": "north"})
    usual, long = str(form["usual"]), str(form["site"])
    assert parse_html(usual.replace("usual", "site")) == parse_html(long)  # in any order of attributes
    assert form.is_valid()
    assert not Form({"usual": "north", "site": "west"}).is_valid()
