import pandas as pd
import pytest

from fleet.trade.ratings import load_ratings
from forecasting.designs.constructions import normal_construction
from forecasting.units import BAR_PER_PSI


@pytest.fixture(scope="module")
def ratings():
    return load_ratings()


def rated_bar(ratings, construction, dash, edition="current"):
    row = (ratings["construction"] == construction) & (ratings["dash"] == dash)
    return ratings.loc[row & (ratings["edition"] == edition), "rated_pressure_bar"].item()


def test_constructions_stand_in_their_normal_spelling(ratings):
    assert normal_construction(ratings["construction"]).tolist() == ratings["construction"].tolist()


def test_every_row_says_where_it_is_from(ratings):
    assert set(ratings["mark"]) == {"found", "memory"}
    from_memory = ratings["source"].str.contains("from memory")
    assert (from_memory == (ratings["mark"] == "memory")).all()


def test_a_row_with_anything_from_memory_is_not_marked_found(ratings):
    has_bend = ratings["minimum_bend_radius_mm"].notna()
    assert (ratings.loc[has_bend, "mark"] == "memory").all()


@pytest.mark.parametrize(
    ("construction", "dash", "psi"),
    # The ends of the ranges that trade pages agree on: common practice, no source.
    [("100R1", 4, 3250), ("100R1", 32, 575), ("100R2", 32, 1150), ("100R4", 12, 300)],
)
def test_the_ends_of_the_tables_agree_with_the_trade(ratings, construction, dash, psi):
    # Catalogues round psi, so bar and psi agree to 2 %.
    assert rated_bar(ratings, construction, dash) == pytest.approx(psi * BAR_PER_PSI, rel=0.02)


def test_three_eighths_two_braid_hose_went_from_4000_to_4800_psi(ratings):
    # SAE J517 before and after 2006, from memory
    assert rated_bar(ratings, "100R2", 6, "before 2006") == pytest.approx(4000 * BAR_PER_PSI, rel=0.01)
    assert rated_bar(ratings, "100R2", 6) == pytest.approx(4800 * BAR_PER_PSI, rel=0.01)


def test_an_older_edition_never_carries_more(ratings):
    newest = ratings[ratings["edition"] == "current"].set_index(["construction", "dash"])
    older = ratings[ratings["edition"] != "current"].set_index(["construction", "dash"])
    assert len(older) > 0
    assert (older["rated_pressure_bar"] <= newest["rated_pressure_bar"].reindex(older.index)).all()


def test_a_larger_hose_of_a_construction_never_carries_more(ratings):
    steps = ratings.sort_values("dash").groupby(["construction", "edition"])["rated_pressure_bar"].diff()
    assert not (steps > 0).any()


def test_an_iso_18752_class_carries_its_name_in_every_size(ratings):
    # ISO 18752: one maximum working pressure for all sizes of a class
    classes = ratings[ratings["construction"].str.startswith("ISO 18752")]
    assert classes["construction"].nunique() == 10
    named = pd.to_numeric(classes["construction"].str.removeprefix("ISO 18752 "))
    assert (named == classes["rated_pressure_bar"]).all()


def test_a_european_hose_of_the_same_build_carries_the_same(ratings):
    for american, european in (("100R1", "EN 853 1SN"), ("100R2", "EN 853 2SN"), ("100R12", "EN 856 R12")):
        for dash in (6, 8, 12, 16):
            assert rated_bar(ratings, american, dash) == rated_bar(ratings, european, dash)
