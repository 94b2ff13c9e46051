"""Writing the register back as a fleet folder."""

from pathlib import Path

from fleet.exchange.aside import written_aside
from fleet.exchange.schema import FILES
from fleet.exchange.sources import passed_over
from fleet.exchange.writing import file_name, write_folder
from fleet.frames.register import register_tables
from fleet.frames.snapshots import one_snapshot
from fleet.models import Organization

from ..errors import FolderTaken


def export_fleet(*, organization: Organization, folder: Path) -> list[str]:
    """The names of the files written: the register as it was at one moment, as `import_fleet` takes it.

    An earlier export in `folder` is replaced, files without rows taken away. Everything is first written
    aside, so that stopping leaves what stood. Raises FolderTaken where the folder holds anything else.
    """
    names = {file_name(file) for file in FILES}
    is_new = not folder.exists()
    there = set() if is_new else {one.name for one in folder.iterdir()}
    strangers = sorted(name for name in there - names if not passed_over(name))
    if strangers:
        raise FolderTaken(folder=folder, stranger=strangers[0])
    with one_snapshot():
        tables = register_tables(organization)
    try:
        with written_aside(folder) as aside:
            written = write_folder(tables, aside)
            for name in written:
                (aside / name).replace(folder / name)
    except BaseException:
        if is_new and folder.exists():
            for one in folder.iterdir():
                one.unlink()
            folder.rmdir()
        raise
    for name in names - set(written):
        (folder / name).unlink(missing_ok=True)
    return written
