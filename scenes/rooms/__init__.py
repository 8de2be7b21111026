"""Rooms that are no box, and furniture that is none: outlines, meshes, what is inside them."""
