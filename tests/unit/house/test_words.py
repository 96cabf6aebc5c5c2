"""What no file of the project and no commit message may say: paths of a machine, hosts of package registries, and
how or by whom the work was organised."""

from __future__ import annotations

import re

import pytest
from rigd_tree import commit_messages, files, text_of

# Put together here, so that this file does not say them either.
FOLDERS = "|".join(("wo" "rk", "ro" "ot", "t" "mp"))
HOSTS = [
    "py" "pi.org", "python" "hosted.org", "npm" "js.org", "npm" "js.com", "yarn" "pkg.com", "crates" ".io",
    "golang" ".org/x", "ana" "conda.org", "un" "pkg.com", "js" "delivr.net", "cdn" "js.com",
]  # fmt: skip

FORBIDDEN = {
    "a path of one machine": rf"(?<![\w.)\]}}*-])/(?:{FOLDERS})(?![\w-])",
    "the host of a package registry": "|".join(re.escape(host) for host in HOSTS),
    "the number of a ticket": r"(?i)\b(?:iss" r"ue|ticket|pull request)(?: |s? ?#)\d+\b",
    "how the work was organised": (
        r"(?i)\b(?:see" r"d (?:document|text|prompt)|sub-?ag" r"ents?|(?:help" r"er|coding|work|agent) sess" r"ions?"
        r"|lang" r"uage mod" r"els?|AI (?:assist" r"ant|ag" r"ent)s?|(?:in|by) the bri" r"ef(?:ing)?\b)"
    ),
}  # fmt: skip

DOCUMENT = re.compile(r"\b[A-Z][A-Z0-9_-]{3,}\.md\b")


def faults(text: str) -> list[str]:
    return [f"{name}: {hit[0]!r}" for name, shape in FORBIDDEN.items() for hit in re.finditer(shape, text)]


def test_no_file_says_it() -> None:
    texts = {path: text_of(path) for path in files()}
    assert len(texts) > 20
    found = [f"{path}: {fault}" for path, text in texts.items() if text for fault in faults(text)]
    assert not found, "\n".join(found)


def test_no_file_name_and_no_commit_message_says_it() -> None:
    found = [f"{text}: {fault}" for text in [*map(str, files()), *commit_messages()] for fault in faults(text)]
    assert not found, "\n".join(found)


def test_documents_that_are_named_exist() -> None:
    """A reference to a document that the reader does not have is of no use."""
    paths = files()
    have = {path.name for path in paths}
    named = {(path, name) for path in paths for name in DOCUMENT.findall(text_of(path) or "")}
    unknown = [f"{path}: {name}" for path, name in sorted(named) if name not in have]
    assert not unknown, "\n".join(unknown)


SAMPLES = [
    ("open('/{}/main/x')", "wo" "rk"),
    ("see /{}/x.log", "t" "mp"),
    ("cd /{}", "ro" "ot"),
    ("https://files.{}.org/x", "python" "hosted"),
    ("as {} #12 says", "iss" "ue"),
    ("a {} did it", "sub-ag" "ent"),
]


@pytest.mark.parametrize(("frame", "word"), SAMPLES)
def test_what_must_not_be_said_is_seen(frame: str, word: str) -> None:
    assert faults(frame.format(word))


INNOCENT = ["work/root/tmp", "{self.root}/tmp", "/workers", "/rootfs", "login session", "issues 3 commands", "a/tmp"]


@pytest.mark.parametrize("text", INNOCENT)
def test_innocent_words_pass(text: str) -> None:
    assert faults(text) == []
