"""Group drills: how they are scored, who stands where, what the recap says, what to drill next.

Import from its modules. Values in, values out: tallies, moments and zones are passed in, and results are
numbers and codes that bot/render words.
"""
