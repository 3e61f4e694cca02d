"""The pages have the limits that the interface has."""

from unittest.mock import patch

import pytest
from django.test import Client, RequestFactory
from rest_framework.throttling import AnonRateThrottle

from api.pages.verdicts import asked as asked_for
from inventory.intake.checks import CHECKS

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("city")]


def test_the_public_is_asked_to_wait_when_it_asks_too_fast(client: Client) -> None:
    with patch.object(AnonRateThrottle, "THROTTLE_RATES", {"anon": "3/min"}):
        answers = [client.get("/trees").status_code for _ in range(4)]
    assert answers == [200, 200, 200, 429]


@pytest.mark.parametrize("asked", ["\x00", "nothing of the kind"])
def test_a_reason_that_there_is_not_filters_nothing(asked: str) -> None:
    assert asked_for(RequestFactory().get("/loads/x", {"reason": asked, "verdict": asked})) == ("", "")


def test_a_reason_that_there_is_filters() -> None:
    asked = RequestFactory().get("/loads/x", {"reason": CHECKS[0].name, "verdict": "refused"})
    assert asked_for(asked) == (CHECKS[0].name, "refused")
