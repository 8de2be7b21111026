"""The server of the live page from outside: who is let in, what it answers, and that it ends when told."""

from __future__ import annotations

import http.client
import json
import socket
import threading
import time
from contextlib import suppress
from pathlib import Path
from typing import Any

import halfgain as hg
import numpy as np
import pytest
from halfgain.simulate.command import app
from halfgain.simulate.live import server
from websockets.exceptions import ConnectionClosed, InvalidStatus

from .talking import Served, heard, tell

WANTS = ["numbers"]


def _get(served: Served, path: str, **headers: str) -> tuple[int, dict[str, str], bytes]:
    connection = http.client.HTTPConnection("127.0.0.1", int(served.host.split(":")[1]), timeout=20)
    connection.putrequest("GET", path, skip_host="Host" in headers, skip_accept_encoding=True)
    for name, value in headers.items():
        connection.putheader(name.replace("_", "-"), value)
    connection.endheaders()
    answer = connection.getresponse()
    return answer.status, {name.lower(): value for name, value in answer.getheaders()}, answer.read()


def test_the_one_line_on_stdout_is_the_address_with_its_token(served: Served) -> None:
    assert served.line.endswith("/\n")
    assert served.host.startswith("127.0.0.1:")
    assert len(served.token) >= 20
    status, headers, body = _get(served, f"/{served.token}/")
    assert status == 200
    assert b"<!doctype html>" in body.lower()
    assert "default-src 'none'" in headers["content-security-policy"]
    assert headers["referrer-policy"] == "no-referrer"


@pytest.mark.parametrize(
    "path", ["/", "/wrong/", "/page.js", "/{token}x/", "/{token}/../../etc/passwd", "/{token}/..%2f..%2fpyproject.toml", "/{token}/server.py"]
)  # fmt: skip
def test_other_addresses_find_nothing(served: Served, path: str) -> None:
    status, _, body = _get(served, path.replace("{token}", served.token))
    assert status in (403, 404)
    assert b"root:" not in body


def test_a_name_bent_to_this_machine_is_refused(served: Served) -> None:
    assert _get(served, f"/{served.token}/", Host="evil.example")[0] == 403
    assert _get(served, f"/{served.token}/", Origin="http://evil.example")[0] == 403
    port = served.host.split(":")[1]
    assert _get(served, f"/{served.token}/", Host=f"localhost:{port}")[0] == 200


@pytest.mark.parametrize("origin", [None, "http://evil.example", "null", "https://{host}"])
def test_sockets_of_other_origins_are_refused(served: Served, origin: str | None) -> None:
    with pytest.raises(InvalidStatus):
        served.page(origin=None if origin is None else origin.replace("{host}", served.host))


def test_numbers_are_those_of_a_measurement(served: Served) -> None:
    """Within four standard errors of `measure`, which traces its own paths with its own survival."""
    with served.page() as page:
        first = heard(page, "hello")["first"]
        tell(page, "ask", number=1, slot="a", text=first["text"], name="mine.toml", wants=WANTS)
        scene = heard(page, "scene", number=1)["scene"]
        found = heard(page, "numbers", number=1, settled=True)
    measured = hg.measure("dark-room", error=0.005)
    assert [each["name"] for each in scene["seats"]] == [seat.name for seat in measured.seats]
    for seat, reading in zip(found["seats"], measured.seats, strict=True):
        for key in ("white_cd_m2", "checkerboard_ratio", "washout_cd_m2", "black_cd_m2"):
            (value, error), other = seat["values"][key], reading.values[key]
            allowed = 4.0 * np.hypot(error, other.standard_error) + other.bias_bound + 1e-6 * value
            assert abs(value - other.value) <= allowed, key
        assert sum(part[0] for part in seat["share"].values()) == pytest.approx(1.0, abs=1e-3)


