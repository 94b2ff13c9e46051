"""Parts: what each is, what its standard rates it at, what takes its place."""

import pandas as pd

from forecasting.designs.constructions import normal_construction
from forecasting.wording import gettext as _

from ..findings import Findings, Severity
from ..merging import Fleet
from ..numerals import rounded, shortest
from .designs import KIND_NAMES
from .places import Place, report

# A pressure in the wrong unit is off by 10 or 14.5; editions of one standard differ by less than 2.
UNLIKELY_TIMES = 3.0


def check_parts(fleet: Fleet, ratings: pd.DataFrame, findings: Findings) -> None:
    """Errors for parts that contradict themselves; warnings for ratings far from their standard's."""
    parts = fleet["parts"]
    report(
        findings,
        fleet,
        Severity.ERROR,
        "hose by the piece",
        parts[(parts["kind"] == "bulk_hose") & (parts["unit"] == "each")],
        [Place("parts", "file_line", "unit")],
        lambda row: (
            _("%(part)s is bulk hose, which is counted in metres.") % {"part": row.part},
            _("Enter metre."),
        ),
    )
    report(
        findings,
        fleet,
        Severity.ERROR,
        "temperatures crossed",
        parts[parts["minimum_temperature_c"] > parts["maximum_temperature_c"]],
        [Place("parts", "file_line", "minimum_temperature_c")],
        lambda row: (
            _(
                "The lowest temperature of %(part)s, %(minimum_temperature_c)s °C, is "
                "above its highest, %(maximum_temperature_c)s °C."
            )
            % {
                "part": row.part,
                "minimum_temperature_c": rounded(row.minimum_temperature_c),
                "maximum_temperature_c": rounded(row.maximum_temperature_c),
            },
            _("Mend the one that is wrong."),
        ),
    )
    _check_successors(fleet, findings)
    for file, column in (("stock", "on_hand"), ("open_orders", "quantity")):
        _check_counted(file, column, fleet, findings)
    _check_ratings(fleet, ratings, findings)


def _check_successors(fleet: Fleet, findings: Findings) -> None:
    """A chain of successors must end at a part that can be bought."""
    parts = fleet["parts"]
    kinds = parts.set_index("part")["kind"]
    rows = parts.assign(successor_kind=parts["superseded_by"].map(kinds))
    report(
        findings,
        fleet,
        Severity.WARNING,
        "successor of another kind",
        rows[rows["successor_kind"].notna() & (rows["successor_kind"] != rows["kind"])],
        [Place("parts", "file_line", "superseded_by")],
        lambda row: (
            _(
                "%(part)s is %(kind)s, and %(successor)s, which is to take its place, is %(successor_kind)s: "
                "it stands in for nothing."
            )
            % {
                "part": row.part,
                "kind": _(KIND_NAMES[row.kind]),
                "successor": row.superseded_by,
                "successor_kind": _(KIND_NAMES[row.successor_kind]),
            },
            _("Name a part of the same kind, or mend the kind."),
        ),
    )
    after = parts.dropna(subset=["superseded_by"]).set_index("part")["superseded_by"]
    reached = after
    # Each round doubles the steps; who still arrives goes in a circle.
    for _round in range(len(after).bit_length()):
        reached = reached.map(reached)
    circular = reached.index[reached.notna()]
    report(
        findings,
        fleet,
        Severity.ERROR,
        "supersedes itself",
        parts[parts["part"].isin(circular)],
        [Place("parts", "file_line", "superseded_by")],
        lambda row: (
            _("The parts that take the place of %(part)s lead in a circle.") % {"part": row.part},
            _("Leave the cell empty for the part that is bought now."),
        ),
    )


def _check_counted(file: str, column: str, fleet: Fleet, findings: Findings) -> None:
    """Warnings for half an end: only hose, and what a part's own unit says, is measured."""
    parts, rows = fleet["parts"], fleet[file]
    counted = parts.loc[(parts["kind"] != "bulk_hose") & (parts["unit"] != "metre"), "part"]
    rows = rows[rows["part"].isin(counted) & (rows[column] % 1 > 0)]
    report(
        findings,
        fleet,
        Severity.WARNING,
        "part of a piece",
        rows,
        [Place(file, "file_line", column)],
        lambda row: (
            _("%(part)s is counted, and %(quantity)s is not a whole number.")
            % {"part": row.part, "quantity": shortest(getattr(row, column))},
            _("Enter how many pieces there are, or metre as the unit of the part."),
        ),
    )


def _check_ratings(fleet: Fleet, ratings: pd.DataFrame, findings: Findings) -> None:
    table = ratings.groupby(["construction", "dash"])["rated_pressure_bar"].agg(least="min", most="max")
    parts = fleet["parts"].dropna(subset=["construction", "dash", "rated_pressure_bar"])
    parts = parts.assign(standard=normal_construction(parts["construction"])).dropna(subset=["standard"])
    parts = parts.merge(table, left_on=["standard", "dash"], right_index=True)
    rated = parts["rated_pressure_bar"]
    unlikely = parts[(rated > UNLIKELY_TIMES * parts["most"]) | (rated < parts["least"] / UNLIKELY_TIMES)]

    def tell(row) -> tuple[str, str]:
        much = row.rated_pressure_bar > row.most
        usual = row.most if much else row.least
        wrong = (
            _(
                "%(rated_pressure_bar)s bar is more than 3 times the %(usual)s bar that %(standard)s dash "
                "%(dash)s is commonly rated at."
            )
            if much
            else _(
                "%(rated_pressure_bar)s bar is less than a third of the %(usual)s bar that %(standard)s dash "
                "%(dash)s is commonly rated at."
            )
        )
        return (
            wrong
            % {
                "rated_pressure_bar": rounded(row.rated_pressure_bar),
                "usual": rounded(usual),
                "standard": row.standard,
                "dash": f"{row.dash:g}",
            },
            _("Look whether the column's unit is the right one."),
        )

    report(
        findings,
        fleet,
        Severity.WARNING,
        "unlikely rating",
        unlikely,
        [Place("parts", "file_line", "rated_pressure_bar")],
        tell,
    )
