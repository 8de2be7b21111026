"""Doors for text: one way to bytes, CSV, TOML with lines, faults told in one line each."""
