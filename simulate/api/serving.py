"""The live page from Python: served in a thread until it is stopped."""

from __future__ import annotations

import html
import sys
import threading
from typing import TYPE_CHECKING, Any

from halfgain.kinds import SCENE
from halfgain.runs import AnyScene, checked
from halfgain.scenes.given import THREADS, WHOLE, YES_NO, takes
from halfgain.scenes.library import DEFAULT_SCENE
from halfgain.scenes.model import Scene

if TYPE_CHECKING:
    from halfgain.simulate.live.server import House


class Serving:
    """A live page that is served; `address` opens it in a browser of this machine. Also a context, which stops it at its end."""

    def __init__(self, house: House, port: int) -> None:
        from halfgain.simulate.live.server import address_of, bound_socket, new_token, web_server

        listening, token, ready = bound_socket(port), new_token(), threading.Event()
        self.address = address_of(listening, token)
        self._house, self._pace = house, sys.getswitchinterval()
        self._server: Any = web_server(house, listening, token, ready=ready.set)
        self._thread = threading.Thread(target=self._server.run, kwargs={"sockets": [listening]}, name="live page", daemon=True)
        self._thread.start()
        while self._thread.is_alive() and not ready.wait(0.05):
            pass

    def wait(self) -> None:
        """Until it is stopped; Ctrl-C stops it."""
        try:
            while self._thread.is_alive():
                self._thread.join(0.2)
        except KeyboardInterrupt:
            self.stop()

    def stop(self) -> None:
        """End the page and give its port back."""
        self._server.should_exit = self._server.force_exit = True
        self._thread.join()
        self._house.close()
        sys.setswitchinterval(self._pace)

    def __enter__(self) -> Serving:
        return self

    def __exit__(self, *_: object) -> None:
        self.stop()

    def _repr_html_(self) -> str:
        """A link: the page lets itself be shown in no frame."""
        return f'<a href="{html.escape(self.address)}" target="_blank" rel="noopener">the live page</a>'


@takes(scene=SCENE, port=WHOLE, threads=THREADS, block=YES_NO)
def serve(
    scene: AnyScene = DEFAULT_SCENE, *, port: int = 0, seed: int = 1, threads: int | None = None, block: bool = True
) -> Serving:
    """The live page of a scene, on this machine alone, as the command `serve`; prints its address.

    Parameters
    ----------
    scene : Scene, or name or file of one
        A Scene is shown as it is and saved in the folder that it was read from.
    port : int
        On 127.0.0.1; 0 takes a free one.
    seed : int
        Not negative.
    threads : int, optional
        Left out: all that this process may use.
    block : bool
        Stay until Ctrl-C; False: return at once.

    Returns
    -------
    Serving
        With its `address` and `stop()`.

    Raises
    ------
    halfgain.Error
        For what is wrong with the scene, or a port that cannot be had.

    Notes
    -----
    The address ends in a password: whoever has it can open and save scene files in the scene's folder.
    """
    from halfgain.simulate.live.opening import house_of_file, house_of_scene

    checked(seed, 0.5)
    if isinstance(scene, Scene):
        house = house_of_scene(scene, seed=seed, threads=threads)
    else:
        house = house_of_file(str(scene), seed=seed, threads=threads)
    try:
        found = Serving(house, port)
    except BaseException:
        house.close()
        raise
    house.warm_up()
    print(found.address, flush=True)
    if block:
        found.wait()
    return found
