"""Each file of a fleet folder and its columns, declared once for CSV, XLSX, API and help pages.

Files stand in the order in which they must be stored: what a row names comes before the row.
"""

# Marked here for who translates, and asked for where a column is told.
from forecasting.wording import gettext_noop as _

from .columns import (
    Column,
    File,
    Kind,
    Reference,
    choice,
    date,
    key,
    length,
    money,
    number,
    pressure,
    temperature,
    text,
    whole,
    yes_no,
)

PART_KINDS = ("bulk_hose", "hose_end", "ferrule", "sleeve", "adapter", "assembly")
LINES = ("pressure", "return", "suction")
EXPOSURES = ("sheltered", "normal", "abrasive", "hot", "flexing")
REMOVAL_CAUSES = ("failed", "worn", "planned", "damaged", "machine_retired", "unknown")
GRADES = ("fit", "watch", "replace")
POLICY_SCOPES = ("all", "site", "construction", "circuit", "machine", "position", "part", "critical")

# Beyond these no fleet reaches, and sums of what lies within them stay numbers.
MOST_IN_STOCK = 10_000_000
MOST_MINUTES = 100_000_000

SETTINGS = File(
    "settings",
    (key("name", _("which setting"), longest=60), text("value", _("its value"), required=True, longest=200)),
)

SITES = File(
    "sites",
    (
        key("site", _("the site's short name")),
        text("name", _("the name in full"), longest=200),
        date("register_began_on", _("the first day from which this site's removals are complete")),
    ),
)

MACHINES = File(
    "machines",
    (
        key("machine", _("the machine's number or name")),
        text("site", _("where it works"), required=True),
        text("model", _("the maker's model"), longest=200),
        date("commissioned_on", _("its first day at work")),
        date("retired_on", _("its last day at work")),
        number("hours_per_day", _("an estimate, used until readings exist"), most=24),
        money("downtime_cost_per_hour", _("what an hour's standstill costs")),
    ),
    (Reference(("site",), "sites"),),
)

METER_READINGS = File(
    "meter_readings",
    (
        key("machine", _("the machine read")),
        key("read_on", _("the day of the reading"), Kind.DATE),
        number("hours", _("what the hour meter showed"), required=True, most=1_000_000),
        yes_no("meter_replaced", _("yes where this reading starts a new meter")),
    ),
    (Reference(("machine",), "machines"),),
)

PARTS = File(
    "parts",
    (
        key("part", _("the part number")),
        choice("kind", PART_KINDS, _("what it is"), required=True),
        text("description", _("in words"), longest=300),
        text("construction", _("a hose's standard designation, such as 100R2 or EN 857 2SC")),
        text("edition", _("the edition of that standard")),
        number("dash", _("bore in sixteenths of an inch"), most=96, positive=True),
        number("connection_dash", _("an end's other side, where it differs"), most=96, positive=True),
        text("end_style", _("in the words of the trade or a standard"), longest=120),
        text("thread", _("the thread's designation")),
        length("bore", _("inside diameter"), most=500),
        length("outside_diameter", _("outside diameter"), most=500),
        text("material", _("what it is made of"), longest=120),
        yes_no("conductive", _("does it conduct electricity")),
        pressure("rated_pressure", _("maximum working pressure"), positive=True),
        temperature("minimum_temperature", _("lowest temperature it may see")),
        temperature("maximum_temperature", _("highest temperature it may see")),
        length("minimum_bend_radius", _("tightest bend, measured inside the bend"), most=10_000),
        length("cutoff", _("what the end adds to the cut length"), most=2_000),
        length("insertion_depth", _("how far the hose goes into the end"), most=500),
        choice("unit", ("each", "metre"), _("each unless bulk hose")),
        money("unit_cost", _("cost of one unit")),
        number("lead_time_days", _("days from order to shelf"), most=3_650),
        number("lead_time_sd_days", _("spread of that time (standard deviation)"), most=3_650),
        number("pack_quantity", _("ordered in multiples of"), most=1_000_000),
        number("shelf_life_days", _("days from its made date until it may no longer be used"), most=36_500),
        text("superseded_by", _("the part that takes its place")),
        yes_no("obsolete", _("can no longer be bought")),
    ),
    (Reference(("superseded_by",), "parts"),),
)

