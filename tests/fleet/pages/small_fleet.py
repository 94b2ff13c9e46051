"""A small fleet of two machines with a plan, built row by row: what the pages are tested on."""

import datetime

from django.utils import timezone

from fleet.models import (
    LINES,
    Assembly,
    Build,
    CrimpReading,
    CrimpSpec,
    Design,
    DesignPart,
    Inspection,
    Line,
    Machine,
    MeterReading,
    Organization,
    Part,
    PartKind,
    Plan,
    Position,
    RunState,
    ServiceWindow,
    Setting,
    Site,
)

AS_OF = datetime.date(2026, 5, 4)  # a Monday
WATCHED = {
    "machines": 12,
    "failures": 30,
    "earlier": 9,
    "later": 21,
    "why_none": "",
    "spans": [
        {"from_hours": 0.0, "until_hours": 5000.0, "machines": 12, "failures": 30, "per_1000_hours": 0.52,
         "low": 0.31, "high": 0.84},
        {"from_hours": 5000.0, "until_hours": 10000.0, "machines": 3, "failures": 0, "per_1000_hours": 0.0,
         "low": None, "high": None},
    ],
}  # fmt: skip
REPORT = {
    "as_of": "2026-05-04",
    "counts": {},
    "populations": [],
    "yearly_cost": {"plan": 4100.0, "run_to_failure": 9200.0, "best_fixed_age": 5300.0},
    "warnings": [],
    "failure_trends": [
        {"scope": "all", "trend": "closer", "p_value": 0.021, **WATCHED},
        {"scope": "machine_model:Loader 20", "trend": "none", "p_value": 0.4, **WATCHED},
        {"scope": "machine_model:Digger 30", "trend": "untold", "p_value": None} | WATCHED
        | {"failures": 6, "why_none": "too_few_failures"},
    ],
}  # fmt: skip


def day(offset: int) -> datetime.date:
    return AS_OF + datetime.timedelta(days=offset)


def add_spiral_hose(organization: Organization) -> None:
    """A hose of four spirals in the catalogue that may stand in at every position of the small fleet.

    It is rated and has a chart for the end, which is rated too; of what the hose there is made is on record.
    """
    own = {"organization": organization}
    Part.objects.of(organization).filter(key="H-2SN-08").update(material="nitrile")
    ends = Part.objects.of(organization).filter(kind=PartKind.HOSE_END)
    ends.update(
        rated_pressure_bar=400, end_style="37° flare female swivel", thread="3/4-16 UNF", cutoff_mm=44.45
    )
    hose = Part.objects.create(
        **own,
        key="H-4SP-08",
        kind=PartKind.BULK_HOSE,
        construction="4SP",
        dash=8,
        rated_pressure_bar=415,
        maximum_temperature_c=100,
        minimum_temperature_c=-40,
        minimum_bend_radius_mm=200,
        unit_cost=20,
        material="nitrile",
    )
    ferrule = Part.objects.of(organization).get(key="F-08")
    CrimpSpec.objects.create(
        **own, hose_part=hose, end_part=ends.get(key="E-08"), ferrule_part=ferrule, crimp_diameter_mm=23.1
    )


