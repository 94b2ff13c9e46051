"""Sentences for people are asked for whole: who translates finds them, and may order their parts anew."""

import ast
import importlib
import pkgutil
import re
import shutil
import subprocess
import sys
from pathlib import Path

from django.utils.functional import Promise

import fleet.services
from fleet.services.errors import ServiceError
from forecasting import wording
from tests.conftest import lacking

ROOT = Path(__file__).resolve().parent.parent
ASKING = {"_", "gettext", "gettext_lazy", "gettext_noop", "ngettext", "ngettext_lazy"}
PLACE = re.compile(r"%\((\w+)\)s")


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


def test_every_refusal_tells_a_sentence_that_can_be_translated():
    for module in pkgutil.iter_modules(fleet.services.__path__):
        importlib.import_module(f"fleet.services.{module.name}")
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
    ):
        assert f'msgid "{sentence}"' in gathered
