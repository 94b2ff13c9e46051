"""What is written aside is put into its place whole, one writer after the other, and leaves nothing over."""

import subprocess
import sys
import threading
from pathlib import Path

from fleet.exchange.aside import written_aside

ROOT = Path(__file__).parents[3]
WRITES_FOR_EVER = """
import sys, time
from pathlib import Path
from fleet.exchange.aside import written_aside
with written_aside(Path(sys.argv[1])) as aside:
    (aside / "kits.csv").write_text("half")
    print("begun", flush=True)
    time.sleep(600)
"""


def write(folder: Path, text: str) -> None:
    with written_aside(folder) as aside:
        (aside / "kits.csv").write_text(text)
        (aside / "kits.csv").replace(folder / "kits.csv")


def test_what_a_killed_process_left_is_cleared_by_the_next(tmp_path):
    write(tmp_path, "whole")
    killed = subprocess.Popen(
        [sys.executable, "-c", WRITES_FOR_EVER, str(tmp_path)], cwd=ROOT, stdout=subprocess.PIPE
    )
    assert killed.stdout.readline() == b"begun\n"
    killed.kill()
    killed.communicate()
    assert len(list(tmp_path.iterdir())) == 2, "it was killed midway"
    assert (tmp_path / "kits.csv").read_text() == "whole"

    write(tmp_path, "new")

    assert [(one.name, one.read_text()) for one in tmp_path.iterdir()] == [("kits.csv", "new")]


def test_nobody_clears_what_another_is_writing(tmp_path):
    second = threading.Thread(target=write, args=[tmp_path, "second"])
    with written_aside(tmp_path) as aside:
        second.start()
        second.join(0.3)
        assert second.is_alive() and aside.is_dir()
        (aside / "kits.csv").write_text("first")
        (aside / "kits.csv").replace(tmp_path / "kits.csv")
        assert (tmp_path / "kits.csv").read_text() == "first"
    second.join()
    assert (tmp_path / "kits.csv").read_text() == "second"


def test_another_hidden_folder_is_left_alone(tmp_path):
    (tmp_path / ".notes").mkdir()
    write(tmp_path, "new")
    assert {one.name for one in tmp_path.iterdir()} == {".notes", "kits.csv"}
