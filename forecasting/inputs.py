"""The tables that go into `pipeline.make_plan`: the register in SI units, and the trade's tables.

Names are those of the fleet folder's files with the stored unit at a measure's end. Texts that name another
row (`machine`, `design` …) are that row's key.
"""

from .tables import Table, date, number, table, text, whole, yes_no

SITES = table("sites", "one row per site", ("site",), text("site"), date("register_began_on"))

MACHINES = table(
    "machines",
    "one row per machine",
    ("machine",),
    text("machine"),
    text("site", may_be_empty=False),
    text("model"),
    date("commissioned_on"),
    date("retired_on"),
    number("hours_per_day", "an estimate, used until readings exist", "h/day"),
    number("downtime_cost_per_hour", unit="money/h"),
)

METER_READINGS = table(
    "meter_readings",
    "one row per machine and day of a reading",
    ("machine", "read_on"),
    text("machine"),
    date("read_on"),
    number("hours", "what the meter showed", "h", may_be_empty=False),
    yes_no("meter_replaced", "this reading starts a new meter"),
)

PARTS = table(
    "parts",
    "one row per part",
    ("part",),
    text("part"),
    text("kind", "bulk_hose, hose_end, ferrule, sleeve, adapter, assembly", may_be_empty=False),
    text("construction"),
    text("edition"),
    number("dash", unit="1/16 in"),
    number("connection_dash", unit="1/16 in"),
    text("end_style"),
    text("thread"),
    number("bore_mm", unit="mm"),
    number("outside_diameter_mm", unit="mm"),
    text("material"),
    yes_no("conductive"),
    number("rated_pressure_bar", unit="bar"),
    number("minimum_temperature_c", unit="°C"),
    number("maximum_temperature_c", unit="°C"),
    number("minimum_bend_radius_mm", unit="mm"),
    number("cutoff_mm", unit="mm"),
    number("insertion_depth_mm", unit="mm"),
    text("unit", "each or metre"),
    number("unit_cost", unit="money"),
    number("lead_time_days", unit="d"),
    number("lead_time_sd_days", unit="d"),
    number("pack_quantity"),
    number("shelf_life_days", unit="d"),
    text("superseded_by"),
    yes_no("obsolete"),
)

CRIMP_SPECS = table(
    "crimp_specs",
    "one row per hose, end and ferrule (empty where the end carries its own)",
    (),
    text("hose_part", may_be_empty=False),
    text("end_part", may_be_empty=False),
    text("ferrule_part"),
    number("crimp_diameter_mm", unit="mm", may_be_empty=False),
    number("crimp_over_mm", unit="mm"),
    number("crimp_under_mm", unit="mm"),
)

DESIGNS = table(
    "designs",
    "one row per design",
    ("design",),
    text("design"),
    text("hose_part", may_be_empty=False),
    text("end_a_part", may_be_empty=False),
    text("end_b_part", may_be_empty=False),
    number("overall_length_mm", unit="mm", may_be_empty=False),
    number("orientation_deg", unit="°"),
)

DESIGN_PARTS = table(
    "design_parts",
    "one row per design, place and part",
    ("design", "place", "part"),
    text("design"),
    text("place", "a, b or hose"),
    text("part"),
    number("quantity", may_be_empty=False),
)

POSITIONS = table(
    "positions",
    "one row per machine and position",
    ("machine", "position"),
    text("machine"),
    text("position"),
    text("circuit"),
    text("line", "pressure, return or suction"),
    text("design"),
    text("fluid"),
    number("working_pressure_bar", unit="bar"),
    number("peak_pressure_bar", unit="bar"),
    number("fluid_temperature_c", unit="°C"),
    number("ambient_temperature_c", unit="°C"),
    text("exposure", "sheltered, normal, abrasive, hot, flexing; several joined with +"),
    number("bend_radius_mm", unit="mm"),
    number("flow_lpm", unit="L/min"),
    number("changeout_minutes", unit="min"),
    number("planned_cost", unit="money"),
    number("failure_cost", "what one failure costs in all", "money"),
    yes_no("critical"),
)

INSTALLATIONS = table(
    "installations",
    "one row per assembly ever installed",
    ("assembly",),
    text("assembly"),
    text("machine", may_be_empty=False),
    text("position", may_be_empty=False),
    text("design", "as installed: its own, else the position's"),
    date("built_on"),
    date("hose_made_on"),
    text("hose_lot"),
    date("installed_on", may_be_empty=False),
    number("installed_hours", "as the meter showed", "h"),
    date("removed_on"),
    number("removed_hours", "as the meter showed", "h"),
    text("removal_cause", "failed, worn, planned, damaged, machine_retired, unknown"),
    text("failure_mode"),
    text("crimped_by"),
)

BUILDS = table(
    "builds",
    "one row per assembly whose build was recorded",
    ("assembly",),
    text("assembly"),
    text("design", may_be_empty=False),
    date("built_on", may_be_empty=False),
    text("built_by"),
    text("hose_lot"),
    text("end_a_lot"),
    text("end_b_lot"),
    number("cut_length_mm", unit="mm"),
    yes_no("insertion_a_seen"),
    yes_no("insertion_b_seen"),
    number("cleanings_before"),
    number("cleanings_after"),
    number("proof_pressure_bar", unit="bar"),
    number("proof_seconds", unit="s"),
    yes_no("accepted"),
)

