"""Sentences for people are asked for whole: who translates finds them, and may order their parts anew."""

import ast
import importlib
import pkgutil
import re
import shutil
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from django.utils.functional import Promise

import fleet.services
from fleet.services.errors import ServiceError
from fleet.trade.ratings import load_ratings
from forecasting import wording
from forecasting.errors import BadTable
from forecasting.hindsight.backtest import replay, tell_scores
from forecasting.inputs import INPUTS, PARTS
from forecasting.outputs import OUTPUTS
from forecasting.pipeline import make_plan
from forecasting.policies import Settings
from forecasting.suitability.candidates import judge_stand_ins
from forecasting.suitability.needs import need_of_hose, need_of_position
from forecasting.tables import make_table
from tests.conftest import lacking
from tests.forecasting.builders import (
    AS_OF,
    a_design,
    a_machine,
    a_position,
    a_site,
    a_window,
    an_installation,
    build_tables,
    hose,
    hose_end,
)
from tests.forecasting.stock_builders import an_order, on_shelf

ROOT = Path(__file__).resolve().parent.parent
ASKING = {"_", "gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy"}
PLACE = re.compile(r"%\((\w+)\)s")
# Words beside what a page shows, where neither stands alone: no other language can order them anew.
SHOWN = r"(?:\{\{[^}]*\}\}|\{% (?:amount|chance)(?![^%]* as )[^%]*%\})"
BESIDE = r"(?:</?(?:a|code|strong|span|small)\b[^>]*>|[ ,;(+×])*"
ASKED = r"\{% (?:translate |once _\()"
WORDS = rf"""{ASKED}(?:"[^"]*[^:.?"]"|'[^']*[^:.?']')"""
GLUED = re.compile(rf"""{WORDS}\)? %\}}{BESIDE}{SHOWN}|{SHOWN}{BESIDE}{ASKED}["'][a-z]""")
SAID = re.compile("[a-z]{2,}[ ,;:]+[a-z]{2,}")  # two words of a sentence
# What a declaration of a table says of its rows and columns is for who reads the source.
DECLARING = {"Table", "table", "text", "number", "whole", "date", "yes_no"}


def asked() -> list[tuple[str, ast.Call]]:
    """Every call that asks for a sentence, with where it stands."""
    found = []
    for path in sorted([*ROOT.glob("fleet/**/*.py"), *ROOT.glob("forecasting/**/*.py")]):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") in ASKING:
                found.append((f"{path.relative_to(ROOT)}:{node.lineno}", node))
    return found


def sentences(call: ast.Call) -> list[ast.expr]:
    return call.args[: 2 if getattr(call.func, "id", "").startswith("ngettext") else 1]


def refusals(of: type[ServiceError] = ServiceError) -> set[type[ServiceError]]:
    return {of}.union(*(refusals(one) for one in of.__subclasses__()))


def test_no_sentence_is_filled_before_it_is_asked_for():
    """Words put together by the program stand in no catalogue."""
    together = (ast.JoinedStr, ast.BinOp, ast.Call)
    wrong = [where for where, call in asked() for one in sentences(call) if isinstance(one, together)]
    assert wrong == []
    assert len(asked()) > 800


def test_every_place_in_a_sentence_has_a_name():
    """Another language may order them anew; an ordinary number in words may stay %(n)d."""
    told = [(where, one.value) for where, call in asked() for one in sentences(call)
            if isinstance(one, ast.Constant)]  # fmt: skip
    nameless = [where for where, text in told if re.search(r"%[sdrf]|\{\w*\}", text)]
    assert nameless == []
    assert all(text for _, text in told), "an empty sentence would be a catalogue's own header"


@pytest.mark.parametrize(
    "page", sorted(ROOT.glob("templates/**/*.html")), ids=lambda page: f"{page.parent.name}-{page.stem}"
)
def test_a_page_puts_no_sentence_together_of_words_and_what_it_shows(page):
    assert GLUED.findall(page.read_text(encoding="utf-8")) == []


def test_every_refusal_tells_a_sentence_that_can_be_translated():
    for module in pkgutil.walk_packages(fleet.services.__path__, "fleet.services."):
        importlib.import_module(module.name)
    assert len(refusals()) > 60
    for refusal in refusals():
        message = refusal.message
        # One that only sets other sentences side by side has no words of its own.
        bare = not re.search("[a-z]", PLACE.sub("", str(message)))
        assert isinstance(message, Promise) or bare, refusal
        assert "{" not in str(message), refusal
        assert str(message) % {name: name for name in PLACE.findall(str(message))}, refusal


