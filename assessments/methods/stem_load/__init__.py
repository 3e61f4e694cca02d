"""Stem load: wind, lean and self-weight against green strength along the stem; the weakest height; the critical gust.

Advice to a qualified person, from statics and handbook wood: never a verdict that a tree is safe.
"""

from .answer import METHOD, VERSION, compute
from .check import Result, check
from .city import screen
from .tree import Tree

__all__ = ["METHOD", "VERSION", "Result", "Tree", "check", "compute", "screen"]
