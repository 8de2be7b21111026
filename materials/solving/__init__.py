"""From what a sheet or a curve says to a fabric: energy limits, the two-number solution, fits of families."""
