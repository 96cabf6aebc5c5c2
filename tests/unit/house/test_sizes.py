"""No file over 300 lines, no function over 40, no class with more than 15 public methods: ours, tests included."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from rigd_tree import files, text_of

FILE_LINES, FUNCTION_LINES, PUBLIC_METHODS = 300, 40, 15

CODE = {".py", ".js", ".mjs", ".ts", ".c", ".h", ".css", ".html", ".sh"}

Function = ast.FunctionDef | ast.AsyncFunctionDef

SHAPES = {
    ".js": re.compile(r"^( *)(?:export |default |async |static |function\b)*\*?[#\w]* *\(.*\) *(?:=> *)?\{$"),
    ".c": re.compile(r"^()\w[\w *]*\([^;]*$"),
}
"""How a function begins, its indent in the group; it ends at the next line that is a closing brace at that indent."""

WORDS_WITH_BLOCKS = ("if", "for", "while", "switch", "catch", "} ", "with")


def functions_of(path: Path, text: str) -> Iterator[tuple[str, int]]:
    """Name and length in lines of each function: exact for Python, by indent for the languages with braces."""
    if path.suffix == ".py":
        for node in ast.walk(ast.parse(text)):
            if isinstance(node, Function):
                yield node.name, (node.end_lineno or node.lineno) - node.lineno + 1
    elif path.suffix in SHAPES:
        yield from _by_braces(SHAPES[path.suffix], text.splitlines())


def _by_braces(shape: re.Pattern[str], lines: list[str]) -> Iterator[tuple[str, int]]:
    for first, line in enumerate(lines):
        match = shape.match(line)
        if not match or line.strip().startswith(WORDS_WITH_BLOCKS):
            continue
        closing = re.compile(match[1] + r"\}[;,)]*$")
        last = next((at for at in range(first + 1, len(lines)) if closing.match(lines[at])), None)
        if last:
            yield line.strip(), last - first + 1


def public_methods(node: ast.ClassDef) -> int:
    return sum(isinstance(item, Function) and not item.name.startswith("_") for item in node.body)


def too_big(path: Path, text: str) -> list[str]:
    found = []
    if len(text.splitlines()) > FILE_LINES:
        found.append(f"{path}: {len(text.splitlines())} lines")
    found += [f"{path}: {name}: {size} lines" for name, size in functions_of(path, text) if size > FUNCTION_LINES]
    if path.suffix == ".py":
        classes = [node for node in ast.walk(ast.parse(text)) if isinstance(node, ast.ClassDef)]
        found += [f"{path}: class {one.name}: many methods" for one in classes if public_methods(one) > PUBLIC_METHODS]
    return found


def test_nothing_of_ours_is_too_big() -> None:
    ours = [path for path in files() if path.suffix in CODE]
    assert len(ours) > 20
    found = [line for path in ours for line in too_big(path, text_of(path) or "")]
    assert not found, "\n".join(found)


PYTHON = "class A:\n" + "".join(f"    def m{n}(self): ...\n" for n in range(16)) + "def long():\n" + "    x = 1\n" * 40
JAVASCRIPT = "class A {\n  #draw(a, b) {\n" + "    x();\n" * 39 + "  }\n}\nexport function short() {\n  x();\n}\n"
C = "static int turn(int a)\n{\n" + "    x();\n" * 38 + "}\n"


@pytest.mark.parametrize(
    ("name", "text", "count"),
    [("a.py", PYTHON, 2), ("a.js", JAVASCRIPT, 1), ("a.c", C, 1), ("a.css", "x\n" * 301, 1), ("b.py", "x = 1\n", 0)],
)
def test_what_is_too_big_is_seen(name: str, text: str, count: int) -> None:
    assert len(too_big(Path(name), text)) == count
