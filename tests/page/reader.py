"""The page as elements with their text, read by the standard library's parser."""

from __future__ import annotations

from html.parser import HTMLParser

VOID = {"meta", "link", "img", "input", "br", "use", "path", "i"}


class Reader(HTMLParser):
    """Elements as (tag, attributes, text) in document order."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.elements: list[tuple[str, dict[str, str], list[str]]] = []
        self.open: list[int] = []
        self.feed(html)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, {name: value or "" for name, value in attrs}, []))
        if tag not in VOID:
            self.open.append(len(self.elements) - 1)

    def handle_endtag(self, tag: str) -> None:
        if tag in VOID:
            return
        while self.open:
            if self.elements[self.open.pop()][0] == tag:
                return

    def handle_data(self, data: str) -> None:
        for at in self.open:
            self.elements[at][2].append(data)

    def every(self, *tags: str) -> list[tuple[str, dict[str, str], str]]:
        """Elements of these tags: tag, attributes, text with plain spaces."""
        return [(t, a, " ".join("".join(text).replace("\u00a0", " ").split())) for t, a, text in self.elements if t in tags]

    def text(self, tag: str) -> list[str]:
        """Texts of all elements of a tag."""
        return [text for _, _, text in self.every(tag)]
