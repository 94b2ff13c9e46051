"""Whether what a changeout puts on may be where it goes: what belongs there is not always fit for it."""

import pandas as pd

from ..wording import gettext as _
from .margins import judge_margins


def warn_of_unfit_designs(
    changeouts: pd.DataFrame, tables: dict[str, pd.DataFrame], limits: pd.DataFrame
) -> pd.DataFrame:
    """The changeouts, with a warning in `reason` where their `design`, built anew, would be `short` there.

    `limits` is that of `policies.position_limits`. The changeout and its kit stand: the old hose must come
    off, and who corrects the design or the pressure of the position must not lose the stop.
    """
    built_anew = changeouts[["assembly", "machine", "position", "design"]].assign(
        built_on=pd.NaT, hose_made_on=pd.NaT
    )
    margins = judge_margins(built_anew[changeouts["design"].notna().to_numpy()], tables, limits)
    unfit = margins[margins["verdict"] == "short"].set_index("assembly")["reason"]
    warned = changeouts["assembly"].isin(unfit.index).to_numpy()
    reason = changeouts["reason"].to_numpy(object).copy()
    form = _("Do not build %(design)s for it: %(reason)s. Choose a design that bears it first.")
    reason[warned] += [
        " " + form % {"design": row.design, "reason": unfit[row.assembly]}
        for row in changeouts[warned].itertuples()
    ]
    return changeouts.assign(reason=pd.array(reason, dtype=changeouts["reason"].dtype))
