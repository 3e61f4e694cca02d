"""One noun a file."""

from inventory.models.attachment import Attachment
from inventory.models.event import Event
from inventory.models.intake_load import IntakeLoad, IntakeVerdict
from inventory.models.intake_mapping import IntakeMapping
from inventory.models.intake_trial import IntakeCheck, IntakeCheckRow, IntakeMerge, IntakeMergeRow, IntakeSurvey
from inventory.models.measurement import Measurement
from inventory.models.municipality import Municipality
from inventory.models.site import Site
from inventory.models.species import Species, SpeciesName
from inventory.models.species_settlement import SpeciesSettlement
from inventory.models.support import Support
from inventory.models.tree import Tree
from inventory.models.zone import Zone

__all__ = [
    "Attachment",
    "Event",
    "IntakeCheck",
    "IntakeCheckRow",
    "IntakeLoad",
    "IntakeMapping",
    "IntakeMerge",
    "IntakeMergeRow",
    "IntakeSurvey",
    "IntakeVerdict",
    "Measurement",
    "Municipality",
    "Site",
    "Species",
    "SpeciesName",
    "SpeciesSettlement",
    "Support",
    "Tree",
    "Zone",
]
