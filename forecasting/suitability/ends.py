"""Which ends of the catalogue join what an assembly's own ends join, at either end of it.

Diameter, pitch and seat must agree: threads alone have look-alikes that do not seal (common practice, no
source). So an end joins where the seat (end_style), the thread and the size on the other side are those of
the end that belongs there, and where none of these is on record nothing but that very end is known to.
"""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from ..designs.bills import END_A, END_B
from ..designs.findings import Finding, weigh_findings
from ..tables import make_table, table, text
from ..wording import gettext as _

VERDICTS = ("unfit", "not_judged", "remark")  # gravest first
IN_ORDER = ("fits", "not_judged", "unfit")
COMPARED = ("end_style", "thread", "size", "material")

ENDS_JUDGED = table(
    "ends_judged",
    "one row per end of the catalogue and place of the assembly",
    ("place", "part"),
    text("place", "a or b", may_be_empty=False),
    text("part", may_be_empty=False),
    text("verdict", "fits, not_judged, unfit", may_be_empty=False),
    text("reason"),
)


def judge_ends(own: dict[str, str], tables: dict[str, pd.DataFrame]) -> pd.DataFrame:
    """ENDS_JUDGED: every end of the catalogue against the own one at a and at b; those that join first.

    `own` names the parts that belong there by role (end_a_part, end_b_part). What an end carries is judged
    with the hose it is crimped to.
    """
    parts = tables["parts"]
    parts = parts.assign(
        size=parts["connection_dash"].fillna(parts["dash"]),
        **{
            name: parts[name].str.replace(r"\s+", " ", regex=True).str.strip().str.lower()
            for name in ("end_style", "thread")
        },
        gone=parts["obsolete"].fillna(False).astype(bool),
    )
    by_part = parts.set_index("part")
    ends = parts.loc[parts["kind"] == "hose_end", ["part", *COMPARED, "gone"]]
    judged = []
    for place, role in ((END_A, "end_a_part"), (END_B, "end_b_part")):
        cases = ends.assign(place=place, own_part=own[role])
        for name in COMPARED:
            value = by_part[name].get(own[role])
            cases[f"own_{name}"] = pd.Series(value, index=cases.index, dtype=cases[name].dtype)
        cases["verdict"], cases["reason"] = weigh_findings(cases, _findings(cases), VERDICTS, "fits")
        judged.append(cases)
    ends = pd.concat(judged, ignore_index=True)
    order = np.lexsort((ends["part"].to_numpy(str), ends["verdict"].map(IN_ORDER.index), ends["place"]))
    return make_table(ends.iloc[order], ENDS_JUDGED)


def _findings(cases: pd.DataFrame) -> Iterator[Finding]:
    other = cases["part"] != cases["own_part"]
    yield "not_judged", other & cases["own_end_style"].isna(), _("the seat of %(own_part)s is not on record")
    for name, unknown, differs in (
        (
            "end_style",
            _("its seat is not on record"),
            _("%(end_style)s, not %(own_end_style)s as %(own_part)s"),
        ),
        (
            "thread",
            _("its thread is not on record"),
            _("its thread is %(thread)s, that of %(own_part)s %(own_thread)s"),
        ),
        (
            "size",
            _("its size is not on record"),
            _("it joins size -%(size)s, %(own_part)s size -%(own_size)s"),
        ),
    ):
        asked = other & cases[f"own_{name}"].notna()
        yield "not_judged", asked & cases[name].isna(), unknown
        yield "unfit", asked & cases[name].notna() & (cases[name] != cases[f"own_{name}"]), differs
    asked = other & cases["own_material"].notna()
    yield (
        "not_judged",
        asked & ~(cases["material"] == cases["own_material"]).fillna(False).astype(bool),
        _("whether it is of %(own_material)s as %(own_part)s is not on record"),
    )
    yield "unfit", other & cases["gone"], _("it is no longer made")
