"""A matplotlib figure as SVG to stand inside an HTML page: own ids, a text alternative, a width that follows the page."""

from __future__ import annotations

import html
import io
import re
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_STYLE = re.compile(r"<style.*?</style>", re.DOTALL)
_METADATA = re.compile(r"<metadata>.*?</metadata>", re.DOTALL)
_OPENING = re.compile(r"<svg\b[^>]*>")
_CLIP = re.compile(r'<clipPath id="([^"]+)"')
_VIEW_BOX = re.compile(r'viewBox="([^"]+)"')


def inline_svg(figure: Figure, name: str, said: str) -> str:
    """The figure as an <svg> element with the words as its name for those who do not see it.

    name  letters and hyphens, no two alike on a page: it goes before every id inside
    said  the text alternative, plain text
    Letters are drawn as paths, since the reader's fonts are not known; nothing in it depends on the date.
    Source: SVG 1.1; WAI-ARIA 1.2, role img.
    """
    import matplotlib

    data = io.StringIO()
    with matplotlib.rc_context({"svg.fonttype": "path", "svg.hashsalt": "halfgain", "path.simplify": True}):
        figure.savefig(data, format="svg", metadata={"Date": None, "Creator": None, "Format": None, "Type": None})
    text = data.getvalue()
    text = text[text.index("<svg") :]
    text = _METADATA.sub("", _STYLE.sub("", text))  # its style would speak to the whole page
    box = _VIEW_BOX.search(text)
    assert box is not None
    opening = (
        f'<svg class="chart" role="img" aria-label="{html.escape(said, quote=True)}" viewBox="{box[1]}" '
        'xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'
    )
    text = _OPENING.sub(lambda _: opening, text, count=1)
    for number, clip in enumerate(dict.fromkeys(_CLIP.findall(text))):  # numbered: matplotlib names them by their place in memory
        text = text.replace(clip, f"clip{number}")
    text = re.sub(r'\bid="([^"]+)"', rf'id="{name}-\1"', text)
    text = re.sub(r'href="#([^"]+)"', rf'href="#{name}-\1"', text)
    text = re.sub(r"url\(#([^)]+)\)", rf"url(#{name}-\1)", text)
    return re.sub(r">\s+<", "><", text).strip()
