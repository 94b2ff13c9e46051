"""The standards' tables of what a hose of a construction, edition and size may carry.

`ratings.csv` says row by row where each value is from. A row is marked `found` only where every value in it
was read somewhere; nearly all are from memory, and such a row may fail a hose but never pass one.
"""

from functools import cache
from pathlib import Path

import pandas as pd

from forecasting.inputs import RATINGS
from forecasting.tables import make_table

RATINGS_FILE = Path(__file__).with_name("ratings.csv")


def load_ratings() -> pd.DataFrame:
    """The tabulated ratings, one row per construction, edition and dash, as `RATINGS` declares them.

    Constructions stand as `normal_construction` in `forecasting.designs` writes them; an ISO 18752 class
    without its type, since all types of a class carry the same.
    """
    return _read_ratings().copy(deep=False)  # what one caller writes to it no other sees


@cache
def _read_ratings() -> pd.DataFrame:
    return make_table(pd.read_csv(RATINGS_FILE), RATINGS)
