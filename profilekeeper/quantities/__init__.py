"""Exact lengths, angles and other quantities: a decimal number with a unit, parsed, converted and rounded out loud."""
