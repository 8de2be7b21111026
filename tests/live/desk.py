"""A real browser at the live page: short words for what a user does, and waiting for what the server answers."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Any

from tests.chromium import chromium

WAIT_MS = 300_000  # in vain: a busy machine that compiles kernels may need a minute
ANSWERED = """window.halfgain && !window.halfgain.traffic.a.under && !window.halfgain.traffic.b.under
  && window.halfgain.shown.every((each) => each.used && [each.settled, each.lit, each.judged].every((told) => told === each.asked))"""

# edges in WebGL take one sample a pixel in place of four, each of which software works out
UNSMOOTHED = """{
  const found = HTMLCanvasElement.prototype.getContext;
  HTMLCanvasElement.prototype.getContext = function (kind, options) { return found.call(this, kind, { ...options, antialias: false }); };
}"""


def drawing_browser() -> AbstractContextManager[Any]:
    """Chromium that draws by its own software, so that no graphics card is asked for."""
    return chromium("--enable-unsafe-swiftshader")


class Desk:
    """A page with what it said and asked for, and short words for what a user does."""

    def __init__(
        self, browser: Any, address: str, width: int = 1280, height: int = 900, *, precise: bool = False, **options: Any
    ) -> None:
        """precise: whether the page asks for precise pictures when nothing is done; they cost as much as the light of a room."""
        options.setdefault("device_scale_factor", 0.25)  # the same layout; software draws a sixteenth of the pixels
        self.context = browser.new_context(
            viewport={"width": width, "height": height}, reduced_motion="reduce", accept_downloads=True, **options
        )
        self.context.add_init_script(UNSMOOTHED)
        self.page = self.context.new_page()
        self.said: list[str] = []
        self.asked: list[str] = []
        self.page.on("console", self._hear)
        self.page.on("pageerror", lambda fault: self.said.append(str(fault)))
        self.page.on("request", lambda request: self.asked.append(request.url))
        self.page.set_default_timeout(WAIT_MS)
        self.page.goto(address)
        self.until("window.halfgain", "the page")
        self.page.evaluate("(precise) => { window.halfgain.precise = precise; }", precise)
        self.ready()

    def _hear(self, message: Any) -> None:
        driver = "GL Driver Message" in message.text  # the software renderer's own chatter about speed
        if message.type in ("error", "warning") and not driver:
            self.said.append(message.text)

    def until(self, script: str, what: str = "") -> None:
        """Wait in the page until a script's value is true; the page's own policy forbids the library's way, which makes scripts of text."""
        look = f"""new Promise((told) => {{ const end = performance.now() + {WAIT_MS};
          const look = () => {{ if ({script}) told(true); else if (performance.now() > end) told(false); else setTimeout(look, 20); }};
          look(); }})"""
        assert self.page.evaluate(look), f"waited in vain: {what or script}"

    def answered(self) -> None:
        """Numbers settled, light drawn, folds judged, no question on its way; of the light's rays a part may still be traced."""
        self.until(ANSWERED)

    def ready(self) -> None:
        """As `answered`, and the light is drawn by all its rays."""
        self.until(f"{ANSWERED} && window.halfgain.shown.every((each) => each.fine === each.asked)")

    def do(self, act: Any) -> None:
        """Act, then wait for the answers to it."""
        before = self.page.evaluate("window.halfgain.count")
        act()
        self.until(f"window.halfgain.count > {before} && {ANSWERED}")

    def scene(self, slot: str = "a") -> dict[str, Any]:
        return dict(self.page.evaluate(f"window.halfgain.variants.{slot}.scene"))

    def text(self, slot: str = "a") -> str:
        return str(self.page.evaluate(f"window.halfgain.variants.{slot}.text"))

    def contrast(self, seat: int = 0, slot: str = "a") -> float:
        return self.contrast_and_error(seat, slot)[0]

    def contrast_and_error(self, seat: int = 0, slot: str = "a") -> tuple[float, float]:
        value, error = self.page.evaluate(f"window.halfgain.variants.{slot}.numbers.seats[{seat}].values.checkerboard_ratio")
        return float(value), float(error)

    def opened(self, group: str) -> None:
        script = "(name) => [...document.querySelectorAll('.group')].find((each) => each.querySelector('summary').textContent === name).open = true"
        self.page.evaluate(script, group)

    def close(self) -> None:
        self.context.close()