def small_fleet(organization: Organization, *, positions: int = 3) -> None:
    """Two machines on two sites, each with so many positions; each position holds one assembly and had one
    before it that failed."""
    own = {"organization": organization}
    hose = Part.objects.create(
        **own, key="H-2SN-08", kind=PartKind.BULK_HOSE, construction="2SN", dash=8, unit="metre", unit_cost=12
    )
    end = Part.objects.create(**own, key="E-08", kind=PartKind.HOSE_END, dash=8, unit_cost=9)
    ferrule = Part.objects.create(**own, key="F-08", kind=PartKind.FERRULE, description="ferrule for 2SN")
    design = Design.objects.create(
        **own, key="D-100", hose_part=hose, end_a_part=end, end_b_part=end, overall_length_mm=901.7
    )
    DesignPart.objects.create(**own, design=design, place="a", part=ferrule, quantity=1)
    CrimpSpec.objects.create(
        **own,
        hose_part=hose,
        end_part=end,
        ferrule_part=ferrule,
        crimp_diameter_mm=21.209,
        crimp_over_mm=0.13,
        crimp_under_mm=0.13,
        chart="C-7 revision 2",
    )
    for number, site_key in enumerate(("north", "south"), start=1):
        site = Site.objects.create(**own, key=site_key, name=f"{site_key.title()} pit")
        machine = Machine.objects.create(
            **own, key=f"M-{number:02d}", site=site, model="Loader 20", commissioned_on=day(-2000)
        )
        MeterReading.objects.create(**own, machine=machine, read_on=day(-10), hours=4210)
        ServiceWindow.objects.create(
            **own, machine=machine, starts_on=day(7), ends_on=day(8), labour_minutes=150
        )
        for place in range(1, positions + 1):
            position = Position.objects.create(
                **own,
                machine=machine,
                key=f"boom {place}",
                circuit="boom",
                line=Line.PRESSURE,
                design=design,
                working_pressure_bar=250,
            )
            key = f"A-{number}-{place}"
            Assembly.objects.create(
                **own,
                key=f"{key}-first",
                position=position,
                installed_on=day(-1500),
                removed_on=day(-400),
                removal_cause="failed",
                failure_mode="burst at the bend",
            )
            now = Assembly.objects.create(
                **own,
                key=key,
                position=position,
                built_on=day(-420),
                hose_lot="L-77",
                crimped_by="bench 2",
                installed_on=day(-400),
                installed_hours=3000,
            )
            Inspection.objects.create(
                **own, assembly=now, inspected_on=day(-30), grade="watch", finding="cover rubbed"
            )
            build = Build.objects.create(
                **own, assembly=now, design=design, built_on=day(-420), built_by="Ines", accepted=True
            )
            for reading in (1, 2, 3):
                CrimpReading.objects.create(
                    **own, build=build, end="a", number=reading, diameter_mm=21.18 + reading / 100
                )


