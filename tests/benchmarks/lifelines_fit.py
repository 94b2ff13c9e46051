"""Times lifelines' Weibull accelerated failure time regression, with late entry, on numbers in a folder.

    PYTHON lifelines_fit.py FOLDER

Runs under a Python of its own, since lifelines needs an older pandas than the service. FOLDER holds
entry.npy, exit.npy, event.npy and columns.npy (one row a life); what is printed is one line of JSON.
"""

import json
import sys
import time
from pathlib import Path

import numpy as np
import pandas as pd
from lifelines import WeibullAFTFitter


def main(folder: Path) -> None:
    columns = np.load(folder / "columns.npy")
    rows = pd.DataFrame(columns, columns=[f"x{place}" for place in range(columns.shape[1])])
    for name in ("entry", "exit", "event"):
        rows[name] = np.load(folder / f"{name}.npy")
    began = time.process_time()
    fitter = WeibullAFTFitter()
    fitter.fit(rows, duration_col="exit", event_col="event", entry_col="entry")
    took = time.process_time() - began
    print(json.dumps({"fit_seconds": took, "log_likelihood": float(fitter.log_likelihood_)}))


if __name__ == "__main__":
    main(Path(sys.argv[1]))
