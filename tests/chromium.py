"""Chromium of this machine for tests that look at pages; none is ever downloaded."""

from __future__ import annotations

import io
import json
import os
import shutil
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest


def give_up(why: str) -> None:
    """Skip, or fail where every check is asked for."""
    if os.environ.get("HALFGAIN_ALL_CHECKS") == "1":
        pytest.fail(f"{why}, and HALFGAIN_ALL_CHECKS asks for every check")
    pytest.skip(why)


# Of the browser's own features: popups of the address bar, each a page that every window loads for itself (0.8 s of CPU a window), and a
# process held ready; then what the driver leaves out, whose list this one replaces.
LEFT_OUT = (
    "WebUIOmniboxPopup", "WebUIOmniboxAimPopup", "WebUIOmniboxFullPopup", "PreloadTopChromeWebUI", "SpareRendererForSitePerProcess",
    "AvoidUnnecessaryBeforeUnloadCheckSync", "DestroyProfileOnBrowserClose", "HttpsUpgrades", "LensOverlay", "MediaRouter", "PaintHolding",
    "ThirdPartyStoragePartitioning", "OptimizationHints", "NetworkTimeServiceQuerying", "AimEnabled", "PreconnectToSearch",
)  # fmt: skip


@contextmanager
def chromium(*arguments: str) -> Iterator[Any]:
    """The browser, by HALFGAIN_CHROMIUM or as it is installed, started with further arguments."""
    program = os.environ.get("HALFGAIN_CHROMIUM") or shutil.which("chromium")
    if program is None:
        give_up("no chromium here (Debian: apt install chromium; or name it in HALFGAIN_CHROMIUM)")
    try:
        from playwright.sync_api import sync_playwright
    except ImportError:
        give_up("playwright is not installed")
    with sync_playwright() as playwright:
        switches = ["--no-sandbox", f"--disable-features={','.join(LEFT_OUT)}", *arguments]
        found = playwright.chromium.launch(executable_path=program, args=switches)
        yield found
        found.close()


COLOUR_RULES = ("color-contrast", "link-in-text-block")  # of axe-core: what colours decide


def violations(page: Any, where: str = "document", rules: tuple[str, ...] = (), *, but: tuple[str, ...] = ()) -> list[str]:
    """What axe-core objects to in a part of a page, by some of its rules or by all but some.

    Its text is run by the browser's driver, which no page's policy binds.
    """
    import axe_playwright_python

    if not page.evaluate("typeof axe === 'object'"):
        page.evaluate((Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text(encoding="utf-8"))
    only = f", runOnly: {{ type: 'rule', values: {list(rules)} }}" if rules else ""
    only += f", rules: {json.dumps({rule: {'enabled': False} for rule in but})}"
    # every violation is told; of what passes the rule alone, since naming each of a thousand elements is most of the work
    found = page.evaluate(f"axe.run({where}, {{ resultTypes: ['violations']{only} }})")
    assert found["passes"], "the checker has run"
    return [
        f"{each['impact']} {each['id']}: {[node['html'][:140] for node in each['nodes'][:3]]}" for each in found["violations"]
    ]


def sheets(browser: Any, file: Path, read: int | None = None) -> list[list[str]]:
    """Lines of text of every A4 sheet that printing a page gives; read: only so many are read, which takes longer than printing."""
    from pypdf import PdfReader

    page = browser.new_page()
    page.goto(file.as_uri())
    data = page.pdf(prefer_css_page_size=True, print_background=True)
    page.close()
    found = PdfReader(io.BytesIO(data)).pages
    assert all(abs(float(each.mediabox.width) - 595.3) < 1.5 and abs(float(each.mediabox.height) - 841.9) < 1.5 for each in found)
    texts = [unicodedata.normalize("NFKC", each.extract_text()) for each in found[:read]]  # fonts join f and f, f and i
    lines = [[" ".join(line.split()) for line in text.splitlines() if line.strip()] for text in texts]
    return lines + [[] for _ in found[len(lines) :]]