def small_plan(organization: Organization) -> Plan:
    """The plan of the small fleet: the first position of each machine is over its rating and overdue."""
    plan = Plan.objects.create(
        organization=organization,
        state=RunState.DONE,
        as_of=AS_OF,
        finished_at=timezone.now(),
        report=REPORT,
    )
    installed = list(
        Assembly.objects.of(organization).filter(removed_on=None).select_related("position__machine__site")
    )
    lines: dict[str, list[dict]] = {name: [] for name in LINES}
    for one in installed:
        place = {
            "assembly": one.key,
            "machine": one.position.machine.key,
            "position": one.position.key,
        }
        first = one.position.key == "boom 1"
        kit = f"K-{place['machine']}"
        lines["margins"].append(
            {
                **place,
                "rated_pressure_bar": 275,
                "demanded_pressure_bar": 312.5 if first else 250,
                "margin_percent": -13.6 if first else 9.1,
                "verdict": "short" if first else "thin",
                "limiting_part": "H-2SN-08",
                "reason": "250 bar with 25 % for surges is more than the hose's 275 bar."
                if first
                else "Under 10 %.",
            }
        )
        lines["forecasts"].append(
            {
                **place,
                "population": "2SN -8",
                "age_days": 420,
                "age_hours": 1190,
                "p_fail_30d": 0.004,
                "p_fail_90d": 0.031,
                "p_fail_180d": 0.058,
                "p_fail_365d": 0.12,
                "p_fail_365d_low": 0.07,
                "p_fail_365d_high": 0.19,
                "median_days_left": 1400,
                "due_on": day(-3) if first else day(20),
                "due_reason": "unfit" if first else "economy",
                "limit_on": day(-3) if first else None,
                "limit_reason": "unfit" if first else "none",
            }
        )
        lines["factors"].append({"assembly": one.key, "factor": "pressure ratio", "multiple": 2.1})
        lines["changeouts"].append(
            {
                **place,
                "changeout": f"C-{place['machine']}",
                "planned_on": day(7),
                "window_starts_on": day(7),
                "special_stop": False,
                "design": "D-100",
                "due_on": day(-3) if first else day(20),
                "due_reason": "unfit" if first else "economy",
                "expected_cost_now": 130.0,
                "expected_cost_if_left": 340.0,
                "minutes": 40,
                "reason": "The next window of the machine.",
            }
        )
        lines["kit_lines"].append(
            {
                "kit": kit,
                "line": len(lines["kit_lines"]) + 1,
                "position": place["position"],
                "design": "D-100",
                "part": "H-2SN-08",
                "kind": "bulk_hose",
                "quantity": 0.8128,
                "unit": "metre",
                "cut_length_mm": 812.8,
                "short_by": 0.5 if first else 0,
                "available_on": day(6) if first else None,
            }
        )
        lines["cut_list"].append(
            {
                "site": one.position.machine.site.key,
                "hose_part": "H-2SN-08",
                "piece": "R-1",
                "lot": "L-80",
                "kit": kit,
                "line": len(lines["kit_lines"]),
                "cut_length_mm": 812.8,
                "left_on_piece_mm": 9000,
            }
        )
    for machine in Machine.objects.of(organization).select_related("site"):
        lines["kits"].append(
            {
                "kit": f"K-{machine.key}",
                "purpose": "changeout",
                "changeout": f"C-{machine.key}",
                "machine": machine.key,
                "site": machine.site.key,
                "needed_by": day(7),
                "ready": False,
            }
        )
    for scope in ("all", "site:north", "site:south"):
        lines["failures_ahead"].append(
            {
                "scope": scope,
                "horizon_days": 90,
                "expected": 1.4,
                "low_80": 0,
                "high_80": 3,
                "low_95": 0,
                "high_95": 4,
            }
        )
    for site in ("north", "south"):
        lines["stock_advice"].append(
            {
                "part": "H-2SN-08",
                "site": site,
                "unit": "metre",
                "on_hand": 3.0,
                "on_order": 0,
                "planned_demand": 2.4,
                "unplanned_demand_mean": 0.6,
                "lead_time_days": 21,
                "reorder_point": 5,
                "order_up_to": 40,
                "order_now": 40 if site == "north" else 0,
                "service_level": 0.95,
                "surplus": 0 if site == "north" else 12.5,
                "expires_unused": 0,
                "demand_low": 2,
                "demand_high": 6,
                "runs_out_on": day(12),
                "why": "3 m are left of the 5 m that cover 21 days.",
            }
        )
    lines["transfers"].append(
        {
            "part": "E-08",
            "from_site": "south",
            "to_site": "north",
            "quantity": 4,
            "why": "South has 11 too many.",
        }
    )
    lines["suspects"].append(
        {
            "kind": "crimped_by",
            "name": "bench 2",
            "lives": 40,
            "failures": 9,
            "expected": 3.1,
            "ratio": 2.9,
            "ratio_low": 1.5,
            "ratio_high": 5.0,
            "q_value": 0.01,
            "installed_now": 6,
        }
    )
    lines["changes"].append(
        {
            "assembly": "A-1-1",
            "before": "sound",
            "now": "over its rating",
            "cause": "the position's pressure was entered",
        }
    )
    lines["gaps"].append(
        {
            "kind": "positions",
            "name": "M-01/boom 2",
            "column": "peak_pressure_bar",
            "worth": 210.0,
            "why": "It decides between thin and sound.",
        }
    )
    for name, rows in lines.items():
        model = LINES[name]
        model.objects.bulk_create(model(plan=plan, row=row, **columns) for row, columns in enumerate(rows))
    return plan


def set_setting(organization: Organization, name: str, value: str) -> None:
    Setting.objects.update_or_create(organization=organization, name=name, defaults={"value": value})
