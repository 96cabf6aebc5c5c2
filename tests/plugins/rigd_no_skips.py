"""With RIGD_NO_SKIPS=1 a test that is left out, by a skip or by deselection, fails the run."""

from __future__ import annotations

import os
from collections.abc import Generator, Sequence
from typing import TypeVar

import pytest

Report = TypeVar("Report", pytest.TestReport, pytest.CollectReport)


def pytest_configure(config: pytest.Config) -> None:
    if os.environ.get("RIGD_NO_SKIPS") == "1":
        config.pluginmanager.register(_NoSkips(), "rigd-no-skips-active")


class _NoSkips:
    def __init__(self) -> None:
        self._left_out: list[str] = []

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_runtest_makereport(self, item: pytest.Item) -> Generator[None, pytest.TestReport, pytest.TestReport]:
        report = yield
        return report if hasattr(report, "wasxfail") else _failed_if_skipped(report)

    @pytest.hookimpl(wrapper=True, tryfirst=True)
    def pytest_make_collect_report(self) -> Generator[None, pytest.CollectReport, pytest.CollectReport]:
        return _failed_if_skipped((yield))

    def pytest_deselected(self, items: Sequence[pytest.Item]) -> None:
        self._left_out.extend(item.nodeid for item in items)

    def pytest_sessionfinish(self, session: pytest.Session) -> None:
        if self._left_out:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: pytest.TerminalReporter) -> None:
        for name in self._left_out:
            terminalreporter.write_line(f"LEFT OUT {name} (deselected)", red=True)


def _failed_if_skipped(report: Report) -> Report:
    if report.outcome == "skipped":
        where = report.longrepr
        reason = where[2] if isinstance(where, tuple) else str(where)
        report.outcome = "failed"
        report.longrepr = f"left out, which RIGD_NO_SKIPS forbids: {reason}"
    return report
