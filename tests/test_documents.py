"""What the documents say of the project is so."""

import re
from pathlib import Path

import pytest
from django.core.management import get_commands

import fleet.settings

ROOT = Path(__file__).resolve().parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
COMMANDS = sorted(name for name, app in get_commands().items() if app == "fleet")
TEXTS = (".py", ".md", ".html", ".css", ".js", ".csv", ".toml", ".sh", "")


def written_files() -> list[Path]:
    """Every text file of the project that a person wrote."""
    places = [ROOT / name for name in ("fleet", "forecasting", "templates", "tests", "demo_data", ".ci")]
    inside = [path for place in places for path in place.rglob("*") if path.suffix in TEXTS]
    files = [path for path in [*ROOT.iterdir(), *inside] if path.is_file() and path.suffix in TEXTS]
    return [path for path in files if "__pycache__" not in path.parts and "vendor" not in path.parts]


def test_the_readme_opens_with_one_paragraph_that_states_the_job():
    title, _, rest = README.partition("\n\n")
    opening = rest.partition("\n## ")[0].strip()

    assert title.startswith("# ")
    assert "\n\n" not in opening
    assert all(word in opening for word in ("hose", "fail", "change", "kits", "order"))


def test_the_readme_gives_two_commands_first_to_see_it_then_to_test_it():
    commands = re.findall(r"^    (python3 .*)$", README, flags=re.MULTILINE)

    assert len(commands) == 2
    assert commands[0].endswith("manage.py quickstart")
    assert commands[1].endswith("-m pytest")


@pytest.mark.parametrize("command", COMMANDS)
def test_every_command_is_documented(command):
    assert f"`{command}" in README + DEVELOPERS


@pytest.mark.parametrize(
    "variable", re.findall(r"^([A-Z_]+)(?:=1)? {2,}", fleet.settings.__doc__, re.MULTILINE)
)
def test_every_variable_of_the_environment_is_documented(variable):
    assert f"`{variable}" in README


def test_every_file_that_a_document_links_to_is_there():
    for document in (README, DEVELOPERS):
        for target in re.findall(r"\]\(([^)#]+)\)", document):
            assert target.startswith("https://") or (ROOT / target).exists(), target


def test_the_cautions_stand_in_the_readme():
    assert "## Cautions" in README
    assert "Never feel for leaks" in README
    assert "surgical emergency" in README


def test_every_decision_has_its_date():
    decisions = DEVELOPERS.partition("## Decisions")[2]
    entries = re.findall(r"^\*\*(.+?)\*\*", decisions, flags=re.MULTILINE | re.DOTALL)

    assert len(entries) >= 5
    assert [one for one in entries if not re.match(r"\d{4}-\d{2}-\d{2} · ", one)] == []


def test_the_project_stands_on_no_machine_of_its_own():
    absolute = re.compile(r"(?<![\w.~-])/(?:home|root|work|Users|tmp|opt)/\w+")

    found = {
        str(path.relative_to(ROOT)): absolute.findall(path.read_text(encoding="utf-8"))
        for path in written_files()
    }

    assert {name: paths for name, paths in found.items() if paths} == {}


def test_ci_runs_the_command_that_the_readme_gives():
    assert "README.md" in (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    assert len(re.findall(r"^    .*-m pytest$", README, flags=re.MULTILINE)) == 1
