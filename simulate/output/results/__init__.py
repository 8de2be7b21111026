"""How results tell themselves, a module a way: documents, frames, arrays, notebook tables, figures (see measuring/showing.py)."""
