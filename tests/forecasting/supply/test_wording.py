"""How stock advice tells quantities."""

import pytest

from forecasting.supply.wording import amount, amounts_apart


@pytest.mark.parametrize(
    ("quantity", "unit", "fine", "told"),
    [
        (40.0, "metre", False, "40 m"),
        (1240.25, "metre", False, "1,240.2 m"),
        (0.8128, "metre", False, "0.81 m"),
        (12.346, "metre", True, "12.35 m"),
        (4.0, "each", False, "4"),
        (0.3, "each", True, "0.3"),
    ],
)
def test_a_quantity_bears_no_more_digits_than_it_is_known_by(quantity, unit, fine, told):
    assert amount(quantity, unit, fine=fine) == told


def test_two_quantities_that_differ_never_read_alike():
    assert amounts_apart(39.97, 40.0, "metre") == ["39.97 m", "40 m"]
    assert amounts_apart(39.5, 40.0, "metre") == ["39.5 m", "40 m"]
    assert amounts_apart(40.0, 40.0, "metre") == ["40 m", "40 m"]
    assert amounts_apart(3, 4, "each") == ["3", "4"]
