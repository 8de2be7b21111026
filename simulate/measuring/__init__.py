"""The main job: a scene lowered to arrays, its points, the solver, the registry of quantities, readings, verdicts."""
