"""The table of findings: in order, whole, and bounded."""

from fleet.exchange.findings import Finding, Findings, Severity, findings_csv


def add_empty_cells(findings: Findings, rows: int, file: str = "sites.csv") -> None:
    findings.add(
        Severity.ERROR,
        "empty cell",
        file,
        "name",
        range(2, 2 + rows),
        lambda line: (line, "", "The cell is empty.", "Fill it."),
    )


def test_each_kind_is_listed_a_thousand_times_and_the_rest_counted():
    findings = Findings()
    add_empty_cells(findings, 900)
    add_empty_cells(findings, 1_334)
    add_empty_cells(findings, 3, "parts.csv")
    listed = findings.listed()
    assert findings.errors == 2_237
    assert len(listed) == 1_004
    assert listed[-1] == Finding(
        Severity.ERROR,
        "sites.csv",
        None,
        "name",
        "",
        "1,234 more findings of this kind are not listed (empty cell).",
        "Mend the listed ones and read again.",
    )


def test_errors_come_before_warnings_and_each_by_file_and_line():
    findings = Findings()
    findings.add(Severity.WARNING, "a", "a.csv", "x", [1], lambda line: (line, "", "doubt", ""))
    for file, line in (("b.csv", 3), ("b.csv", 2), ("a.csv", 9)):
        findings.error("b", file, line, "x", "", "wrong", "right")
    assert [(one.severity, one.file, one.line) for one in findings.listed()] == [
        ("error", "a.csv", 9),
        ("error", "b.csv", 2),
        ("error", "b.csv", 3),
        ("warning", "a.csv", 1),
    ]
    assert (findings.errors, findings.warnings) == (3, 1)


def test_findings_are_written_as_the_contract_has_them():
    finding = Finding(Severity.ERROR, "sites.csv", 14, "name", 'a "b"', "Wrong, that.", "Right.")
    about_no_line = Finding(Severity.WARNING, "sites.csv", None, "", "", "Odd.", "")
    assert findings_csv([finding, about_no_line]) == (
        "severity,file,line,column,value,wrong,right\n"
        'error,sites.csv,14,name,"a ""b""","Wrong, that.",Right.\n'
        "warning,sites.csv,,,,Odd.,\n"
    )


def test_a_finding_reads_as_a_sentence_with_its_place():
    finding = Finding(
        Severity.ERROR,
        "positions.csv",
        14,
        "working_pressure_bar",
        "3500",
        "3500 is above 1,000 bar.",
        "Enter bar, not psi (3500 psi = 241 bar).",
    )
    assert str(finding) == (
        "positions.csv, row 14, working_pressure_bar: 3500 is above 1,000 bar. "
        "Enter bar, not psi (3500 psi = 241 bar)."
    )
