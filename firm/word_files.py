"""Reads a translation as people write it (`.po`) and makes of it what Django reads (`.mo`).

Gettext's own tools do the same, but a fresh machine has Python alone. Both formats as the manual of
GNU gettext describes them: https://www.gnu.org/software/gettext/manual/html_node/MO-Files.html
"""

import ast
import struct
from pathlib import Path

MAGIC = 0x950412DE
HEADER_BYTES = 28
PAIR_BYTES = 8
CONTEXT_END = "\x04"
FORM_END = "\x00"


def read_po(path: Path) -> dict[str, str]:
    """Return the translations of a `.po` file by their key, as the `.mo` file holds both."""
    found: dict[str, str] = {}
    for block in path.read_text(encoding="utf-8").split("\n\n"):
        fields = _fields(block)
        if "msgid" not in fields:
            continue
        context = f"{fields['msgctxt']}{CONTEXT_END}" if "msgctxt" in fields else ""
        if "msgid_plural" in fields:
            key = f"{context}{fields['msgid']}{FORM_END}{fields['msgid_plural']}"
            found[key] = FORM_END.join((fields["msgstr[0]"], fields["msgstr[1]"]))
        else:
            found[f"{context}{fields['msgid']}"] = fields["msgstr"]
    return found


def _fields(block: str) -> dict[str, str]:
    """Return the fields of one entry; a text may run on over lines."""
    fields: dict[str, str] = {}
    name = ""
    for line in block.splitlines():
        if line.startswith("#") or not line.strip():
            continue
        if not line.startswith('"'):
            name, _, line = line.partition(" ")
            fields[name] = ""
        fields[name] += ast.literal_eval(line)
    return fields


def mo_bytes(words: dict[str, str]) -> bytes:
    """Return the `.mo` file of some translations: two tables of lengths and places, then texts."""
    pairs = sorted((key.encode(), said.encode()) for key, said in words.items() if said)
    count = len(pairs)
    keys_at = HEADER_BYTES
    texts_at = keys_at + 2 * PAIR_BYTES * count
    tables, texts = b"", b""
    for column in (0, 1):
        for pair in pairs:
            tables += struct.pack("<II", len(pair[column]), texts_at + len(texts))
            texts += pair[column] + b"\0"
    places = (0, count, keys_at, keys_at + PAIR_BYTES * count, 0, texts_at)
    return struct.pack("<7I", MAGIC, *places) + tables + texts
