"""Latencies of the live page in a real browser, from a change by hand to what it shows, beside the command line's times.

Run: python benchmarks/live_page.py [SCENE] [ROUNDS]   (chromium and playwright; draws by software, which costs the same processors)

numbers  until the tables hold the answer to this change;  view  until the seat's view with its light is drawn, first by few rays
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

from tests.live.desk import Desk, drawing_browser
from tests.live.talking import Served

TIMED = """async ([act, key, value]) => {
  const app = window.halfgain, variant = app.variant, canvas = app.layout.views.a.canvas, began = performance.now(), found = {};
  const asked = app.count, drawn = () => Number(canvas.dataset.drawn ?? 0), hear = app.constructor.prototype.on_light;
  let before = Infinity;
  app.on_light = function light(message, which) { before = Math.min(before, drawn()); hear.call(this, message, which); };
  if (act === 'set') app.set(key, value, null); else if (act === 'seat') app.chooseSeat(value); else app.setShow(value);
  while (!(found.numbers && found.folds && found.view) && performance.now() - began < 60000) {
    await new Promise((done) => setTimeout(done, 1));
    if (app.count === asked) continue;
    const now = performance.now() - began;
    if (!found.numbers && variant.told === variant.asked) found.numbers = now;
    if (!found.folds && variant.judged === variant.asked) found.folds = now;
    if (variant.lit === variant.asked && drawn() > before) found.view ??= now;
  }
  delete app.on_light;
  return found;
}"""


def changes(scene: dict[str, Any]) -> dict[str, tuple[str, str, Callable[[int], Any]]]:
    """By what is changed: how, under which key, and the value of each round."""
    lens, seat = scene["projector"]["lens_m"], scene["seats"][0]
    found: dict[str, tuple[str, str, Callable[[int], Any]]] = {
        "repaint": ("set", "room.finish.ceiling", lambda k: round(0.2 + 0.01 * k, 3)),
        "lumens": ("set", "projector.light_output_lm", lambda k: 1000 + 10 * k),
        "picture": ("show", "", lambda k: ("white", "checkerboard", "grid", "10%")[k % 4]),
        "seat chosen": ("seat", "", lambda k: (k + 1) % len(scene["seats"])),
        "seat moved": ("set", f"{seat['key']}.eye_m", lambda k: [round(seat["eye_m"][0] + 0.01 * k, 3), *seat["eye_m"][1:]]),
        "new fabric": (
            "set",
            "screen.fabric",
            lambda k: {"kind": "angular-reflective", "gain": round(1.2 + 0.01 * k, 2), "half_gain_deg": 32 + k},
        ),
        "lens moved": ("set", "projector.lens_m", lambda k: [round(lens[0] + 0.01 * k, 3), *lens[1:]]),
    }
    if scene["lights"]:
        found["lamp dimmed"] = ("set", f"{scene['lights'][0]['key']}.screen_lx", lambda k: 1.0 + 0.5 * k)
    if scene["screen"]["folds"] == "estimated":
        found["fold height"] = ("set", "screen.hanging.amplitude_scale", lambda k: round(0.5 + 0.05 * k, 3))
    return found


def command_line_ms(name: str) -> dict[str, list[float]]:
    """Wall times of the command line for the same numbers and a picture of the same size [ms]."""
    found = {}
    with tempfile.TemporaryDirectory() as folder:
        asked = {
            "measure": ("measure", name, "--json"),
            "picture": ("picture", name, "--seat", "1", "--size", "850x478", "--out", folder),
        }
        for label, arguments in asked.items():
            found[label] = []
            for _ in range(3):
                began = time.perf_counter()
                subprocess.run([sys.executable, "-m", "halfgain", *arguments], capture_output=True, check=True)
                found[label].append(1000.0 * (time.perf_counter() - began))
    return found


def main(name: str = "light-lounge", rounds: int = 20) -> None:
    """Prints the table."""
    served = Served(name)
    with drawing_browser() as browser:
        desk = Desk(browser, served.address, device_scale_factor=0.5)
        print(f"{name}, {rounds} changes each; ms, middle and 95th percentile")
        print(f"{'':14} {'numbers':>16} {'folds':>16} {'view':>16}")
        for label, (act, key, value) in changes(desk.scene()).items():
            times: dict[str, list[float]] = {"numbers": [], "folds": [], "view": []}
            for k in range(-2, rounds):  # two to warm up
                desk.page.wait_for_timeout(120)
                found = desk.page.evaluate(TIMED, [act, key, value(k + 2)])
                desk.ready()
                if k >= 0:
                    for what, all_times in times.items():
                        all_times.append(found.get(what, float("nan")))
            cells = [f"{np.nanmedian(each):7.0f} {np.nanpercentile(each, 95):8.0f}" for each in times.values()]
            print(f"{label:14} {cells[0]:>16} {cells[1]:>16} {cells[2]:>16}", flush=True)
        desk.close()
    served.end()
    for label, runs in command_line_ms(name).items():
        print(f"halfgain {label}: {', '.join(f'{each:.0f}' for each in runs)} ms")


if __name__ == "__main__":
    main(*sys.argv[1:2], *(int(each) for each in sys.argv[2:3]))
