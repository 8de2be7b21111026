"""The live page from Python: the same guards and answers as the command's, in a thread, stopped again."""

from __future__ import annotations

import socket
import time
import urllib.error
import urllib.request
from pathlib import Path
from urllib.parse import urlsplit

import halfgain as hg
import pytest
from halfgain.simulate.live import server
from websockets.sync.client import connect

from .talking import heard, tell


def test_a_scene_is_served_from_python_and_stopped(capsys: pytest.CaptureFixture[str]) -> None:
    scene = hg.load_scene("black-box").with_finish("ceiling", 0.25)
    with hg.serve(scene, block=False) as page:
        assert capsys.readouterr().out == f"{page.address}\n"
        parts = urlsplit(page.address)
        assert parts.hostname == "127.0.0.1"
        assert urllib.request.urlopen(page.address, timeout=10).status == 200
        with pytest.raises(urllib.error.HTTPError):
            urllib.request.urlopen(f"http://{parts.netloc}/", timeout=10)
        assert f'href="{page.address}"' in page._repr_html_()
        with connect(f"ws://{parts.netloc}{parts.path}live", origin=f"http://{parts.netloc}", max_size=1 << 26) as talk:
            first = heard(talk, "hello")["first"]
            assert hg.scene_from_text(first["text"]) == scene
            assert first["name"].endswith(".toml")
            assert first["seen"] == ""
            tell(talk, "ask", number=1, slot="a", text=first["text"], name=first["name"], wants=["numbers"])
            numbers = heard(talk, "numbers", number=1)
        own = hg.measure(scene, error=0.01).seats[0]
        assert numbers["seats"][0]["values"]["white_cd_m2"][0] == pytest.approx(own.white["centre"].value, rel=0.01)
        with pytest.raises(hg.Error, match="cannot be had"):
            hg.serve("black-box", port=parts.port or 0, block=False)
    with pytest.raises(OSError, match="refused"):
        socket.create_connection(("127.0.0.1", parts.port or 0), timeout=5)


def test_a_file_is_served_by_its_name_and_what_is_wrong_is_told(tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    file.write_text(hg.load_scene("black-box").to_toml(), encoding="utf-8")
    with hg.serve(file, block=False) as page:
        parts = urlsplit(page.address)
        with connect(f"ws://{parts.netloc}{parts.path}live", origin=f"http://{parts.netloc}", max_size=1 << 26) as talk:
            hello = heard(talk, "hello")
    assert (hello["first"]["name"], hello["folder"]) == ("mine.toml", tmp_path.name)
    assert len(hello["first"]["seen"]) == 64
    with pytest.raises(hg.Error, match="no-such-room"):
        hg.serve("no-such-room", block=False)
    with pytest.raises(hg.Error, match="seed"):
        hg.serve("black-box", seed=-1, block=False)
    for port in (-1, 65536, 2**40):
        with pytest.raises(hg.Error, match="cannot be had"):
            hg.serve("black-box", port=port, block=False)


def test_whoever_fetches_a_chart_has_its_zones_worked_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """So that its light is there at once when it is chosen."""
    asked: list[tuple[str, float]] = []
    monkeypatch.setattr(server, "zones", lambda name, aspect: asked.append((name, aspect)))
    with hg.serve("black-box", block=False) as page:
        assert urllib.request.urlopen(f"{page.address}chart/steps.png?aspect=1.531", timeout=10).read(4) == b"\x89PNG"
        end = time.monotonic() + 20.0
        while not asked and time.monotonic() < end:  # the picture goes first
            time.sleep(0.01)
    assert asked == [("steps", 1.531)]
