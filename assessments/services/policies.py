"""The policy: each version is kept, the newest one is in force."""

import json
from collections.abc import Mapping
from typing import Any

from django.db import connection, transaction

from assessments.methods import policy as methods
from assessments.models import Policy
from assessments.restate import POLICY_LOCK
from assessments.services.marks import mark
from inventory import events
from inventory.history import SERVICE, Author
from inventory.problems import Invalid


def adopt_policy(author: Author, data: Mapping[str, Any], why: str) -> Policy:
    """Store a new version of the policy and ask for a recompute of everything. The service numbers it.

    Raises Invalid, naming the wrong value, or where no reason is given.
    """
    if not why.strip():
        raise Invalid.field("#/why", "say why the policy is changed")
    with transaction.atomic():
        _lock()
        newest = Policy.objects.order_by("-version").first()
        policy = _store(author, data, why, version=(newest.version if newest else 0) + 1)
        mark("all")
    return policy


def install_default_policy() -> Policy:
    """Store the shipped policy where there is none yet; return the one in force."""
    with transaction.atomic():
        _lock()
        newest = Policy.objects.order_by("-version").first()
        if newest is None:
            newest = _store(SERVICE, json.loads(methods.default_policy_text()), "the shipped policy", version=1)
            mark("all")
    return newest


def _lock() -> None:
    """One adoption at a time, and none while a service recomputes under the old one."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_advisory_xact_lock(%s)", [POLICY_LOCK])


def _store(author: Author, data: Mapping[str, Any], why: str, version: int) -> Policy:
    numbered = {**data, "version": str(version)}
    try:
        methods.Policy.from_data(numbered)
    except methods.PolicyError as error:
        pointer = error.path.replace(".", "/").replace("[", "/").replace("]", "")
        raise Invalid.field(f"#/policy/{pointer}", error.detail) from error
    policy = Policy.objects.create(version=version, data=numbered, why=why, adopted_by_id=author.user_id)
    events.record(author, "policy.adopted", "policy", data={"version": version, "why": why})
    return policy
