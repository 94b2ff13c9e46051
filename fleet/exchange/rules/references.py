"""What a row names must be there."""

import numpy as np
import pandas as pd

from forecasting.wording import gettext as _

from ..columns import File, Reference
from ..findings import Findings, Severity
from ..merging import Fleet
from ..names import Names
from ..schema import FILES, FILES_BY_NAME
from .places import Place, report


def check_references(fleet: Fleet, findings: Findings) -> None:
    """Errors for keys that no row has. A file that could not be read is not asked for keys."""
    for file in FILES:
        if file.name in fleet.folder.sheets:
            for reference in file.references:
                if reference.file not in fleet.folder.unread:
                    _check(file, reference, fleet, findings)


def _check(file: File, reference: Reference, fleet: Fleet, findings: Findings) -> None:
    rows = fleet[file.name]
    rows = rows[rows["file_line"] > 0].dropna(subset=list(reference.columns))
    target = fleet[reference.file]
    key = FILES_BY_NAME[reference.file].key
    *wider, last = reference.columns
    if wider:  # a row whose machine is not known is told so once, not again for its position
        rows = rows[_known(rows[wider], target[list(key[:-1])].drop_duplicates())]
    unknown = rows[~_known(rows[list(reference.columns)], target[list(key)])]
    if unknown.empty:
        return
    if wider:
        named = target.groupby(key[0])[key[-1]].agg(list)
        names_of = {one: Names(named[one]) for one in unknown[wider[0]].unique()}

        def tell(row) -> tuple[str, str]:
            machine, name = getattr(row, wider[0]), getattr(row, last)
            right = names_of[machine].suggest(name, _where(reference, fleet, machine))
            return _("%(machine)s has no %(key)s %(name)s.") % {
                "machine": machine,
                "key": key[-1],
                "name": name,
            }, right
    else:
        names = Names(target[key[0]])

        def tell(row) -> tuple[str, str]:
            name = getattr(row, last)
            wrong = _("%(name)s is not in %(file)s.") % {"name": name, "file": reference.file}
            return wrong, names.suggest(name, _where(reference, fleet))

    report(
        findings, fleet, Severity.ERROR, "unknown key", unknown, [Place(file.name, "file_line", last)], tell
    )


def _where(reference: Reference, fleet: Fleet, machine: str = "") -> str:
    """Where the right keys stand: in the file that was sent, or in the register where none was."""
    if reference.file in fleet.folder.sheets:
        told = _("those of %(machine)s in %(file)s.csv") if machine else _("those in %(file)s.csv")
    else:
        told = _("the register's %(file)s of %(machine)s") if machine else _("the register's %(file)s")
    return told % {"file": reference.file, "machine": machine}


def _known(rows: pd.DataFrame, keys: pd.DataFrame) -> np.ndarray:
    """Which rows are among `keys`, column by column."""
    if rows.shape[1] == 1:
        return rows.iloc[:, 0].isin(keys.iloc[:, 0]).to_numpy()
    names = list(keys.columns)
    found = rows.set_axis(names, axis=1).merge(keys.assign(found=True), how="left", on=names)["found"]
    return found.notna().to_numpy()
