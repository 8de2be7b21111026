"""Studies: many variants of a scene, planned so that light is traced once a geometry, run by many processes, read as one table."""
