"""Lamps and windows: photometric files, generic lamps, and what a scene says of them."""
