"""Pictures of pages, kept where SCREENSHOTS names a folder."""

import os
from pathlib import Path


def keep_picture(page, name: str) -> None:
    folder = os.environ.get("SCREENSHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)
