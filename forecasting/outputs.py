"""The tables that come out of `pipeline.make_plan`, column by column those of the files out."""

from .tables import Table, date, number, table, text, whole, yes_no

MARGINS = table(
    "margins",
    "one row per installed assembly",
    ("assembly",),
    text("assembly"),
    text("machine", may_be_empty=False),
    text("position", may_be_empty=False),
    number("rated_pressure_bar", "of the weakest part", "bar"),
    number("demanded_pressure_bar", "peak, else working with surge allowance", "bar"),
    number("margin_percent", "(rated − demanded) ÷ rated", "%"),
    text("verdict", "short, thin, sound or unknown", may_be_empty=False),
    text("limiting_part"),
    text("reason"),
)

FORECASTS = table(
    "forecasts",
    "one row per assembly installed on the as-of date",
    ("assembly",),
    text("assembly"),
    text("machine", may_be_empty=False),
    text("position", may_be_empty=False),
    text("population", may_be_empty=False),
    number("age_days", unit="d", may_be_empty=False),
    number("age_hours", unit="h", may_be_empty=False),
    number("p_fail_30d", may_be_empty=False),
    number("p_fail_90d", may_be_empty=False),
    number("p_fail_180d", may_be_empty=False),
    number("p_fail_365d", may_be_empty=False),
    number("p_fail_365d_low", "lower end of the 80 % interval", may_be_empty=False),
    number("p_fail_365d_high", "upper end of the 80 % interval", may_be_empty=False),
    number("median_days_left", "empty: beyond the horizon of the forecast", "d"),
    date("due_on"),
    text("due_reason", "unfit, inspection, age_limit, hours_limit, risk, economy, none", may_be_empty=False),
    date("limit_on", "the last day it may stay by a limit that cost cannot outweigh; empty: any"),
    text("limit_reason", "what limits it: as due_reason, economy on a critical position only"),
)

FACTORS = table(
    "factors",
    "one row per assembly and factor, heaviest first",
    ("assembly", "factor"),
    text("assembly"),
    text("factor"),
    number("multiple", "of the ordinary failure rate of its population", may_be_empty=False),
)

FAILURES_AHEAD = table(
    "failures_ahead",
    "one row per scope and horizon",
    ("scope", "horizon_days"),
    text("scope", "all, site:…, population:…, construction:…"),
    whole("horizon_days", unit="d"),
    number("expected", may_be_empty=False),
    whole("low_80"),
    whole("high_80"),
    whole("low_95"),
    whole("high_95"),
)

CHANGEOUTS = table(
    "changeouts",
    "one row per assembly to change; those done in one stop share a changeout",
    ("assembly",),
    text("changeout", may_be_empty=False),
    text("machine", may_be_empty=False),
    date("planned_on", may_be_empty=False),
    date("window_starts_on", "empty for a special stop"),
    yes_no("special_stop", may_be_empty=False),
    text("assembly"),
    text("position", may_be_empty=False),
    text("design"),
    date("due_on"),
    text("due_reason", may_be_empty=False),
    number("expected_cost_now", unit="money"),
    number("expected_cost_if_left", unit="money"),
    number("minutes", unit="min"),
    text("reason", may_be_empty=False),
    text("not_to_build", "why its design must not be built there; empty where nothing forbids it"),
)

KITS = table(
    "kits",
    "one row per kit",
    ("kit",),
    text("kit"),
    text("purpose", "changeout or standby", may_be_empty=False),
    text("changeout"),
    text("machine"),
    text("site", may_be_empty=False),
    date("needed_by"),
    yes_no("ready", "every line is on hand and given to no other kit", may_be_empty=False),
    text("not_to_build", "by position, why its design must not be built; empty where nothing forbids it"),
)

KIT_LINES = table(
    "kit_lines",
    "one row per kit and line",
    ("kit", "line"),
    text("kit"),
    whole("line"),
    text("position"),
    text("design"),
    text("part", may_be_empty=False),
    text("kind", may_be_empty=False),
    number("quantity", "bulk hose in metres", may_be_empty=False),
    text("unit", may_be_empty=False),
    number("cut_length_mm", unit="mm"),
    number("short_by", may_be_empty=False),
    date("available_on"),
    text("substitute_for"),
    text("not_to_build", "why the design must not be built; empty where nothing forbids it"),
)

CUT_LIST = table(
    "cut_list",
    "one row per cut, in the order of cutting",
    (),
    text("site", may_be_empty=False),
    text("hose_part", may_be_empty=False),
    text("piece"),
    text("lot"),
    text("kit", may_be_empty=False),
    whole("line"),
    number("cut_length_mm", unit="mm", may_be_empty=False),
    number("left_on_piece_mm", unit="mm", may_be_empty=False),
    text("not_to_build", "why what it is for must not be built, so not cut; empty where nothing forbids it"),
)

