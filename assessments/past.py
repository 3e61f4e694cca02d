"""What of a tree's past lies in the assessments: the history tables whose rows hang on its inspections and checks."""

from typing import Final

from inventory.past import Source

_OF_INSPECTIONS: Final = (
    "p.pgh_obj_id IN (SELECT part.id FROM {table} part JOIN inspection i ON i.id = part.inspection_id"
    " WHERE i.tree_id = %(tree)s)"
)


def _part(noun: str) -> Source:
    return Source(noun, f"{noun}_past", _OF_INSPECTIONS.format(table=noun))


SOURCES: Final = (
    Source("inspection", "inspection_past", "p.pgh_obj_id IN (SELECT id FROM inspection WHERE tree_id = %(tree)s)"),
    _part("finding"),
    _part("section"),
    _part("stem_load"),
    _part("target"),
    _part("rating"),
    _part("emergency_action"),
    _part("option"),
    Source("decision", "decision_past", "p.pgh_obj_id IN (SELECT id FROM decision WHERE tree_id = %(tree)s)"),
    Source("dissection", "dissection_past", "p.pgh_obj_id IN (SELECT id FROM dissection WHERE tree_id = %(tree)s)"),
    Source(
        "dissection_cut",
        "dissection_cut_past",
        "p.pgh_obj_id IN (SELECT cut.id FROM dissection_cut cut JOIN dissection d ON d.id = cut.dissection_id"
        " WHERE d.tree_id = %(tree)s)",
    ),
    Source(
        "required_check",
        "required_check_past",
        "p.pgh_obj_id IN (SELECT id FROM required_check WHERE tree_id = %(tree)s)",
    ),
)
