"""Numbers and days that a program sends as texts are written in the digits 0 to 9."""

import pytest
from rest_framework.serializers import ValidationError

from fleet.api.fields import DayField, NumberField, WholeField


@pytest.mark.parametrize(
    ("field", "text"), [(NumberField, "12.5"), (WholeField, "12"), (DayField, "2026-05-12")]
)
def test_plain_digits_are_read_and_no_others(field, text):
    assert field().run_validation(text) is not None
    other = text.translate({ord("2"): "２"})
    with pytest.raises(ValidationError, match=f"{other} has other digits than 0 to 9"):
        field().run_validation(other)


def test_a_day_in_other_digits_is_refused_with_its_field(planner):
    answer = planner.post("/api/v1/plans/", {"as_of": "２０２４-0１-15"}, format="json")
    assert answer.status_code == 400
    assert "２０２４-0１-15 has other digits than 0 to 9." in str(answer.json())
