"""How fabrics, fits and lists of materials are told."""
