"""How large a picture of a seat may be, and how wide it may look."""

LEAST_SIZE, LARGEST_SIZE = 16, 8192  # pixels along an edge
LEAST_FIELD_DEG, LARGEST_FIELD_DEG = 10.0, 130.0
