"""Whether an end is bent, by what catalogues write."""

import pytest

from fleet.trade.bends import is_bent


@pytest.mark.parametrize(
    ("end_style", "description", "bent"),
    [
        ("face seal female swivel", "", False),
        ("face seal female swivel 90° elbow", "", True),
        ("37° flare female swivel", "", False),  # the degrees of a seat
        ("45° flare", "", False),
        ("BSPP 60° cone, swivel", "", False),
        ("37° flare female swivel 45°", "", True),
        ("JIC", "Hose end, 67.5 deg", True),
        ("DKO-L bent tube", "", True),
        ("", "", None),
        ("", "Hose end dash 8", None),  # nobody said what it is
    ],
)
def test_an_end_is_bent_where_its_words_name_a_bend(end_style, description, bent):
    assert is_bent(end_style, description) is bent
