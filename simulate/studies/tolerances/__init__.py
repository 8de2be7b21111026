"""How sure figures and advice are when paint, gain, lumens, contrast and room are only known within tolerances."""
