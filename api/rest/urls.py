"""Every address below /api/v1/: each noun brings its own."""

from importlib import import_module
from typing import Final

from django.urls import URLPattern, URLResolver

# One name a file of this folder; each exposes `urlpatterns`.
NOUNS: Final = (
    "schema",
    "auth",
    "me",
    "species",
    "species_review",
    "zones",
    "sites",
    "trees",
    "measurements",
    "photos",
    "history",
    "events",
    "inspections",
    "sections",
    "stem_loads",
    "decay_growths",
    "checks",
    "due",
    "policy",
    "rate_cards",
    "options",
    "decisions",
    "dissections",
    "dissection_pictures",
    "storms",
    "calibrations",
    "assessors",
    "tree_reports",
    "orders",
    "reports",
    "near",
    "calculations",
    "jobs",
    "contractors",
    "intake",
    "intake_codes",
    "intake_checks",
    "intake_merges",
    "mappings",
)

app_name = "api"

urlpatterns: list[URLPattern | URLResolver] = [
    pattern for noun in NOUNS for pattern in import_module(f"api.rest.{noun}").urlpatterns
]