CRIMP_SPECS = File(
    "crimp_specs",
    (
        key("hose_part", _("the hose")),
        key("end_part", _("the end")),
        key("ferrule_part", _("the ferrule, empty where the end carries its own")),
        length("crimp_diameter", _("target over the crimp"), required=True, most=500, positive=True),
        length("crimp_over", _("how far above the target it may be"), most=10),
        length("crimp_under", _("how far below the target it may be"), most=10),
        text("die", _("the die set")),
        text("chart", _("the chart's name and revision"), longest=120),
    ),
    (
        Reference(("hose_part",), "parts"),
        Reference(("end_part",), "parts"),
        Reference(("ferrule_part",), "parts"),
    ),
    may_be_empty=("ferrule_part",),
)

DESIGNS = File(
    "designs",
    (
        key("design", _("the assembly's drawing number")),
        text("hose_part", _("the bulk hose"), required=True),
        text("end_a_part", _("the end at side a"), required=True),
        text("end_b_part", _("the end at side b"), required=True),
        length("overall_length", _("from seat to seat"), required=True, hose=True, positive=True),
        number("orientation_deg", _("angle of end b against end a"), least=-360, most=360),
    ),
    tuple(Reference((name,), "parts") for name in ("hose_part", "end_a_part", "end_b_part")),
)

DESIGN_PARTS = File(
    "design_parts",
    (
        key("design", _("the design it belongs to")),
        key("place", _("where it goes"), Kind.CHOICE, choices=("a", "b", "hose")),
        key("part", _("a ferrule, sleeve or adapter")),
        number("quantity", _("how many"), required=True, most=1_000),
    ),
    (Reference(("design",), "designs"), Reference(("part",), "parts")),
)

POSITIONS = File(
    "positions",
    (
        key("machine", _("the machine")),
        key("position", _("the place on it")),
        text("circuit", _("the hydraulic circuit"), longest=120),
        choice("line", LINES, _("pressure, return or suction")),
        text("design", _("what belongs there")),
        text("fluid", _("the fluid"), longest=120),
        pressure("working_pressure", _("the system's working pressure")),
        pressure("peak_pressure", _("the highest pressure, surges included")),
        temperature("fluid_temperature", _("the fluid's temperature at work")),
        temperature("ambient_temperature", _("the temperature around it")),
        Column("exposure", Kind.CHOICES, "what it must stand, joined with +", choices=EXPOSURES),
        length("bend_radius", _("the tightest bend as installed"), most=100_000),
        number("flow_lpm", _("flow in litres a minute"), most=20_000),
        number("changeout_minutes", _("how long a changeout takes"), most=10_000),
        money("planned_cost", _("what a planned changeout costs")),
        money("failure_cost", _("what one failure in service costs in all")),
        yes_no("critical", _("needs a named person's sign-off")),
    ),
    (Reference(("machine",), "machines"), Reference(("design",), "designs")),
)

INSTALLATIONS = File(
    "installations",
    (
        key("assembly", _("the assembly's tag")),
        text("machine", _("the machine it went on"), required=True),
        text("position", _("the place on it"), required=True),
        text("design", _("where it differs from the position's")),
        date("built_on", _("the day it was crimped")),
        date("hose_made_on", _("the hose's date code")),
        text("hose_lot", _("the hose's lot")),
        date("installed_on", _("the day it went on"), required=True),
        number("installed_hours", _("what the meter showed then"), most=1_000_000),
        date("removed_on", _("the day it came off")),
        number("removed_hours", _("what the meter showed then"), most=1_000_000),
        choice("removal_cause", REMOVAL_CAUSES, _("what ended it")),
        text("failure_mode", _("how it failed, in words"), longest=200),
        text("crimped_by", _("who or which bench crimped it"), longest=120),
    ),
    (
        Reference(("machine",), "machines"),
        Reference(("machine", "position"), "positions"),
        Reference(("design",), "designs"),
    ),
)

