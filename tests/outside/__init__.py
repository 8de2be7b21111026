"""Independent answers to compare the tracer with. Nothing here may import halfgain."""