CRIMP_READINGS = table(
    "crimp_readings",
    "one row per assembly, end and reading",
    ("assembly", "end", "number"),
    text("assembly"),
    text("end", "a or b"),
    number("number"),
    number("diameter_mm", unit="mm", may_be_empty=False),
)

INSPECTIONS = table(
    "inspections",
    "one row per assembly and day of an inspection",
    ("assembly", "inspected_on"),
    text("assembly"),
    date("inspected_on"),
    number("hours", "as the meter showed", "h"),
    text("finding"),
    text("grade", "fit, watch or replace", may_be_empty=False),
)

STOCK = table(
    "stock",
    "one row per part, site and piece",
    (),
    text("part", may_be_empty=False),
    text("site", may_be_empty=False),
    text("piece", "one reel, offcut or lot"),
    text("lot"),
    number("on_hand", "not held by a begun kit; bulk hose in metres", may_be_empty=False),
    date("made_on"),
)

BEGUN_KITS = table(
    "begun_kits",
    "one row per part of an assembly that the shop has begun or made and nobody has fitted",
    ("kit", "number", "line"),
    text("kit"),
    whole("number", "which assembly of the kit"),
    whole("line", "which part of the assembly"),
    text("site", may_be_empty=False),
    text("machine", "empty: for no position, it stands by"),
    text("position"),
    text("design", may_be_empty=False),
    yes_no("made", "the assembly is made and accepted"),
    text("place", "hose, a or b", may_be_empty=False),
    text("part", may_be_empty=False),
    text("substitute_for"),
    number("quantity", "bulk hose in metres", may_be_empty=False),
    number("cut_length_mm", unit="mm"),
)

WAITING_BUILDS = table(
    "waiting_builds",
    "one row per assembly of a begun kit that holds no parts: they were not there, or were spoilt",
    ("kit", "number"),
    text("kit"),
    whole("number", "which assembly of the kit"),
    text("site", may_be_empty=False),
    text("machine", "empty: for no position, it is to stand by"),
    text("position"),
    text("design", may_be_empty=False),
    date("needed_by"),
)

OPEN_ORDERS = table(
    "open_orders",
    "one row per order, part and site",
    ("order", "part", "site"),
    text("order"),
    text("part"),
    text("site"),
    number("quantity", may_be_empty=False),
    date("expected_on"),
)

SERVICE_WINDOWS = table(
    "service_windows",
    "one row per machine and window",
    ("machine", "starts_on"),
    text("machine"),
    date("starts_on"),
    date("ends_on", may_be_empty=False),
    number("labour_minutes", "empty: no limit", "min"),
)

SITE_LABOUR = table(
    "site_labour",
    "one row per site and span of days",
    ("site", "starts_on"),
    text("site"),
    date("starts_on"),
    date("ends_on", may_be_empty=False),
    number("labour_minutes", unit="min", may_be_empty=False),
)

POLICIES = table(
    "policies",
    "one row per scope",
    ("scope",),
    text("scope", "all, site:…, construction:…, circuit:…, machine:…, position:M/P, part:…, critical:yes"),
    number("age_limit_days", unit="d"),
    number("hours_limit", unit="h"),
    number("risk_limit"),
    number("risk_horizon_days", unit="d"),
    number("surge_allowance_percent", unit="%"),
    number("thin_margin_percent", unit="%"),
    number("service_level"),
)

DECISIONS = table(
    "decisions",
    "one row per decision of a person about a changeout; of an assembly one at most stands",
    (),
    text("assembly", may_be_empty=False),
    text("decision", "keep, not_before, not_after or refuse", may_be_empty=False),
    date("day", "of the stop that is kept, or the first or last one; empty for a refusal"),
    text("reason"),
    date("decided_on", may_be_empty=False),
    text("decided_by"),
    date("withdrawn_on", "empty: it stands"),
)

RATINGS = table(
    "ratings",
    "one row per construction, edition and dash: what a standard's table gives",
    ("construction", "edition", "dash"),
    text("construction", "as `normal_construction` writes it, such as 100R2 or EN 857 2SC"),
    text("edition", "`current`, or which earlier one"),
    number("dash", unit="1/16 in"),
    number("rated_pressure_bar", unit="bar"),
    number("minimum_bend_radius_mm", unit="mm"),
    number("minimum_temperature_c", unit="°C"),
    number("maximum_temperature_c", unit="°C"),
    text("mark", "found or memory: a value from memory never passes a hose", may_be_empty=False),
    text("source", may_be_empty=False),
)

INPUTS: dict[str, Table] = {
    one.name: one
    for one in (
        SITES,
        MACHINES,
        METER_READINGS,
        PARTS,
        CRIMP_SPECS,
        DESIGNS,
        DESIGN_PARTS,
        POSITIONS,
        INSTALLATIONS,
        BUILDS,
        CRIMP_READINGS,
        INSPECTIONS,
        STOCK,
        BEGUN_KITS,
        WAITING_BUILDS,
        OPEN_ORDERS,
        SERVICE_WINDOWS,
        SITE_LABOUR,
        POLICIES,
        DECISIONS,
        RATINGS,
    )
}
