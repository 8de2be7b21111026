"""The folded cloth as each seat sees it: luminance against the flat screen, displacement of the picture, verdicts."""
