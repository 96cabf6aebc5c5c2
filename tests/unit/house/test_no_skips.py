"""What RIGD_NO_SKIPS=1 promises: no run with a test left out ends well."""

from __future__ import annotations

from pathlib import Path

import pytest

PLUGINS = Path(__file__).parents[2] / "plugins"

CASES = {
    "skip in the test": "import pytest\ndef test_a(): pytest.skip('no tool')",
    "skip by a mark": "import pytest\n@pytest.mark.skipif(True, reason='no tool')\ndef test_a(): pass",
    "skip in a fixture": (
        "import pytest\n@pytest.fixture\ndef tool(): pytest.skip('no tool')\ndef test_a(tool): pass"
    ),
    "skip of a module": "import pytest\npytest.importorskip('no_such_tool', exc_type=ImportError)\ndef test_a(): pass",
    "no cases": "import pytest\n@pytest.mark.parametrize('tool', [])\ndef test_a(tool): pass",
}


@pytest.fixture
def inner(pytester: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> pytest.Pytester:
    monkeypatch.setenv("PYTHONPATH", str(PLUGINS))
    monkeypatch.setenv("RIGD_NO_SKIPS", "1")
    pytester.makeconftest("pytest_plugins = ['rigd_no_skips']")
    return pytester


def run(inner: pytest.Pytester, *options: str) -> pytest.RunResult:
    return inner.runpytest_subprocess("-p", "no:cacheprovider", "-p", "no:asyncio", *options)


@pytest.mark.parametrize("source", CASES.values(), ids=CASES.keys())
def test_a_test_that_is_left_out_fails_the_run(inner: pytest.Pytester, source: str) -> None:
    inner.makepyfile(source)
    result = run(inner)
    assert result.ret != 0
    result.stdout.fnmatch_lines(["*left out, which RIGD_NO_SKIPS forbids*"])
    assert "skipped" not in result.parseoutcomes()


def test_a_deselected_test_fails_the_run(inner: pytest.Pytester) -> None:
    inner.makepyfile("def test_a(): pass\ndef test_b(): pass")
    result = run(inner, "-k", "not test_b")
    assert result.ret != 0
    result.stdout.fnmatch_lines(["LEFT OUT*::test_b (deselected)"])


def test_a_whole_run_passes_and_an_expected_failure_is_no_skip(inner: pytest.Pytester) -> None:
    inner.makepyfile("import pytest\ndef test_a(): pass\n@pytest.mark.xfail(strict=True)\ndef test_b(): assert 0")
    assert run(inner).ret == 0


def test_without_the_variable_a_skip_is_a_skip(inner: pytest.Pytester, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("RIGD_NO_SKIPS")
    inner.makepyfile(CASES["skip in the test"])
    result = run(inner)
    assert result.ret == 0
    result.assert_outcomes(skipped=1)
