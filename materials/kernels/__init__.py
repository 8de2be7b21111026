"""Kernels: functions of numbers and arrays that are compiled, and how their machine code is kept."""