def test_edits_change_text_and_numbers_and_a_broken_one_names_its_line(served: Served) -> None:
    with served.page() as page:
        text = heard(page, "hello")["first"]["text"]
        tell(page, "ask", number=1, slot="a", text=text, name="mine.toml", wants=WANTS)
        before = heard(page, "numbers", number=1)["seats"][0]["values"]["checkerboard_ratio"][0]
        edits = [["set", "room.finish.ceiling", 0.8], ["set", "room.finish.back", 0.8]]
        tell(page, "ask", number=2, slot="a", text=text, name="mine.toml", wants=WANTS, edits=edits)
        new = heard(page, "scene", number=2)
        assert "ceiling = 0.8" in new["text"]
        assert heard(page, "numbers", number=2)["seats"][0]["values"]["checkerboard_ratio"][0] < before
        tell(
            page,
            "ask",
            number=3,
            slot="a",
            text=new["text"].replace("ceiling = 0.8", "ceiling = 8"),
            name="mine.toml",
            wants=WANTS,
        )
        (error,) = heard(page, "refused", number=3)["errors"]
        line = next(i for i, row in enumerate(new["text"].splitlines(), 1) if row.startswith("ceiling = 0.8"))
        assert error["line"] == line
        assert error["text"].startswith(f"mine.toml:{line}: room.finish.ceiling")
        tell(page, "ask", number=4, slot="a", text="[room", name="mine.toml", wants=WANTS)
        assert heard(page, "refused", number=4)["errors"][0]["line"] == 1
        tell(page, "ask", number=5, slot="a", text=text, name="mine.toml", wants=WANTS)
        assert heard(page, "numbers", number=5)["seats"][0]["values"]["checkerboard_ratio"][0] == pytest.approx(before, rel=0.05)


