"""Numbers stand in the reader's unit, rounded to what is known, and say so where nothing is."""

import datetime

import pytest

from fleet.templatetags import measures, trade_words
from forecasting.policies import Settings
from forecasting.supply.wording import amount as advised
from forecasting.units import tell_measure

METRIC = Settings()
INCH = Settings(pressure_unit="psi", length_unit="in", temperature_unit="f", currency="USD")


def plain(text: str) -> str:
    return text.replace("\N{NO-BREAK SPACE}", " ")


def test_a_pressure_stands_in_the_organizations_unit():
    assert plain(measures.pressure(275, METRIC)) == "275 bar"
    assert plain(measures.pressure(275, INCH)) == "3,989 psi"


def test_a_length_stands_as_a_tape_or_a_caliper_tells_it():
    assert plain(measures.tape(901.7, METRIC)) == "902 mm"
    assert plain(measures.tape(901.7, INCH)) == "35.5 in"
    assert plain(measures.caliper(21.1836, INCH)) == "0.834 in"


@pytest.mark.parametrize(
    ("mm", "metric", "inch"),
    [
        (920, "920 mm", "36 1/4 in"),  # 36.22 in
        (812.8, "813 mm", "32 in"),
        (4.7625, "5 mm", "3/16 in"),
        (25.0, "25 mm", "1 in"),
        (None, "not known", "not known"),
    ],
)
def test_a_cut_stands_to_the_millimetre_or_the_sixteenth_of_an_inch(mm, metric, inch):
    assert (plain(measures.ruler(mm, METRIC)), plain(measures.ruler(mm, INCH))) == (metric, inch)


def test_how_far_a_cut_may_be_off_stands_as_the_standard_has_it():
    assert [plain(measures.play(mm, INCH)) for mm in (3.175, 9.525, 20)] == ["1/8 in", "3/8 in", "0.79 in"]
    assert [plain(measures.play(mm, METRIC)) for mm in (4.7625, 20, None)] == [
        "4.76 mm",
        "20 mm",
        "not known",
    ]
    assert [plain(measures.play(mm, METRIC)) for mm in (6.35, 3.175)] == ["6.35 mm", "3.18 mm"]


def test_a_temperature_below_freezing_keeps_its_sign():
    assert plain(measures.temperature(-40, INCH)) == "−40 °F"


@pytest.mark.parametrize(
    ("stored", "column", "units", "told"),
    [
        (275.79, "rated_pressure_bar", METRIC, "275.8 bar"),
        (250.0, "rated_pressure_bar", METRIC, "250 bar"),
        (275.79, "rated_pressure_bar", Settings(pressure_unit="mpa"), "27.58 MPa"),
        (275.79, "rated_pressure_bar", INCH, "4,000 psi"),
        (-40.0, "minimum_temperature_c", METRIC, "−40 °C"),
        (121.0, "maximum_temperature_c", INCH, "249.8 °F"),
    ],
)
def test_a_page_tells_a_measure_as_a_reason_does(stored, column, units, told):
    on_page = measures.pressure if "pressure" in column else measures.temperature
    assert plain(on_page(stored, units)) == tell_measure(stored, column, units) == told


@pytest.mark.parametrize("metres", [40.0, 12.54, 3.125, 0.8128])
def test_a_page_tells_hose_as_the_advice_does(metres):
    assert plain(measures.amount(metres, "metre", METRIC)) == advised(metres, "metre")


def test_nothing_is_less_than_nothing():
    assert measures.percent(-0.3) == "0\N{NO-BREAK SPACE}%"
    assert measures.percent(-0.6) == "−1\N{NO-BREAK SPACE}%"


def test_hose_is_counted_in_metres_or_feet_and_other_parts_by_number():
    assert plain(measures.amount(12.5, "metre", METRIC)) == "12.5 m"
    assert plain(measures.amount(30.48, "metre", INCH)) == "100 ft"
    assert plain(measures.amount(4.0, "each", INCH)) == "4"


@pytest.mark.parametrize(
    ("chance", "text"),
    [
        (0.12345, "12 %"),
        (0.0042, "0.4 %"),
        (0.0001, "under 0.1 %"),
        (0.9999, "over 99 %"),
        (None, "not known"),
    ],
)
def test_a_chance_is_rounded_to_what_a_forecast_can_tell(chance, text):
    assert plain(measures.chance(chance)) == text


def test_a_chance_with_its_interval_reads_as_a_sentence():
    assert plain(measures.chance_between(0.12, 0.07, 0.19)) == "about 12 % (7–19 %)"


def test_the_range_of_a_sum_is_one_figure_where_its_ends_are_alike_and_reads_below_zero():
    told = [(3_700.2, 4_600), (1_000, 1_000.4), (99.6, 100), (-300, 9_000)]
    assert [plain(measures.money_between(low, high, METRIC)) for low, high in told] == [
        "3,700–4,600 EUR",
        "1,000 EUR",
        "100 EUR",
        "\N{MINUS SIGN}300 to 9,000 EUR",
    ]


