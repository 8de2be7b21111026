"""The documentation: API reference from docstrings, gallery from the example scripts. Build: sphinx-build .docs out/docs"""

from importlib import metadata

from matplotlib.figure import Figure
from sphinx_gallery.scrapers import figure_rst

project = "halfgain"
author = "the halfgain developers"
release = version = metadata.version("halfgain")
extensions = [
    "sphinx.ext.autodoc",
    "sphinx.ext.autosummary",
    "sphinx.ext.napoleon",
    "sphinx.ext.viewcode",
    "sphinx_gallery.gen_gallery",
]
html_theme = "alabaster"
html_theme_options = {
    "description": "projection screens judged by light simulation",
    "fixed_sidebar": True,
    "page_width": "1080px",
}
exclude_patterns = ["gallery/*.ipynb"]
autosummary_generate = True
autodoc_typehints = "description"
autodoc_member_order = "bysource"


def figures(block, block_vars, gallery_conf):
    """Figures that a cell left under a name of its own: results draw without pyplot, whose figures sphinx-gallery finds itself."""
    shown = block_vars["example_globals"].setdefault("__shown__", set())
    paths = []
    for value in list(block_vars["example_globals"].values()):
        if isinstance(value, Figure) and id(value) not in shown and not hasattr(value, "number"):
            shown.add(id(value))
            paths.append(next(block_vars["image_path_iterator"]))
            value.savefig(paths[-1], dpi=100)
    return figure_rst(paths, gallery_conf["src_dir"])


sphinx_gallery_conf = {
    "image_scrapers": ("matplotlib", figures),
    "examples_dirs": "../scenes/examples",
    "gallery_dirs": "gallery",
    "filename_pattern": r"\.py$",
    "abort_on_example_error": True,
    "show_memory": False,
    "download_all_examples": False,
    "remove_config_comments": True,
}


def _as_written(app, what, name, obj, options, lines):
    """Paragraphs that list names and what they are, two blanks apart, keep their lines; the rest is ordinary text."""
    paragraphs, found = "\n".join(lines).split("\n\n"), []
    for paragraph in paragraphs:
        listed = (
            any("  " in line.strip() for line in paragraph.splitlines()) and "----" not in paragraph and "::" not in paragraph
        )
        plain = paragraph.replace("`", "``") if listed else paragraph
        found.append("\n".join(f"| {line.strip()}" for line in plain.splitlines()) if listed else paragraph)
    lines[:] = [*"\n\n".join(found).splitlines(), ""]


def setup(app):
    """Sphinx's own entry; our reading comes before napoleon's."""
    app.connect("autodoc-process-docstring", _as_written, priority=100)
