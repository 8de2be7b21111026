"""Reports made for the page: one at a time, told by stages, ended when asked, in a process of their own."""

from __future__ import annotations

import asyncio
import json
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from types import SimpleNamespace

import pytest
from halfgain.scenes.library import scene_path
from halfgain.simulate.live.page_socket import PageSocket
from halfgain.simulate.live.reports import Busy, ReportFailed, Reports
from websockets.exceptions import ConnectionClosedOK

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


def test_a_page_that_goes_takes_its_own_report_with_it_and_no_other(tmp_path: Path) -> None:
    reports = Reports((sys.executable, "-c", SLOW))
    kept = SimpleNamespace(
        reports=reports, first={}, version="", folder=SimpleNamespace(place=tmp_path), check_text=lambda *_: None,
        desk=SimpleNamespace(forget=lambda _: None), solver=SimpleNamespace(seed=1, threads=1),
    )  # fmt: skip

    class Leaving:
        """A socket that asks one thing, and goes when it is told to."""

        def __init__(self, **asked: str) -> None:
            self.asked, self.goes = [json.dumps(asked)], asyncio.Event()

        async def send_text(self, _: str) -> None: ...

        async def receive_text(self) -> str:
            if self.asked:
                return self.asked.pop()
            await self.goes.wait()
            raise ConnectionClosedOK(None, None)

    async def pages() -> tuple[int | None, int]:
        asks, other = Leaving(do="report", text="x"), Leaving(do="stop-report")
        maker = asyncio.create_task(PageSocket(kept, asks).run())
        while reports._child is None:
            await asyncio.sleep(0.01)
        child = reports._child
        other.goes.set()
        await PageSocket(kept, other).run()
        await asyncio.sleep(0.2)
        after_another = child.poll()
        asks.goes.set()
        await maker
        try:
            return after_another, await asyncio.to_thread(child.wait, 10)
        finally:
            reports.stop()

    with ThreadPoolExecutor(1) as thread:  # the browser's driver may have a loop in this one
        after_another, ended = thread.submit(asyncio.run, pages()).result()
    assert after_another is None
    assert ended != 0


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
