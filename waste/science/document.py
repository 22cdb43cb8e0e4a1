"""What a file is, judged by what is in it; its name only has to agree."""

import re
from dataclasses import dataclass

PDF, PNG, JPEG, TEXT = "application/pdf", "image/png", "image/jpeg", "text/plain"
HIGHEST_SIZE = 10 * 1024 * 1024
ENDINGS = {"pdf": PDF, "png": PNG, "jpg": JPEG, "jpeg": JPEG, "txt": TEXT, "csv": TEXT}
LONGEST_NAME = 100
# What browsers and mail readers would run or draw, were it served as what it is.
MARKUP = re.compile(r"\s*(<|#!)")
TAIL = 1024


@dataclass(frozen=True)
class NameFault:
    """Why a file's name will not do."""

    code: str
    words: str


def media_type(data: bytes) -> str | None:
    """Return what the bytes are, or None for what is not kept here.

    PDF: begins with ``%PDF-`` and ends with ``%%EOF`` (ISO 32000-1, 7.5.2 and 7.5.5). PNG: its eight bytes, IHDR first,
    IEND last (ISO/IEC 15948, 5.2 and 5.6). JPEG: begins with SOI and a marker, ends with EOI (ITU-T T.81, B.1.1.3).
    All from memory. Text: UTF-8 without control characters, and no markup or script.
    """
    if data.startswith(b"%PDF-"):
        return PDF if b"%%EOF" in data[-TAIL:] else None
    if data.startswith(b"\x89PNG\r\n\x1a\n"):
        return PNG if data[12:16] == b"IHDR" and data[-8:-4] == b"IEND" else None
    if data.startswith(b"\xff\xd8\xff"):
        return JPEG if data.rstrip(b"\x00").endswith(b"\xff\xd9") else None
    return TEXT if _is_plain_text(data) else None


def name_fault(name: str, kind: str) -> NameFault | None:
    """Return what is wrong with a file's name for a file of that kind, or None: a bare name with a fitting ending."""
    if re.search(r"[/\\:]", name) or ".." in name or name.startswith("."):
        return NameFault("document.path_in_name", "A file's name has no path in it: send consignment-note.pdf.")
    if len(name) > LONGEST_NAME:
        return NameFault("document.name_too_long", f"A file's name has at most {LONGEST_NAME} characters.")
    ending = name.rpartition(".")[2].lower() if "." in name else ""
    if ENDINGS.get(ending) == kind:
        return None
    fitting = " or ".join(f".{each}" for each, of in ENDINGS.items() if of == kind)
    return NameFault("document.false_type", f"By its content this file is {kind}, so its name ends in {fitting}.")


def _is_plain_text(data: bytes) -> bool:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        return False
    controls = any((ord(letter) < 32 and letter not in "\t\r\n") or ord(letter) == 127 for letter in text)
    return bool(text.strip()) and not controls and MARKUP.match(text) is None
