"""Measuring the program against hand-written SQL on a synthetic shop of a chosen size."""
