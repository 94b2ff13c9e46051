"""A compiled catalogue of a language that there is not, for tests of what is translated."""

import struct
from pathlib import Path

LANGUAGE = "zz"
HEADER = "Content-Type: text/plain; charset=UTF-8\nPlural-Forms: nplurals=2; plural=(n != 1);\n"


def write_catalogue(folder: Path, sentences: dict[str, str]) -> Path:
    """`folder` with LANGUAGE's catalogue in it, as LOCALE_PATHS takes it.

    The file is laid out as the GNU gettext manual says under "The Format of GNU MO Files": a header of seven
    words, the lengths and places of the originals in their order, those of the translations, then the texts.
    """
    pairs = sorted({"": HEADER, **sentences}.items())
    columns = [[text.encode() for text in column] for column in zip(*pairs, strict=True)]
    places = 28
    texts_begin = places + 16 * len(pairs)
    header = struct.pack("<7I", 0x950412DE, 0, len(pairs), places, places + 8 * len(pairs), 0, texts_begin)
    tables, texts = b"", b""
    for column in columns:
        for text in column:
            tables += struct.pack("<2I", len(text), texts_begin + len(texts))
            texts += text + b"\0"
    path = folder / LANGUAGE / "LC_MESSAGES" / "django.mo"
    path.parent.mkdir(parents=True)
    path.write_bytes(header + tables + texts)
    return folder
