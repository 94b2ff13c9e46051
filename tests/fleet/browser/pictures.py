"""Pictures of pages, kept where SCREENSHOTS names a folder."""

import os
from pathlib import Path


def keeps_pictures() -> bool:
    return bool(os.environ.get("SCREENSHOTS"))


def keep_picture(page, name: str) -> None:
    folder = os.environ.get("SCREENSHOTS")
    if folder:
        Path(folder).mkdir(parents=True, exist_ok=True)
        page.screenshot(path=Path(folder) / f"{name}.png", full_page=True)


def keep_print(page, name: str) -> None:
    """A picture of the page as paper has it."""
    if keeps_pictures():
        page.emulate_media(media="print")
        keep_picture(page, name)
        page.emulate_media(media="screen")
