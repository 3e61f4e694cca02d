"""The sketch of a tree's surroundings: it and the trees near it, to scale."""

from django.contrib.gis.measure import D
from django.utils.safestring import SafeString

from api.pages import svg
from inventory.models import Tree

REACH_M = 20.0
MOST = 60


def of_tree(tree: Tree, system: str) -> SafeString:
    """Draw the trees within REACH_M of a tree, in one query by the metric index."""
    near = Tree.objects.filter(location_m__dwithin=(tree.location_m, D(m=REACH_M)))
    near = near.exclude(state="removed").exclude(pk=tree.pk)[:MOST]
    spots = [_spot(one, tree) for one in (tree, *near)]
    count = len(spots) - 1
    title = f"Plan: {tree} and {count} other tree{'' if count == 1 else 's'} within {REACH_M:g} m"
    return svg.draw(svg.Plan(title, spots, rings_m=(10.0, REACH_M), units=system, beyond_m=1.0))


def _spot(one: Tree, middle: Tree) -> svg.Spot:
    return svg.Spot(
        east_m=one.location_m.x - middle.location_m.x,
        north_m=one.location_m.y - middle.location_m.y,
        label=str(one),
        crown_m=one.crown_m,
        stem_cm=one.dbh_cm or one.dbh_high_cm,
        subject=one.pk == middle.pk,
    )
