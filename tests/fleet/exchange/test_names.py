"""The nearest right name."""

from fleet.exchange.names import Names


def test_case_blanks_and_punctuation_are_mistyped_most():
    assert Names(["EX-01", "EX-10"]).nearest("ex 01") == "EX-01"


def test_a_slip_is_found_among_a_hundred_thousand():
    names = Names(f"A{number:06}" for number in range(100_000))
    assert names.nearest("A05432") == "A005432"
    assert names.nearest("AA054321") == "A054321"
    assert names.nearest("B054321") == "A054321"
    assert names.nearest("A0x54321") == "A054321"


def test_what_is_like_nothing_is_told_what_there_is():
    assert Names(["bar", "psi"]).suggest("furlong", "the units") == "Enter one of the units: bar, psi."
    assert Names([]).suggest("EX-01", "machines") == "There are none yet: enter machines first."
    assert Names(map(str, range(90))).suggest("EX", "the machines") == "Enter one of the machines."
