"""How close the forecasts come to the truth of a fleet folder that has it beside it.

    python -m tests.benchmarks.folder_skill FOLDER --as-of DATE [--truth FILE]

The truth (truth.csv in FOLDER or beside it) holds assembly and true_30d … true_365d: the chances to fail that
the law of the fleet gives. The folder goes the way of the service: read by `import_fleet` into an embedded
database of its own, out of it as the main job sees it. Losses are expected log losses over the four horizons;
the two simple models stand beside it on the same assemblies.
"""

import argparse
import datetime
import os
import shutil
import tempfile
from pathlib import Path

import pandas as pd

from forecasting.ahead.counts import count_failures
from forecasting.hindsight.backtest import SERVICE, forecast_on

from .laws import HORIZONS
from .skill import expected_log_loss

TRUTH = "truth.csv"


def read_tables(folder: Path) -> dict[str, pd.DataFrame]:
    """The tables of the main job as the service reads them from the folder."""
    with tempfile.TemporaryDirectory() as var:
        os.environ |= {"DEBUG": "1", "VAR_DIR": var, "DJANGO_SETTINGS_MODULE": "fleet.settings"}
        os.environ.pop("DATABASE_URL", None)
        files = Path(var, "fleet")
        shutil.copytree(folder, files, ignore=shutil.ignore_patterns(TRUTH))

        import django  # settings are read from what was just set

        django.setup()
        from django.core.management import call_command
        from django.db import connection

        from fleet.frames.register import core_tables
        from fleet.services.folders.importing import import_fleet

        call_command("migrate", verbosity=0)
        outcome = import_fleet(folder=files, organization_name="Benchmark")
        tables = core_tables(outcome.organization)
        connection.close()
    return tables


def find_truth(folder: Path) -> Path:
    """truth.csv in the folder or beside it. Raises FileNotFoundError where it is in neither place."""
    for path in (folder / TRUTH, folder.parent / TRUTH):
        if path.is_file():
            return path
    raise FileNotFoundError(f"{TRUTH} stands neither in {folder} nor beside it. Name it with --truth.")


def losses(chances: dict[str, pd.DataFrame], assemblies: pd.Series, truth: pd.DataFrame) -> pd.DataFrame:
    """One row a model: its loss, that of the truth itself, and failures expected ÷ true by horizon."""
    told = []
    names = {days: f"p_fail_{days}d" for days in HORIZONS}
    for model, of_model in chances.items():
        frame = of_model.rename(columns=names).assign(assembly=assemblies.to_numpy())
        both = truth.merge(frame, on="assembly", how="left")
        ratios = {f"e/t_{days}": both[names[days]].sum() / both[f"true_{days}d"].sum() for days in HORIZONS}
        told.append({"model": model, "loss": expected_log_loss(frame, truth), **ratios})
    known = truth.rename(columns={f"true_{days}d": name for days, name in names.items()})
    return pd.DataFrame(told).assign(loss_of_truth=expected_log_loss(known, truth))


def main() -> None:
    asked = argparse.ArgumentParser(description="Skill of the forecasts on a fleet folder with its truth.")
    asked.add_argument("folder", type=Path)
    asked.add_argument("--as-of", type=datetime.date.fromisoformat, required=True, metavar="DATE")
    asked.add_argument("--truth", type=Path, metavar="FILE")
    given = asked.parse_args()
    truth = pd.read_csv(given.truth or find_truth(given.folder), dtype={"assembly": str})
    tables = read_tables(given.folder)
    from fleet.services.plans.replanning import same_chance  # behind the settings that `read_tables` made

    said = forecast_on(tables, given.as_of, same_chance())
    made = losses(said.chances, said.assemblies, truth)
    loss = made.set_index("model")["loss"]
    print(made.round(5).to_string(index=False))
    gained = loss["one_life_table"] - loss[SERVICE]
    print(f"Gained over one_life_table: {gained:.5f} ({gained / loss['one_life_table']:.1%}).")
    counted = count_failures(said.forecaster, HORIZONS, {"all": said.swing})
    for row in counted[counted["scope"] == "all"].itertuples():
        true = truth[f"true_{row.horizon_days}d"].sum()
        print(
            f"Within {row.horizon_days} days: {row.expected:.1f} expected, {true:.1f} in truth; "
            f"80 % interval {row.low_80} to {row.high_80}."
        )


if __name__ == "__main__":
    main()
