"""Moments on a stem by height: wind on crown and stem, lean and crown offset under self-weight, axial load.

Statics of a straight cantilever (textbook). Sway, its amplification and its damping are not modelled.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np

from assessments.methods.wind import Crowns, moment_knm
from assessments.methods.wind.profile import Floats, Wind

from .tree import Tree

METHOD: Final = "stem_forces"
VERSION: Final = 1

GRAVITY: Final = 9.80665
# Drag of a cylinder; the stem below the crown is one.
STEM_DRAG: Final = 1.0
_STEPS: Final = 200


@dataclass(frozen=True)
class Forces:
    """Loads by height (k,): wind moment kN m, standing moment (k, 2) toward north and east, axial kN."""

    heights_m: Floats
    wind_knm: Floats
    standing_knm: Floats
    axial_kn: Floats
    crown_force_kn: float


def crown_of(tree: Tree) -> Crowns:
    """Give the crown of a tree with its best drag coefficient."""
    return Crowns.of(tree.height_m, tree.crown_base_m, tree.crown_width_m, tree.drag.best, tree.shape)


def stem_wind_knm(tree: Tree, wind: Wind, heights_m: Floats) -> Floats:
    """Give the moment of wind on the bare stem below the crown about heights (k,), in kN m."""
    low = np.minimum(heights_m, tree.crown_base_m)[:, None]
    share = np.linspace(0, 1, _STEPS + 1)
    z = low + (tree.crown_base_m - low) * share
    force = STEM_DRAG * wind.pressure_n_m2(z) * tree.stem.diameter_cm(z) / 100
    return np.asarray(np.trapezoid(force * (z - low), z, axis=-1) / 1000)


def forces(tree: Tree, crown: Crowns, heights_m: Floats) -> Forces:
    """Compute the loads of a tree with a crown (whole or reduced) at heights (k,)."""
    spread = _repeated(crown, len(heights_m))
    wind = moment_knm(spread, tree.wind, heights_m) + stem_wind_knm(tree, tree.wind, heights_m)
    axial, lever = _weights(tree, crown, spread, heights_m)
    lean = math.tan(math.radians(tree.lean_deg)) * lever[0]
    standing = _toward(lean, tree.lean_azimuth_deg) + _toward(lever[1] * tree.offset_m, tree.offset_azimuth_deg)
    push = crown.drag * crown.integral(tree.wind.pressure_n_m2) / 1000
    return Forces(heights_m, wind, standing, axial, float(push[0]))


def _repeated(crown: Crowns, count: int) -> Crowns:
    """Give one crown as `count` equal ones, so that every height has its own."""
    return Crowns(
        height_m=np.repeat(crown.height_m, count),
        base_m=np.repeat(crown.base_m, count),
        width_m=np.repeat(crown.width_m, count),
        drag=np.repeat(crown.drag, count),
        shape=crown.shape,
        cut_height_m=None if crown.cut_height_m is None else np.repeat(crown.cut_height_m, count),
        cut_width_m=None if crown.cut_width_m is None else np.repeat(crown.cut_width_m, count),
    )


def _toward(moment_knm: Floats, azimuth_deg: float) -> Floats:
    b = math.radians(azimuth_deg)
    return np.stack([moment_knm * math.cos(b), moment_knm * math.sin(b)], -1)


def _weights(tree: Tree, crown: Crowns, spread: Crowns, heights_m: Floats) -> tuple[Floats, tuple[Floats, Floats]]:
    """Weight above heights in kN; its lever for lean (kN m per unit of tangent); the crown's part of the weight in kN.

    The crown's mass is spread as its frontal width squared (a body of revolution); a reduced crown weighs less.
    """
    whole = crown_of(tree)
    per_m3 = tree.weight.crown_kg / float(whole.integral(lambda z: whole.width_at(z))[0])
    crown_kg = per_m3 * spread.integral(lambda z: spread.width_at(z), heights_m)
    crown_lever = per_m3 * spread.integral(lambda z: spread.width_at(z) * (z - heights_m[:, None]), heights_m)
    share = np.linspace(0, 1, _STEPS + 1)
    top = float(crown.top_m[0])
    low = np.minimum(heights_m, top)[:, None]
    z = low + (top - low) * share
    line = tree.weight.stem_kg_m3 * np.pi * tree.stem.diameter_cm(z) ** 2 / 4e4
    stem_kg = np.trapezoid(line, z, axis=-1)
    stem_lever = np.trapezoid(line * (z - low), z, axis=-1)
    to_kn = GRAVITY / 1000
    return (stem_kg + crown_kg) * to_kn, ((stem_lever + crown_lever) * to_kn, crown_kg * to_kn)