def test_money_stands_with_its_currency():
    assert plain(measures.money(1234.5, INCH)) == "1,234 USD"
    assert plain(measures.money(3.75, METRIC)) == "3.75 EUR"


@pytest.mark.parametrize(
    ("days", "text"), [(1, "1 day"), (41.6, "42 days"), (420, "14 months"), (1461, "4 years")]
)
def test_a_span_stands_in_the_largest_unit_that_still_tells_it(days, text):
    assert measures.span(days) == text


def test_a_day_has_its_month_in_letters():
    assert measures.day(datetime.date(2026, 5, 4)) == '<time datetime="2026-05-04">4 May 2026</time>'


@pytest.mark.parametrize(
    "shown",
    [
        measures.pressure(None, METRIC),
        measures.amount(None, "metre", METRIC),
        measures.money(None, METRIC),
        measures.chance_between(None, None, None),
        measures.hours(None),
        measures.minutes(None),
        measures.day(None),
        measures.span(None),
        measures.known(""),
        measures.dash(None),
        measures.yes_no(None),
        trade_words.words("", "removal_cause"),
    ],
)
def test_what_is_not_known_says_so(shown):
    assert str(shown) == "not known"


def test_every_code_of_the_register_has_words():
    from fleet.models import PartKind, ReadingState, RemovalCause, RunState

    for vocabulary, codes in {
        "removal_cause": RemovalCause.values,
        "kind": PartKind.values,
        "state": {*RunState.values, *ReadingState.values},
    }.items():
        assert set(codes) <= set(trade_words.WORDS[vocabulary])


def test_a_factor_is_told_in_words():
    assert trade_words.factor_words(2.13) == "raises it 2.1 times"
    assert trade_words.factor_words(0.6) == "lowers it to 60 %"
    assert trade_words.factor_words(1.01) == "changes little"


def test_a_demand_past_the_rating_reaches_past_its_tick():
    strip = trade_words.margin_strip(200, 240)
    assert 'width="57.6"' in strip and "M48 " in strip


def test_the_temperatures_of_a_part_say_only_what_is_known():
    told = [(-40, 100), (None, 100), (-40, None), (None, None)]
    assert [plain(measures.temperature_between(*ends, METRIC)) for ends in told] == [
        "−40 °C to 100 °C",
        "up to 100 °C",
        "from −40 °C",
        "not known",
    ]


def test_a_range_names_its_unit_once_and_is_one_figure_where_both_ends_are_alike():
    assert plain(measures.amount_between(2, 6, "metre", METRIC)) == "2–6 m"
    assert plain(measures.amount_between(1, 1, "each", METRIC)) == "1"


def test_a_measure_that_may_be_as_far_off_either_way_says_so_once():
    assert measures.either_way("0.13 mm", "0.13 mm") == "±0.13 mm"
    assert measures.either_way("12 mm", "4 mm") == "+12 mm −4 mm"


def test_the_figures_of_a_column_have_as_many_decimals():
    assert [measures.aligned(value) for value in (4.24, 6, None)] == ["4.2", "6.0", "not known"]
    assert [plain(measures.whole_money(value, METRIC)) for value in (86.7, 173.2, 0.4)] == [
        "87 EUR",
        "173 EUR",
        "0.40 EUR",
    ]


def test_no_line_ends_between_a_figure_and_its_unit():
    told = measures.unbroken("moving 5.4 m saves 2,918 EUR at a level of 95 %; 4 of 5 m are 3 months old")
    assert told == "moving 5.4\xa0m saves 2,918\xa0EUR at a level of 95\xa0%; 4 of 5\xa0m are 3 months old"
    told = measures.unbroken("size 6 in stock; bent to 2 in, under the 3.94 in of a hose; 5 in all, 7 in")
    assert told == "size 6 in stock; bent to 2\xa0in, under the 3.94\xa0in of a hose; 5 in all, 7\xa0in"


def test_no_line_ends_within_a_key():
    told = measures.unbroken("rating of H-100R2-08 & more, on EX-01; high-pressure, 2-wire, 2026-10-31")
    keys = [f'<span class="nowrap">{key}</span>' for key in ("H-100R2-08", "EX-01")]
    assert told == f"rating of {keys[0]} &amp; more, on {keys[1]}; high-pressure, 2-wire, 2026-10-31"


def test_chances_of_one_size_have_as_many_decimals():
    assert measures.chance_range(0.0023, 0.0196) == "0.2–2 %".replace(" ", "\xa0")
    assert measures.chance_range(0.0023, 0.0194) == "0.2–1.9 %".replace(" ", "\xa0")


def test_a_description_that_says_what_kind_of_part_it_is_stands_alone():
    assert trade_words.described("hose", "Hose 100R1 dash 4") == "Hose 100R1 dash 4"
    assert trade_words.described("end", "37° flare") == "end: 37° flare"
    assert trade_words.described("ferrule", None) == "ferrule"