STOCK_ADVICE = table(
    "stock_advice",
    "one row per part and site",
    ("part", "site"),
    text("part"),
    text("site"),
    text("unit", may_be_empty=False),
    number("on_hand", "usable", may_be_empty=False),
    number("on_order", may_be_empty=False),
    number(
        "planned_demand", "of planned kits that may be built, within lead time and review", may_be_empty=False
    ),
    number("unplanned_demand_mean", "of failures within lead time and review", may_be_empty=False),
    number("lead_time_days", "empty: not known", "d"),
    number("reorder_point", may_be_empty=False),
    number("order_up_to", may_be_empty=False),
    number("order_now", may_be_empty=False),
    number("service_level", may_be_empty=False),
    number("expected_fill_rate", "empty: no demand"),
    number("surplus", may_be_empty=False),
    number("expires_unused", may_be_empty=False),
    text("why", may_be_empty=False),
    number("demand_low", "of all demand within lead time and review, 80 % interval", may_be_empty=False),
    number("demand_high", may_be_empty=False),
    date("runs_out_on", "when the mean demand has taken what is there and due; empty: not within a year"),
)

TRANSFERS = table(
    "transfers",
    "one row per part and pair of sites",
    ("part", "from_site", "to_site"),
    text("part"),
    text("from_site"),
    text("to_site"),
    number("quantity", may_be_empty=False),
    text("why", may_be_empty=False),
)

SUSPECTS = table(
    "suspects",
    "one row per group that fails more than the model expects of it",
    ("kind", "name"),
    text("kind", "crimped_by, hose_lot, part, design, machine, position, machine_model"),
    text("name"),
    whole("lives"),
    whole("failures"),
    number("expected", may_be_empty=False),
    number("ratio", may_be_empty=False),
    number("ratio_low", may_be_empty=False),
    number("ratio_high", may_be_empty=False),
    number("q_value", may_be_empty=False),
    whole("installed_now"),
    text("explained_by"),
)

CHANGES = table(
    "changes",
    "one row per assembly of which this plan says something else than the last",
    ("assembly",),
    text("assembly"),
    text("before", may_be_empty=False),
    text("now", may_be_empty=False),
    text("cause", may_be_empty=False),
)

GAPS = table(
    "gaps",
    "one row per thing that is not known and matters, dearest first",
    ("kind", "name", "column"),
    text("kind", "the file it belongs in"),
    text("name", "the row's key"),
    text("column"),
    number("worth", "what knowing it could save in a year", "money"),
    text("why", may_be_empty=False),
)

SCORES = table(
    "scores",
    "one row per past date, horizon and model: what was said, held against what then happened",
    ("as_of", "horizon_days", "model"),
    date("as_of"),
    whole("horizon_days", unit="d"),
    text("model", "service, age_only or one_life_table"),
    whole("installed", "and watched on that date"),
    number("expected", "failures while watched", may_be_empty=False),
    whole("observed"),
    whole("low_80"),
    whole("high_80"),
    whole("low_95"),
    whole("high_95"),
    number("log_loss", "empty: no assembly's fate is known"),
    number("brier"),
    number("calibration_slope", "empty: too few failed, or too few lasted"),
    number("calibration_intercept"),
)

COMPARISON = table(
    "comparison",
    "one row per policy: what living with it costs in the long run",
    ("policy",),
    text("policy", "plan, run_to_failure, best_fixed_age or what_if"),
    number("yearly_cost", "empty: no assembly has costs", "money"),
    number("failures", "a year", may_be_empty=False),
    number("planned_changeouts", "a year", may_be_empty=False),
    number("stock_value", "kept on average; empty: no part has a cost", "money"),
    number(
        "yearly_cost_low", "with the high one its limits of 80 %, of what the record leaves open", "money"
    ),
    number("yearly_cost_high", unit="money"),
    number("failures_low"),
    number("failures_high"),
)

# What the main job gives. SCORES come of `backtest.replay` alone, COMPARISON of `compare_what_if`.
OUTPUTS: dict[str, Table] = {
    one.name: one
    for one in (
        MARGINS,
        FORECASTS,
        FACTORS,
        FAILURES_AHEAD,
        CHANGEOUTS,
        KITS,
        KIT_LINES,
        CUT_LIST,
        STOCK_ADVICE,
        TRANSFERS,
        SUSPECTS,
        CHANGES,
        GAPS,
    )
}
