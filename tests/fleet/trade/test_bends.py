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
        ("90-degree swivel", "", True),
        ("JIC swivel 90º", "", True),  # an ordinal sign
        ("JIC swivel 90˚", "", True),  # a ring
        ("JIC swivel 90", "", True),
        ("JIC swivel", "Hose end dash 8, FJX90", True),
        ("angled swivel", "", True),
        ("45-degree flare", "", False),
        ("45º flare", "", False),
        ("60 cone", "", False),
        ("DKO-S M30x2", "", False),  # a thread
        ("flange DN 30", "", None),
        ("SAE 45", "", None),  # its seat or its bend
        ("BSPP 60", "", None),
        ("90 JIC swivel", "", None),
        ("", "", None),
        ("", "Hose end dash 8", None),  # nobody said what it is
    ],
)
def test_an_end_is_bent_where_its_words_name_a_bend(end_style, description, bent):
    assert is_bent(end_style, description) is bent
