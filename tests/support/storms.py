"""Builders for storms and failures, as records and as what is sent."""

import uuid
from datetime import date, timedelta
from typing import Any

from assessments import services
from assessments.models import Failure, Storm
from assessments.storm_records import FailureRecord, StormRecord
from inventory.history import SERVICE
from inventory.models import Tree
from tests.support.inspections import TODAY

BLEW: date = TODAY - timedelta(days=20)


def storm_record(on: date = BLEW, **fields: Any) -> StormRecord:
    """A storm of one day, 28 m/s in the city."""
    defaults: dict[str, Any] = {
        "name": "October gale",
        "began_on": on,
        "ended_on": on,
        "gust_m_s": 28.0,
        "gust_source": "harbour mast",
    }
    return StormRecord(uid=fields.pop("uid", None) or uuid.uuid4(), **(defaults | fields))


def storm(on: date = BLEW, **fields: Any) -> Storm:
    """Store a storm."""
    return services.record_storm(SERVICE, storm_record(on, **fields), TODAY)[0]


def failure_record(on: date = BLEW, **fields: Any) -> FailureRecord:
    """A limb that broke on a day and struck nothing."""
    defaults: dict[str, Any] = {
        "part": "limb",
        "happened_from": on,
        "happened_to": on,
        "struck": "nothing",
        "seen_by": "street crew",
    }
    return FailureRecord(uid=fields.pop("uid", None) or uuid.uuid4(), **(defaults | fields))


def failed(tree: Tree, on: date = BLEW, **fields: Any) -> Failure:
    """Store a failure of a tree."""
    return services.record_failure(SERVICE, tree, failure_record(on, **fields), TODAY)[0]
