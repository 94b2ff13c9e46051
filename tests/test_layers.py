"""The arrows between the packages run one way, as the contracts in pyproject.toml say."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent


def test_every_contract_between_the_layers_is_kept():
    linter = Path(sys.executable).with_name("lint-imports")

    checked = subprocess.run([linter, "--no-cache"], cwd=ROOT, capture_output=True, text=True)

    assert checked.returncode == 0, checked.stdout + checked.stderr


def test_the_core_computes_without_django():
    code = (
        "import sys; sys.modules.update(dict.fromkeys(['django', 'rest_framework', 'celery', 'fleet']));"
        "import forecasting.pipeline"
    )
    environment = {name: value for name, value in os.environ.items() if name != "DJANGO_SETTINGS_MODULE"}

    imported = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, env=environment, capture_output=True, text=True
    )

    assert imported.returncode == 0, imported.stderr