def test_the_core_tells_english_until_somebody_sets_a_translator():
    code = (
        "from forecasting.wording import ngettext; print(ngettext('%(n)s day', '%(n)s days', 2) % {'n': 2})"
    )
    told = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert told.stdout == "2 days\n"


def test_a_translator_that_was_set_is_given_back():
    class Loud:
        def gettext(self, message: str, /) -> str:
            return message.upper()

        def ngettext(self, singular: str, plural: str, number: int, /) -> str:
            return plural.upper()

    before = wording.set_translator(Loud())
    try:
        assert wording.gettext("a hose end") == "A HOSE END"
        assert wording.ngettext("%(n)s day", "%(n)s days", 1) == "%(N)S DAYS"
    finally:
        loud = wording.set_translator(before)
    assert isinstance(loud, Loud) and wording.gettext("a hose end") == "a hose end"


def test_makemessages_gathers_pages_findings_refusals_and_columns(tmp_path):
    if not shutil.which("msguniq"):
        lacking("GNU gettext is not installed")
    # In a copy: it writes beside the templates while it works.
    for name in ("fleet", "forecasting", "templates"):
        shutil.copytree(ROOT / name, tmp_path / name, ignore=shutil.ignore_patterns("static", "__pycache__"))
    shutil.copy(ROOT / "manage.py", tmp_path)
    (tmp_path / "fleet" / "locale").mkdir(exist_ok=True)

    made = subprocess.run(
        [sys.executable, "manage.py", "makemessages", "-l", "de", "-v", "0"],
        cwd=tmp_path,
        capture_output=True,
        text=True,
    )

    assert made.returncode == 0, made.stderr
    catalogue = tmp_path / "fleet" / "locale" / "de" / "LC_MESSAGES" / "django.po"
    gathered = catalogue.read_text(encoding="utf-8").replace('"\n"', "")
    for sentence in (
        "Keep to a group",
        "%(part)s is bulk hose, which is counted in metres.",
        "There is no age rule %(rule)s. Choose one of: %(rules)s.",
        "the machine's number or name",
        "Damaged from outside",
        "Its chance of failing passes the limit on %(due)s",
        "%(quantity)s come from %(site)s",
        "half of hoses worn out by 10,000 h, give or take a factor 4",
        "One assembly would be forecast better with the day it was built.",
        "due on %(day)s (cost)",
        "the next plan honours it",
    ):
        assert f'msgid "{sentence}"' in gathered