BUILDS = File(
    "builds",
    (
        key("assembly", _("the assembly's tag")),
        text("design", _("what was built"), required=True),
        date("built_on", _("the day it was crimped"), required=True),
        text("built_by", _("who or which bench crimped it"), longest=120),
        text("kit", _("the kit it came from"), longest=200),
        text("hose_lot", _("the hose's lot")),
        text("end_a_lot", _("the lot of end a")),
        text("end_b_lot", _("the lot of end b")),
        length("cut_length", _("the hose as cut"), hose=True),
        yes_no("insertion_a_seen", _("was the insertion mark at the shell of end a")),
        yes_no("insertion_b_seen", _("was the insertion mark at the shell of end b")),
        whole("cleanings_before", _("projectiles shot before crimping"), most=100),
        whole("cleanings_after", _("projectiles shot after crimping"), most=100),
        text("gauge", _("what the crimp was measured with")),
        text("die", _("the die set used")),
        pressure("proof_pressure", _("the proof test's pressure")),
        number("proof_seconds", _("how long it was held"), most=86_400),
        yes_no("accepted", _("was it accepted for service")),
        text("accepted_by", _("who accepted it"), longest=120),
        text("chart", _("the crimp chart it was crimped to, name and revision"), longest=120),
        text("proof_medium", _("what it was proved with, such as water")),
        text("remarks", _("what was questioned, and why it was accepted all the same"), longest=300),
    ),
    (Reference(("design",), "designs"),),
)

CRIMP_READINGS = File(
    "crimp_readings",
    (
        key("assembly", _("the assembly's tag")),
        key("end", _("which end"), Kind.CHOICE, choices=("a", "b")),
        key("number", _("which reading around the crimp"), Kind.WHOLE, least=1, most=100),
        length("diameter", _("what the gauge showed"), required=True, most=500, positive=True),
    ),
    (Reference(("assembly",), "builds"),),
)

INSPECTIONS = File(
    "inspections",
    (
        key("assembly", _("the assembly's tag")),
        key("inspected_on", _("the day"), Kind.DATE),
        number("hours", _("what the meter showed"), most=1_000_000),
        text("finding", _("what was seen"), longest=300),
        choice("grade", GRADES, _("fit, watch or replace"), required=True),
    ),
    (Reference(("assembly",), "installations"),),
)

STOCK = File(
    "stock",
    (
        key("part", _("the part")),
        key("site", _("where it lies")),
        key("piece", _("one reel, offcut or lot")),
        text("lot", _("the maker's lot")),
        Column(
            "on_hand",
            Kind.MEASURE,
            "how many; bulk hose in metres",
            measure="reel_length",
            required=True,
            least=0,
            most=MOST_IN_STOCK,
        ),
        date("made_on", _("when it was made")),
    ),
    (Reference(("part",), "parts"), Reference(("site",), "sites")),
    may_be_empty=("piece",),
)

OPEN_ORDERS = File(
    "open_orders",
    (
        key("order", _("the order's number")),
        key("part", _("the part ordered")),
        key("site", _("where it goes")),
        number(
            "quantity",
            _("how many are still to come; bulk hose in metres"),
            required=True,
            most=MOST_IN_STOCK,
        ),
        date("expected_on", _("when it is due")),
    ),
    (Reference(("part",), "parts"), Reference(("site",), "sites")),
)

SERVICE_WINDOWS = File(
    "service_windows",
    (
        key("machine", _("the machine that stands")),
        key("starts_on", _("its first day"), Kind.DATE),
        date("ends_on", _("its last day"), required=True),
        number("labour_minutes", _("how long hose work may take"), most=MOST_MINUTES),
    ),
    (Reference(("machine",), "machines"),),
)

SITE_LABOUR = File(
    "site_labour",
    (
        key("site", _("the site")),
        key("starts_on", _("the first day"), Kind.DATE),
        date("ends_on", _("the last day"), required=True),
        number(
            "labour_minutes", _("minutes for all hose work of the site"), required=True, most=MOST_MINUTES
        ),
    ),
    (Reference(("site",), "sites"),),
)

POLICIES = File(
    "policies",
    (
        key(
            "scope",
            _(
                "all, or site:… construction:… circuit:… machine:… position:MACHINE/POSITION part:… "
                "critical:yes"
            ),
            longest=200,
        ),
        number("age_limit_days", _("calendar age at which it must come off"), most=36_500),
        number("hours_limit", _("machine hours at which it must come off"), most=1_000_000),
        number("risk_limit", _("chance of failing that must not be passed"), most=1),
        number("risk_horizon_days", _("the time that chance is counted over"), most=3_650),
        number(
            "surge_allowance_percent", _("added to the working pressure where no peak is known"), most=300
        ),
        number("thin_margin_percent", _("margins below this are thin"), most=100),
        number("service_level", _("share of order cycles without a shortage"), most=0.9999),
    ),
)

FILES: tuple[File, ...] = (
    SETTINGS,
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
    OPEN_ORDERS,
    SERVICE_WINDOWS,
    SITE_LABOUR,
    POLICIES,
)
FILES_BY_NAME: dict[str, File] = {file.name: file for file in FILES}
