"""The drain is woken after a request that changed something, once it is committed, and by nothing else."""

import pytest
from pytest_django import DjangoCaptureOnCommitCallbacks

from tests.support import build
from tests.support.http import V1, as_role, key

pytestmark = pytest.mark.django_db


@pytest.fixture
def woken(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What was sent to the broker."""
    sent: list[str] = []
    monkeypatch.setattr("workers.wake.send", lambda task, *_: sent.append(task))
    return sent


def test_a_change_wakes_the_drain(
    city: object, woken: list[str], django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    tree = build.tree()
    client = as_role("forester")
    with django_capture_on_commit_callbacks(execute=True):
        assert client.patch(f"{V1}/trees/{tree.uid}", {"note": "x"}, headers={"If-Match": "*"}).status_code == 200
        assert woken == []  # not before the commit
    assert woken == ["workers.tasks.drain"]


def test_reading_and_refused_requests_wake_nobody(
    city: object, woken: list[str], django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    client = as_role("forester")
    with django_capture_on_commit_callbacks(execute=True):
        assert client.get(f"{V1}/trees").status_code == 200
        assert client.post(f"{V1}/trees", {}, headers=key()).status_code == 400
    assert woken == []


def test_options_tells_the_methods(city: object) -> None:
    answer = as_role("forester").options(f"{V1}/trees")
    assert answer.status_code == 200
    assert {"GET", "POST"} <= {word.strip() for word in answer["Allow"].split(",")}