def test_the_core_has_no_words_beside_those_asked_for():
    found = []
    for path in sorted(ROOT.glob("forecasting/**/*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        aside = set()
        for node in ast.walk(tree):
            name = getattr(getattr(node, "func", None), "id", "")
            docstring = isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
            if docstring or isinstance(node, ast.Assert) or name in ASKING | DECLARING | {"ValueError"}:
                aside.update(map(id, ast.walk(node)))
        found += [
            f"{path.relative_to(ROOT)}:{node.lineno} {node.value}"
            for node in ast.walk(tree)
            if isinstance(node, ast.Constant) and id(node) not in aside and SAID.search(str(node.value))
        ]
    # The key of a place that nobody knows.
    assert [one.partition(" ")[2] for one in found] == ["worn hose", "its place"]


class Marking:
    """Gives back each sentence in capitals within brackets, so that what was not asked for is seen."""

    def gettext(self, message: str, /) -> str:
        loud = re.sub(r"(%\(\w+\)s)|[^%]+", lambda one: one[0] if one[1] else one[0].upper(), message)
        return f"⟦{loud}⟧"

    def ngettext(self, singular: str, plural: str, number: int, /) -> str:
        return self.gettext(singular if number == 1 else plural)


@pytest.fixture
def marked():
    before = wording.set_translator(Marking())
    yield
    wording.set_translator(before)


def unmarked(text: str, allowed: set[str]) -> list[str]:
    """The words of a text that no sentence brought: its keys begin with a capital, its measures are named."""
    return [word for word in re.findall(r"\b[a-z]{2,}\b", text) if word not in allowed | {"bar", "mm"}]


HEAT = {"maximum_temperature_c": 100.0, "minimum_temperature_c": -40.0, "minimum_bend_radius_mm": 130.0}
WINDOWS = [a_window(f"M-{machine}", f"2027-{month:02d}-10") for machine in (1, 2) for month in range(1, 13)]


def a_decision(assembly: str, kind: str, day: str | None = None, **more) -> dict:
    usual = {"decided_on": "2027-01-03", "decided_by": "A. Example", "reason": "CRANE AWAY"}
    return {"assembly": assembly, "decision": kind, "day": day, **usual, **more}


def a_telling_fleet(**more) -> dict[str, pd.DataFrame]:
    """Two machines here and one elsewhere, of which a plan has something to say in each of its tables."""
    places = [("M-1", f"P-{number}") for number in range(1, 9)] + [("M-2", "P-1"), ("M-3", "P-1")]
    special = {
        "P-1": {"peak_pressure_bar": 400.0, "fluid_temperature_c": 120.0, "bend_radius_mm": 90.0},
        "P-2": {"peak_pressure_bar": 320.0, "ambient_temperature_c": -50.0, "exposure": "abrasive+hot"},
        "P-3": {"line": "suction", "flow_lpm": 200.0},
        "P-4": {"working_pressure_bar": None, "peak_pressure_bar": None},
        "P-5": {"design": "D-2", "planned_cost": None},
        "P-6": {"design": "D-2", "peak_pressure_bar": 400.0, "failure_cost": None, "critical": True},
        "P-7": {"design": "D-3", "flow_lpm": 200.0},
    }
    here = [
        an_installation(f"{machine}/{position}", machine, position, crimped_by="Bench 1", hose_lot="L-1")
        for machine, position in places
    ]
    gone = [  # one after the other in each position
        an_installation(f"G-{number}", "M-1", f"P-{number % 7 + 2}", built_on=None)
        | {"installed_on": f"{2015 + number // 7}-01-05", "removed_on": f"{2015 + number // 7}-11-05"}
        | {"removal_cause": "failed" if number < 24 else "unknown"}
        for number in range(26)
    ]
    here[7] |= {"built_on": None, "design": None, "hose_made_on": None}
    here[8] |= {"hose_made_on": "2010-01-04"}
    rows = {
        # So young that no plan looks back on past dates, which would take as long as all the rest.
        "sites": [a_site(name, register_began_on="2026-08-01") for name in ("North", "South")],
        "machines": [a_machine("M-1"), a_machine("M-2"), a_machine("M-3", site="South")],
        "meter_readings": [
            {"machine": "M-1", "read_on": f"{year}-06-01", "hours": 2_000.0 * (year - 2014)}
            for year in range(2015, 2027)
        ],
        "parts": [
            hose(**HEAT, shelf_life_days=3_650.0),
            hose("H-9", rated_pressure_bar=None, material="NBR"),
            hose("H-8", lead_time_days=None, pack_quantity=500.0),
            hose_end(),
            hose_end("E-9", obsolete=True, superseded_by="E-6"),
            hose_end("E-8", obsolete=True, rated_pressure_bar=None),
        ],
        "designs": [
            a_design(),
            a_design("D-2", hose_part="H-9", end_a_part="E-9", end_b_part="E-8"),
            a_design("D-3", hose_part="H-8"),
        ],
        "positions": [a_position(m, p, **(special.get(p, {}) if m == "M-1" else {})) for m, p in places],
        "installations": [*here, *gone],
        "builds": [
            {"assembly": one["assembly"], "design": "D-1", "built_on": "2024-01-04"}
            | {"insertion_a_seen": number > 0, "insertion_b_seen": True, "cleanings_before": number % 2}
            for number, one in enumerate([*here, *gone[:15]])
        ],
        "stock": [on_shelf("E-6", 500.0, "South"), on_shelf("H-6", 0.2), on_shelf("H-6", 300.0, "South")],
        "open_orders": [an_order("H-6", 1.0, "2027-09-20")],
        "service_windows": WINDOWS,
        "policies": [{"scope": "all", "age_limit_days": 1_300.0, "thin_margin_percent": 20.0}],
        "decisions": [
            a_decision("M-1/P-1", "refuse"),
            a_decision("M-1/P-2", "not_after", "2027-02-15"),
            a_decision("M-1/P-3", "not_before", "2027-11-15"),
            a_decision("M-1/P-4", "keep", "2027-05-10"),
            a_decision("M-1/P-5", "keep", "2027-05-20"),
            a_decision("M-1/P-6", "not_before", "2027-10-01"),
            a_decision("M-2/P-1", "keep", "2027-02-11", withdrawn_on="2027-01-03"),
        ],
    }
    return build_tables(**{**rows, **more}) | {"ratings": load_ratings()}


SENTENCES = [
    ("margins", "reason"),
    ("factors", "factor"),
    ("changeouts", "reason"),
    ("stock_advice", "why"),
    ("transfers", "why"),
    ("changes", "before"),
    ("changes", "now"),
    ("changes", "cause"),
    ("gaps", "why"),
]


def test_every_sentence_of_a_plan_is_asked_for(marked):
    settings, steps = Settings(freight_cost=1.0), []
    before = a_telling_fleet(decisions=[], policies=[], open_orders=[])
    first = make_plan(before, settings, AS_OF - timedelta(days=30), np.random.default_rng(1))
    plan = make_plan(
        a_telling_fleet(), settings, AS_OF, np.random.default_rng(1), first.tables, steps.append,
        AS_OF - timedelta(days=30),
    )  # fmt: skip

    files = {*INPUTS, *(column for table in INPUTS.values() for column in table.names)}
    for name, column in SENTENCES:
        told = [one for one in plan.tables[name][column].dropna().unique() if one]
        assert len(told) > (name != "transfers"), f"{name}.{column} says nothing"
        assert [one for one in told if not one.startswith("⟦")] == []
        assert [one for one in told if unmarked(one, files if name == "gaps" else set())] == []
    # What is demanded and why something is due are no words put into a sentence.
    assert [one for one in plan.tables["margins"]["reason"] if one.startswith("⟦⟦")] == []
    said = [one for column in ("before", "now") for one in plan.tables["changes"][column]]
    assert [one for one in said if re.search("⟦[^⟧]*⟦", one)] == []
    for name, table in OUTPUTS.items():
        for column in table.columns:
            if column.kind == "text" and (name, column.name) not in SENTENCES:
                values = plan.tables[name][column.name].dropna().unique()
                assert [one for one in values if SAID.search(one)] == [], f"{name}.{column.name}"
    populations = [one[column] for one in plan.report["populations"] for column in ("clock", "model")]
    others = [*plan.report["warnings"], *populations, plan.report["failures_ahead"]["reason"], *steps]
    assert len(plan.report["warnings"]) > 3
    assert [one for one in others if unmarked(one, set())] == []


def test_every_sentence_beside_a_plan_is_asked_for(marked):
    more = [
        hose("H-7", dash=8.0, bore_mm=12.7),
        hose("H-5", **HEAT, rated_pressure_bar=280.0, bore_mm=6.0, conductive=False, material="PA"),
        hose_end("E-7", end_style="JIC 37", thread="M20"),
    ]
    tables = a_telling_fleet(
        parts=[hose(**HEAT, bore_mm=9.5, conductive=True, material="NBR"), hose_end(end_style="ORFS"), *more],
        designs=[a_design()],
        sites=[a_site(), a_site("South")],
        crimp_specs=[
            {"hose_part": part, "end_part": "E-6", "crimp_diameter_mm": 21.2} for part in ("H-6", "H-5")
        ],
    )
    worn = make_table([hose("H-6", **HEAT)], PARTS)
    told = []
    for need in (need_of_position(tables, "M-1", "P-1"), need_of_position(tables, "M-1", "P-4"),
                 need_of_hose(tables, worn)):  # fmt: skip
        judged = judge_stand_ins(need, tables)
        told += [*need.notes, *judged.candidates["reason"].dropna(), *judged.ends["reason"].dropna()]
    past = replay(tables, [AS_OF - timedelta(days=days) for days in (9_000, 200)], AS_OF,
                  lambda: np.random.default_rng(1), told.append)  # fmt: skip
    told += [*tell_scores(past), *past.passed_over]
    with pytest.raises(BadTable) as refused:
        make_table([hose(), hose()], PARTS)

    assert len(set(told)) > 30
    assert not past.scores.empty and past.passed_over
    assert [one for one in told if unmarked(one, {"jic", "orfs"})] == []
    assert str(refused.value).startswith("⟦TABLE parts, ROW 1:")
