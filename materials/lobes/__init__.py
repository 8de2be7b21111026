"""What a fabric's lobes do to light, as numbers and kernels: value, sample, density, albedo, measured profiles."""
