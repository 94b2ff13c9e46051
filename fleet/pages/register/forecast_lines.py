"""What the plan in force says of single assemblies, for every page that shows them."""

from django.db.models import OuterRef, Subquery

from fleet.models import LINES

from ..members import Reader


def plan_says(reader: Reader, assemblies: list[str]) -> dict:
    """What the plan in force says of each assembly, by its key: its forecast line, with the columns of its
    margin and changeout lines beside. One query, however many assemblies."""
    if reader.plan is None:
        return {}

    def beside(name: str, **columns: str) -> dict[str, Subquery]:
        line = LINES[name].objects.filter(plan=OuterRef("plan"), assembly=OuterRef("assembly")).order_by()
        return {shown: Subquery(line.values(column)[:1]) for shown, column in columns.items()}

    lines = (
        LINES["forecasts"]
        .objects.filter(plan=reader.plan, assembly__in=assemblies)
        .annotate(
            **beside(
                "margins",
                rated_pressure_bar="rated_pressure_bar",
                demanded_pressure_bar="demanded_pressure_bar",
                margin_percent="margin_percent",
                verdict="verdict",
                limiting_part="limiting_part",
                margin_reason="reason",
            ),
            **beside(
                "changeouts",
                changeout="changeout",
                planned_on="planned_on",
                special_stop="special_stop",
                changeout_reason="reason",
                expected_cost_now="expected_cost_now",
                expected_cost_if_left="expected_cost_if_left",
            ),
        )
        .order_by("row")
    )
    return {line.assembly: line for line in lines}


def chance_curve(said) -> list[dict]:
    """The chance of a forecast line by days from the plan's day, the 80 % interval where it has one."""
    curve: list[dict] = [{"days": 0, "chance": 0.0, "low": 0.0, "high": 0.0}]
    for days in (30, 90, 180):
        curve.append({"days": days, "chance": getattr(said, f"p_fail_{days}d"), "low": None, "high": None})
    year = {"chance": said.p_fail_365d, "low": said.p_fail_365d_low, "high": said.p_fail_365d_high}
    return [*curve, {"days": 365, **year}]
