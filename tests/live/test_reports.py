"""Reports made for the page: one at a time, told by stages, ended when asked, in a process of their own."""

from __future__ import annotations

import sys
import threading
import time

import pytest
from halfgain.scenes.library import scene_path
from halfgain.simulate.live.reports import Busy, ReportFailed, Reports

from .talking import Served, heard, tell

ECHO = (
    "import json, sys; asked = json.load(sys.stdin); print('stage one', file=sys.stderr); sys.stdout.write('<p>' + asked['name'])"
)
SLOW = "import sys, time; print('begun', file=sys.stderr, flush=True); time.sleep(60)"
BROKEN = "import sys; print('no such thing', file=sys.stderr); sys.exit(1)"


def _make(reports: Reports, stages: list[str]) -> bytes:
    return reports.make("text", "x.toml", ".", seed=1, threads=1, told=stages.append)


def test_a_page_and_its_stages_come_back() -> None:
    stages: list[str] = []
    assert _make(Reports((sys.executable, "-c", ECHO)), stages) == b"<p>x.toml"
    assert stages == ["stage one"]


def test_a_second_report_waits_for_nobody_and_stop_ends_the_first() -> None:
    reports, stages, faults = Reports((sys.executable, "-c", SLOW)), [], []

    def first() -> None:
        try:
            _make(reports, stages)
        except ReportFailed as fault:
            faults.append(str(fault))

    thread = threading.Thread(target=first)
    thread.start()
    while not stages:
        time.sleep(0.02)
    with pytest.raises(Busy):
        _make(reports, [])
    reports.stop()
    thread.join(20)
    assert faults == ["the report was stopped"]


def test_a_child_that_fails_says_why() -> None:
    with pytest.raises(ReportFailed, match="no such thing"):
        _make(Reports((sys.executable, "-c", BROKEN)), [])


def test_the_child_that_makes_reports_says_what_is_wrong_with_a_text() -> None:
    with pytest.raises(ReportFailed, match=r"x\.toml:1"):
        _make(Reports(), [])


@pytest.mark.long
def test_the_page_of_report_comes_through_the_socket(served: Served) -> None:
    text = scene_path("black-box").read_text(encoding="utf-8")
    with served.page() as page:
        heard(page, "hello")
        tell(page, "report", text=text.replace("[room]", "[rooms]"), name="box.toml")
        assert "box.toml:" in heard(page, "failed", of="report")["text"]
        tell(page, "report", text=text, name="box.toml")
        heard(page, "report-stage")
        found = heard(page, "report", seconds=600)
    assert found["name"] == "box-report.html"
    html = found["html"].tobytes().decode()
    assert html.startswith("<!doctype html>")
    assert "Black box" in html
