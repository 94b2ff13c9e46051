"""Tables to take away as CSV and as workbooks."""

import csv
from io import BytesIO, StringIO

import pytest
from django.urls import reverse
from openpyxl import load_workbook

from fleet.models import LINES, Assembly, FolderReading, ReadingState, Role
from fleet.pages.sheets import plain_cell


def sheet(client, organization, name, **query):
    answer = client.get(reverse(name, args=[organization.slug]), {**query, "save": "csv"})
    assert answer["Content-Type"] == "text/csv; charset=utf-8"
    return list(csv.DictReader(StringIO(answer.getvalue().decode())))


@pytest.mark.parametrize(
    ("name", "table"),
    [
        ("due", "changeouts"),
        ("margins", "margins"),
        ("cuts", "cut_list"),
        ("order", "stock_advice"),
        ("shelves", "stock_advice"),
        ("transfers", "transfers"),
        ("suspects", "suspects"),
        ("gaps", "gaps"),
    ],
)
def test_a_list_leaves_in_the_columns_of_its_file_out(planned, member_of, name, table):
    client = member_of(planned)
    page = client.get(reverse(name, args=[planned.slug]))
    rows = sheet(client, planned, name)
    assert len(rows) == page.context["page"].paginator.count > 0
    assert set(rows[0]) <= {field.name for field in LINES[table]._meta.concrete_fields}


def test_a_workbook_holds_what_the_csv_holds_and_no_formula(planned, member_of):
    Assembly.objects.filter(key="A-2-2").update(crimped_by="=2+2")
    client = member_of(planned, Role.SHOP)
    of_csv = sheet(client, planned, "assemblies")
    answer = client.get(reverse("assemblies", args=[planned.slug]), {"save": "xlsx"})
    assert answer["Content-Disposition"] == 'attachment; filename="installed.xlsx"'
    headers, *rows = load_workbook(BytesIO(answer.getvalue())).active.iter_rows(values_only=True)
    assert list(headers) == list(of_csv[0])
    assert [row[0] for row in rows] == [row["assembly"] for row in of_csv]
    assert "'=2+2" in [row[headers.index("crimped_by")] for row in rows]


def test_a_workbook_leaves_out_what_none_can_hold(planned, member_of):
    """A bell or an escape that came in with a text: the workbook would be an error page."""
    Assembly.objects.filter(key="A-2-2").update(crimped_by="bench\x07 2\x1b")
    answer = member_of(planned, Role.SHOP).get(reverse("assemblies", args=[planned.slug]), {"save": "xlsx"})
    headers, *rows = load_workbook(BytesIO(answer.getvalue())).active.iter_rows(values_only=True)
    assert "bench 2" in [row[headers.index("crimped_by")] for row in rows]


def test_what_is_installed_leaves_as_it_is_filtered(planned, member_of):
    Assembly.objects.filter(key="A-2-2").update(hose_lot="L-78")
    (row,) = sheet(member_of(planned, Role.SHOP), planned, "assemblies", hose_lot="L-78")
    assert (row["assembly"], row["machine"], row["position"]) == ("A-2-2", "M-02", "boom 2")
    said = LINES["forecasts"].objects.get(assembly="A-2-2")
    assert float(row["p_fail_365d"]) == said.p_fail_365d and row["due_on"] == str(said.due_on or "")
    assert row["margin"] == LINES["margins"].objects.get(assembly="A-2-2").verdict


def test_a_small_chance_leaves_in_plain_decimals(planned, member_of):
    LINES["forecasts"].objects.filter(assembly="A-2-2").update(p_fail_365d=0.000044)
    rows = sheet(member_of(planned, Role.SHOP), planned, "assemblies")
    assert "0.000044" in [row["p_fail_365d"] for row in rows]


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "\t=1", " =1"])
def test_a_text_that_a_spreadsheet_would_run_follows_an_apostrophe(text):
    assert plain_cell(text) == f"'{text}"


def test_numbers_and_plain_texts_stay_as_they_are():
    assert [plain_cell(value) for value in (-3.5, None, "A-1-1", True)] == [-3.5, None, "A-1-1", "yes"]


def test_findings_leave_without_formulas(gravel, member_of):
    finding = {
        "severity": "error",
        "file": "parts",
        "line": 2,
        "column": "part",
        "value": '=HYPERLINK("x")',
        "wrong": "It is no part.",
        "right": "",
    }
    reading = FolderReading.objects.create(
        organization=gravel, state=ReadingState.REFUSED, failure="1 error", findings=[finding]
    )
    answer = member_of(gravel).get(reverse("folder_findings", args=[gravel.slug, reading.pk]))
    (row,) = csv.DictReader(StringIO(answer.content.decode()))
    assert row["value"] == '\'=HYPERLINK("x")'
