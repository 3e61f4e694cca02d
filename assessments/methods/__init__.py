"""The computing core: plain numerical Python, no Django. Frozen dataclasses in and out, units in names.

Everything here is advice to a qualified person; local codes and licensed practice come first.
"""
