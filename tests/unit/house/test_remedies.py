"""Whatever is refused says what to do: no error and no problem is made without a remedy. The rule is our own."""

from __future__ import annotations

import ast
from collections.abc import Iterator

from rigd_tree import files, text_of

from rigd import errors

OURS = {name for name, kind in vars(errors).items() if isinstance(kind, type) and issubclass(kind, errors.RigdError)}
# How many positions stand before the remedy: what and why; of a problem also its status and code.
BEFORE = {**dict.fromkeys(OURS, 2), "Problem": 4}


def without_remedy(text: str) -> Iterator[int]:
    """Lines of calls that make an error without one."""
    for node in ast.walk(ast.parse(text)):
        if not isinstance(node, ast.Call):
            continue
        name = node.func.id if isinstance(node.func, ast.Name) else getattr(node.func, "attr", "")
        if name not in BEFORE or any(isinstance(one, ast.Starred) for one in node.args):
            continue
        said = [*node.args[BEFORE[name] :][:1], *(word.value for word in node.keywords if word.arg == "remedy")]
        if not said or (isinstance(said[0], ast.Constant) and not said[0].value):
            yield node.lineno


def test_every_refusal_says_what_to_do() -> None:
    texts = {path: text_of(path) for path in files() if str(path).startswith("rigd/") and path.suffix == ".py"}
    assert len(texts) > 100
    found = [f"{path}:{line}" for path, text in texts.items() for line in without_remedy(text or "")]
    assert not found, "\n".join(found)


def test_one_that_does_not_is_found() -> None:
    text = 'raise Busy("x")\nraise errors.Busy("x", "y", "")\nraise Busy("x", "y", "z")\nraise Busy("x", remedy="z")\n'
    assert list(without_remedy(text)) == [1, 2]
