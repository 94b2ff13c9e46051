"""Where the invented assemblies are made: crimping benches and lots of hose, a few of them bad."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

BENCHES_PER_SITE = 3
SITES_PER_POOR_BENCH = 4
POOR_BENCH_TIMES = 13.0
LOT_DAYS = 182.0
SITES_PER_LOT = 8  # the sites that a maker's lot of one hose reaches
LOTS_PER_BAD_LOT = 60
HOSES_MUCH_USED = 6
BAD_LOT_TIMES = 20.0
EARLY_CHANCE = 0.02
OLD_STOCK_SHARE = 0.006
OLD_STOCK_LOTS = 9


@dataclass(frozen=True, slots=True)
class Workshops:
    """Benches by site, lots by hose, half-year and group of sites, and how much more of each fails early.

    `bench_times` has one number a bench, `lot_times` one a lot: (hose, half-year, group). `began` is the day
    on which the first half-year begins.
    """

    began: float
    bench_times: np.ndarray
    lot_times: np.ndarray
    hose_of_place: np.ndarray
    site_of_machine: np.ndarray

    def build(
        self,
        positions: pd.DataFrame,
        installed: np.ndarray,
        as_delivered: np.ndarray,
        rng: np.random.Generator,
    ) -> pd.DataFrame:
        """How one assembly for each position was made: built, bench, lot and chance of an early failure."""
        size = len(positions)
        site = self.site_of_machine[positions["machine"].to_numpy()]
        shelf = np.where(rng.random(size) < 0.12, rng.integers(20, 240, size), rng.integers(0, 6, size))
        built = installed - np.where(as_delivered, 30, shelf)
        bench = BENCHES_PER_SITE * site + rng.choice(BENCHES_PER_SITE, size, p=[0.5, 0.3, 0.2])
        hose = self.hose_of_place[positions["place"].to_numpy()]
        half_years = ((built - self.began) // LOT_DAYS).astype(np.int64) - 1
        half_years -= np.where(rng.random(size) < OLD_STOCK_SHARE, OLD_STOCK_LOTS, 0)
        lot = self.lot_number(hose, np.maximum(half_years, 0), site // SITES_PER_LOT)
        times = self.bench_times[bench] + self.lot_times.ravel()[lot] - 1
        early = EARLY_CHANCE * np.where(as_delivered, 0.5, times)
        return pd.DataFrame(
            {
                "built": built,
                "bench": np.where(as_delivered, -1, bench),
                "lot": np.where(as_delivered, -1, lot),
                "early": early,
            }
        )

    def lot_number(self, hose: np.ndarray, half_year: np.ndarray, group: np.ndarray) -> np.ndarray:
        return np.ravel_multi_index((hose, half_year, group), self.lot_times.shape)

    def lot_names(self, lots: np.ndarray) -> np.ndarray:
        """Lots as they are written on the layline; empty where not known."""
        hose, half_year, group = np.unravel_index(np.maximum(lots, 0), self.lot_times.shape)
        day = (self.began + LOT_DAYS * half_year).astype("int64").astype("datetime64[D]")
        names = np.char.replace(day.astype("datetime64[M]").astype(str), "-", "")
        names = np.char.add(np.char.add(names, "-"), np.char.zfill(hose.astype(str), 2))
        if self.lot_times.shape[2] > 1:
            names = np.char.add(np.char.add(names, "-"), (group + 1).astype(str))
        return _where_known(names, lots)

    def lot_made(self, lots: np.ndarray) -> np.ndarray:
        """The day each lot was made; not a number where not known."""
        half_year = np.unravel_index(np.maximum(lots, 0), self.lot_times.shape)[1]
        return np.where(lots >= 0, np.floor(self.began + LOT_DAYS * half_year), np.nan)

    def bench_names(self, benches: np.ndarray, sites: np.ndarray) -> np.ndarray:
        """Benches by site and number; empty where not known."""
        site = sites[np.maximum(benches, 0) // BENCHES_PER_SITE].astype(str)
        number = (np.maximum(benches, 0) % BENCHES_PER_SITE + 1).astype(str)
        names = np.char.add(np.char.add(site, " bench "), number)
        return _where_known(names, benches)

    def poor_benches(self) -> np.ndarray:
        return np.flatnonzero(self.bench_times >= POOR_BENCH_TIMES)

    def bad_lots(self) -> np.ndarray:
        return np.flatnonzero(self.lot_times.ravel() >= BAD_LOT_TIMES)


def _where_known(names: np.ndarray, numbers: np.ndarray) -> np.ndarray:
    shown = names.astype(object)
    shown[numbers < 0] = None
    return shown


def make_workshops(
    sites: int,
    site_of_machine: np.ndarray,
    hose_of_place: np.ndarray,
    hose_use: np.ndarray,
    rng: np.random.Generator,
    start: float,
    until: float,
) -> Workshops:
    """Benches and lots of the fleet: at least one bench crimps poorly, and one lot in use is bad.

    `hose_use` counts the positions that take each hose: a bad lot is one of a hose much used, made between
    one and two years before the last day.
    """
    benches = BENCHES_PER_SITE * sites
    bench_times = rng.lognormal(0, 0.15, benches)
    poor_sites = rng.choice(sites, max(1, sites // SITES_PER_POOR_BENCH), replace=False)
    bench_times[BENCHES_PER_SITE * poor_sites + 1] = POOR_BENCH_TIMES
    began = np.floor(start - (OLD_STOCK_LOTS + 2) * LOT_DAYS)
    half_years = int((until - began) // LOT_DAYS) + 1
    groups = (sites - 1) // SITES_PER_LOT + 1
    lot_times = np.ones((len(hose_use), half_years, groups))
    recent = len(hose_use) * 2 * groups
    much_used = np.argsort(hose_use, kind="stable")[-HOSES_MUCH_USED:]
    for _ in range(max(1, recent // LOTS_PER_BAD_LOT)):
        lot_times[rng.choice(much_used), half_years - rng.integers(3, 5), rng.integers(groups)] = (
            BAD_LOT_TIMES
        )
    return Workshops(began, bench_times, lot_times, hose_of_place, site_of_machine)