def test_fifty_pages_at_once_get_each_its_own_answer(served: Served) -> None:
    """Same lumens, same luminance: light is in proportion, so each page can check its own answer against the others'."""
    found: dict[int, float] = {}
    faults: list[BaseException] = []
    everyone = threading.Barrier(50)

    def one(k: int) -> None:
        try:
            with served.page(open_timeout=60) as page:
                text = heard(page, "hello")["first"]["text"]
                everyone.wait(120)
                edits = [["set", "projector.light_output_lm", 1000 + 10 * k]]
                tell(page, "ask", number=k, slot="a", text=text, name="mine.toml", wants=WANTS, edits=edits)
                found[k] = heard(page, "numbers", number=k, settled=True)["seats"][0]["values"]["white_cd_m2"][0]
        except BaseException as fault:
            faults.append(fault)

    threads = [threading.Thread(target=one, args=(k,)) for k in range(50)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(300)
    assert faults == []
    per_lumen = np.array([found[k] / (1000 + 10 * k) for k in range(50)])
    assert per_lumen == pytest.approx(per_lumen[0], rel=1e-4)


def test_the_newest_question_wins(served: Served) -> None:
    """Of many questions in a row the last is answered with numbers; most of those before are dropped."""
    with served.page() as page:
        text = heard(page, "hello")["first"]["text"]
        for k in range(1, 31):
            edits = [["set", "screen.width_m", 1.2 + 0.01 * k]]
            tell(page, "ask", number=k, slot="a", text=text, name="mine.toml", wants=WANTS, edits=edits)
        answered = []
        while not answered or answered[-1] != 30:
            answered.append(heard(page, "numbers")["number"])
        assert answered == sorted(answered)
        assert len(set(answered)) < 20


def test_opening_and_saving_stay_in_the_folder(served: Served, folder: Path) -> None:
    (folder.parent / "outside.toml").write_text("format = 1\n")
    (folder / "link.toml").symlink_to(folder.parent / "outside.toml")
    (folder / "other.toml").write_text("[tool.room]\n")
    with served.page() as page:
        text = heard(page, "hello")["first"]["text"]
        tell(page, "files")
        assert heard(page, "files")["names"] == ["mine.toml"]
        for name in ("../outside.toml", "/etc/passwd", "..\\outside.toml", ".hidden.toml", "notes.txt", "", "a/b.toml"):
            tell(page, "open", name=name)
            assert "no name for a scene" in heard(page, "failed", of="open")["text"]
            tell(page, "save", name=name, text=text, seen="any")
            assert "no name for a scene" in heard(page, "failed", of="save")["text"]
        tell(page, "save", name="link.toml", text=text, seen="any")
        assert "link" in heard(page, "failed", of="save")["text"]
        tell(page, "save", name="new.toml", text=text, seen="")
        seen = heard(page, "saved")["seen"]
        tell(page, "save", name="new.toml", text=text, seen="")
        assert heard(page, "failed", of="save")["exists"] is True
        tell(page, "save", name="new.toml", text=text + "# more\n", seen=seen)
        heard(page, "saved")
        tell(page, "open", name="new.toml")
        assert heard(page, "opened")["text"] == text + "# more\n"
        (folder / "new.toml").write_text("format = 1\n")
        tell(page, "save", name="new.toml", text=text, seen=seen)
        assert "changed since" in heard(page, "failed", of="save")["text"]
        tell(page, "save", name="bad.toml", text=text.replace("[room]", "[rooms]"), seen="")
        assert "bad.toml:" in heard(page, "failed", of="save")["text"]
    assert (folder.parent / "outside.toml").read_text() == "format = 1\n"
    assert not (folder / "bad.toml").exists()
    for name in ("new.toml", "link.toml", "other.toml"):
        (folder / name).unlink()


@pytest.mark.parametrize("named", ["../lib.toml", "/etc/passwd", "sub/../../lib.toml"])
def test_a_scene_cannot_read_files_outside_the_folder(served: Served, named: str) -> None:
    with served.page() as page:
        text = heard(page, "hello")["first"]["text"]
        tell(page, "ask", number=1, slot="a", text=f"libraries = [{json.dumps(named)}]\n{text}", name="mine.toml", wants=WANTS)
        said = heard(page, "refused", number=1)["errors"][0]["text"]
        assert "outside the folder" in said
        assert "root:" not in said


def test_questions_that_no_page_sends_are_answered_and_harm_nothing(served: Served) -> None:
    with served.page() as page:
        heard(page, "hello")
        bad: list[Any] = [
            "{", "[]", "7", '{"do":"fly"}', '{"do":"run"}', '{"do":"ask"}', '{"do":"ask","text":"","number":-1}', '{"do":"ask","text":"","slot":"c"}',
            '{"do":"ask","text":"","edits":[[1,2,3]]}', '{"do":"ask","text":"","zones":[1]}', '{"do":"precise","text":"","width":1,"height":9999}',
            '{"do":"save","name":' + json.dumps("x" * 400) + ',"text":""}', "[" * 100_000,
        ]  # fmt: skip
        for each in bad:
            page.send(each)
            heard(page, "bad")
        tell(page, "new", form={"width_m": 1e9})
        assert "width_m" in heard(page, "failed", of="new")["text"]


def test_a_text_beyond_all_size_ends_that_socket_alone(served: Served) -> None:
    with served.page() as page:
        heard(page, "hello")
        with suppress(ConnectionClosed):
            page.send("x" * 3_000_000)
        with pytest.raises(ConnectionClosed):
            heard(page, "never", seconds=20)
    with served.page() as page:
        heard(page, "hello")


@pytest.fixture
def unserved(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever comes so far as to serve has failed."""
    monkeypatch.setattr(server, "web_server", lambda *_, **__: pytest.fail("it was served"))


@pytest.mark.usefixtures("unserved")
def test_a_taken_port_is_said_in_one_line(capsys: pytest.CaptureFixture[str]) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = taken.getsockname()[1]
        assert app.run(["serve", "black-box", "--port", str(port), "--no-browser"]) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert len(said.err.splitlines()) == 1
    assert str(port) in said.err


@pytest.mark.usefixtures("unserved")
def test_a_scene_that_cannot_be_is_told_before_anything_is_served(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "bad.toml").write_text("format = 1\n[room]\nwidth_m = 0.1\n")
    assert app.run(["serve", str(tmp_path / "bad.toml")]) == 2
    assert "bad.toml:3: room.width_m" in capsys.readouterr().err


def test_ctrl_c_ends_at_once_with_pages_open_and_work_under_way() -> None:
    with Served("light-lounge") as served, served.page() as page:
        text = heard(page, "hello")["first"]["text"]
        tell(page, "ask", number=1, slot="a", text=text, name="x.toml", wants=["numbers", "view", "folds", "room"])
        heard(page, "scene")
        began = time.monotonic()
        assert served.end() == 130
        assert time.monotonic() - began < 5.0, "the end does not wait for sockets, kernels or time limits, which are longer"


def test_a_room_of_another_shape_has_figures_view_and_plan(served: Served) -> None:
    with served.page() as page:
        heard(page, "hello")
        tell(page, "open", name="attic", library=True)
        text = heard(page, "opened")["text"]
        tell(page, "ask", number=1, slot="a", text=text, name="attic.toml", wants=["numbers", "folds", "view", "room"])
        (ring,) = heard(page, "scene", number=1)["scene"]["room"]["rings"]
        assert len({tuple(place) for place in ring}) >= 4
        assert heard(page, "numbers", number=1)["seats"]
        assert heard(page, "light", number=1)["corners"].shape[1] == 3
        assert heard(page, "room", number=1)["glb"].tobytes().startswith(b"glTF")
