"""Every phrase of the app that can be said in another language, found in its source."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from django.utils.translation.template import templatize

ROOT = Path(__file__).resolve().parents[1]
MARKS = {"Said", "_", "gettext", "gettext_lazy"}
PLURAL_MARKS = {"ngettext", "ngettext_lazy"}
LITERAL = re.compile(r"""u?(?:'(?:\\.|[^'\\])*'|"(?:\\.|[^"\\])*")""")
CALL = re.compile(rf"\b([pn]?gettext)\(((?:{LITERAL.pattern}(?:, )?)+)")
# A form of a day, as the `date` filter takes it: its parts stand in another order in each language.
DAY_FORM = re.compile(r"""\|dated:["']([^"']+)["']""")


def phrases() -> set[str]:
    """Return the keys of all phrases, as a `.mo` file has them."""
    found: set[str] = set()
    for path in (ROOT / "templates").rglob("*.html"):
        text = path.read_text(encoding="utf-8")
        found |= set(DAY_FORM.findall(text))
        if "load i18n" in text:
            found |= set(_in_template(text))
    for app in ("firm", "estimating", "scheduling"):
        for path in (ROOT / app).rglob("*.py"):
            found |= set(_called(ast.parse(path.read_text(encoding="utf-8"))))
    return found


def _in_template(text: str) -> Iterator[str]:
    """Yield a template's phrases; Django blanks out all that is none."""
    for name, literals in CALL.findall(templatize(text)):
        texts = [ast.literal_eval(each) for each in LITERAL.findall(literals)]
        yield {"pgettext": "\x04", "ngettext": "\0", "gettext": ""}[name].join(texts)


def _called(tree: ast.AST) -> Iterator[str]:
    for node in ast.walk(tree):
        if not isinstance(node, ast.Call) or not isinstance(node.func, ast.Name):
            continue
        texts = [
            each.value
            for each in node.args
            if isinstance(each, ast.Constant) and isinstance(each.value, str)
        ]
        name = node.func.id
        if name in MARKS and texts:
            yield texts[0]
        elif name in PLURAL_MARKS and len(texts) == 2:
            yield "\0".join(texts)
        elif name == "pgettext" and len(texts) == 2:
            yield "\x04".join(texts)
