"""Whether what a changeout puts on may be where it goes: what belongs there is not always fit for it."""

import pandas as pd

from ..wording import gettext as _
from .margins import judge_margins


def warn_of_unfit_designs(
    changeouts: pd.DataFrame, tables: dict[str, pd.DataFrame], limits: pd.DataFrame
) -> pd.DataFrame:
    """The changeouts, with a warning in `not_to_build` where their `design`, built anew, would be `short`.

    Their `reason` ends with it. `limits` is that of `policies.position_limits`. The changeout and its kit
    stand: the old hose must come off, and who corrects the design or the pressure of the position must not
    lose the stop.
    """
    built_anew = changeouts[["assembly", "machine", "position", "design"]].assign(
        built_on=pd.NaT, hose_made_on=pd.NaT
    )
    margins = judge_margins(built_anew[changeouts["design"].notna().to_numpy()], tables, limits)
    unfit = margins[margins["verdict"] == "short"].set_index("assembly")["reason"]
    form = _("Do not build %(design)s for it: %(reason)s. Choose a design that bears it first.")
    warned = changeouts[changeouts["assembly"].isin(unfit.index)]
    told = [form % {"design": row.design, "reason": unfit[row.assembly]} for row in warned.itertuples()]
    not_to_build = pd.Series(told, warned.index, changeouts["reason"].dtype).reindex(changeouts.index)
    reason = changeouts["reason"] + (" " + not_to_build).fillna("")
    return changeouts.assign(not_to_build=not_to_build, reason=reason)
