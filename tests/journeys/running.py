"""Runs the real service for a journey: a database of its own, gunicorn, a worker with the schedule; as role `app`."""

import json
import os
import secrets
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit, urlunsplit

from deploy.bench.scratch import ROOT, database_of_its_own

PASSWORD = "a long enough phrase of words"
JSON = "application/json"


@dataclass(frozen=True)
class Answer:
    """Status, headers and body of one answer."""

    status: int
    headers: dict[str, str]
    body: bytes

    @property
    def json(self) -> Any:
        """The body, read as JSON."""
        return json.loads(self.body)


@dataclass(frozen=True)
class Client:
    """Speaks HTTP to the service as one person (with a token) or as the public."""

    base: str
    token: str = ""

    def call(self, method: str, path: str, body: Any = None, *, content: str = JSON, **headers: str) -> Answer:
        """Send one request; a problem is an answer, not an exception. Underscores in header names become dashes."""
        data = body if isinstance(body, bytes) else None if body is None else json.dumps(body).encode()
        sent = {name.replace("_", "-"): value for name, value in headers.items()}
        if data is not None:
            sent["Content-Type"] = content
        if self.token:
            sent["Authorization"] = f"Bearer {self.token}"
        if method == "POST":
            sent.setdefault("Idempotency-Key", f'"{secrets.token_hex(8)}"')
        url = path if path.startswith("http") else self.base + path
        request = urllib.request.Request(url, data=data, method=method, headers=sent)  # noqa: S310 (loopback)
        try:
            with urllib.request.urlopen(request, timeout=60) as reply:  # noqa: S310
                return Answer(reply.status, dict(reply.headers), reply.read())
        except urllib.error.HTTPError as error:
            return Answer(error.code, dict(error.headers), error.read())

    def get(self, path: str) -> Any:
        """GET that must succeed; the JSON."""
        answer = self.call("GET", path)
        assert answer.status == 200, answer
        return answer.json

    def post(self, path: str, body: Any = None, *, expect: int = 201, **headers: str) -> Any:
        """POST that must answer with the status expected; the JSON."""
        answer = self.call("POST", path, {} if body is None else body, **headers)
        assert answer.status == expect, answer
        return answer.json

    def post_file(self, path: str, file: Path) -> Any:
        """Upload a file as the plain body; the JSON."""
        answer = self.call("POST", path, file.read_bytes(), content="application/octet-stream")
        assert answer.status == 201, answer
        return answer.json

    def etag(self, path: str) -> str:
        """The version tag of what is there now."""
        return self.call("GET", path).headers["ETag"]

    def items(self, path: str) -> list[Any]:
        """Every item of a paged list."""
        found: list[Any] = []
        after: str | None = path
        while after:
            page = self.get(after)
            found += page["items"]
            after = page["next"]
        return found


@dataclass(frozen=True)
class City:
    """A running service."""

    base: str
    env: dict[str, str]

    def manage(self, *words: str, stdin: str = "") -> str:
        """Run a management command against this city; what it printed. Raises CalledProcessError."""
        done = subprocess.run(
            [sys.executable, str(ROOT / "manage.py"), *words],
            env=os.environ | self.env,
            cwd=ROOT,
            check=True,
            input=stdin,
            stdout=subprocess.PIPE,
            text=True,
        )
        return done.stdout

    def person(self, role: str, organisation: str, name: str) -> Client:
        """Add a person and sign in: a client with a token."""
        email = f"{name.split()[0].lower()}@{role.replace('_', '-')}.example"
        self.manage("person", email, name, role, organisation, stdin=PASSWORD + "\n")
        answer = Client(self.base).call("POST", "/api/v1/tokens", {"email": email, "password": PASSWORD})
        assert answer.status == 201, answer
        return Client(self.base, answer.json["token"])

    @property
    def public(self) -> Client:
        """Somebody without an account."""
        return Client(self.base)


@contextmanager
def running_city(name: str, srid: int, folder: Path) -> Iterator[City]:
    """Make a city, start its web server and worker, stop them and drop it."""
    with database_of_its_own(srid) as database, ExitStack() as stack:
        port = _free_port()
        env = database | {
            "CITY_NAME": name,
            "DB_ROLE": "app",
            "DJANGO_SETTINGS_MODULE": "deploy.settings",
            "DATA_DIR": str(folder / "files"),
            "REDIS_URL": _own_redis(os.environ["REDIS_URL"], port),
            "THROTTLE_ANON": "100000",
            "THROTTLE_USER": "100000",
            "THROTTLE_SIGN_IN": "1000",
        }
        city = City(f"http://127.0.0.1:{port}", env)
        city.manage("found")
        city.manage("reference")
        stack.callback(_empty_redis, env["REDIS_URL"])
        web = [sys.executable, "-m", "gunicorn", "deploy.wsgi", "--bind", f"127.0.0.1:{port}", "--workers", "2"]
        stack.enter_context(_process([*web, "--threads", "2", "--no-control-socket"], env, folder / "web.log"))
        worker = [sys.executable, "-m", "celery", "-A", "workers", "worker", "-B", "--concurrency", "2"]
        schedule = ["--schedule", str(folder / "schedule"), "--loglevel", "WARNING"]
        stack.enter_context(_process([*worker, *schedule], env, folder / "worker.log"))
        wait_for(lambda: _is_ready(city), "the service to be ready", folder / "web.log")
        yield city


def wait_for(ready: Callable[[], Any], what: str, log: Path | None = None, seconds: float = 60) -> Any:
    """Poll until something true comes back; fail with what was awaited and the end of the log."""
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        if found := ready():
            return found
        time.sleep(0.2)
    tail = log.read_text()[-3000:] if log and log.exists() else ""
    raise AssertionError(f"waited {seconds:.0f} s in vain for {what}\n{tail}")


def _is_ready(city: City) -> bool:
    try:
        return city.public.call("GET", "/health/ready").status == 200
    except OSError:
        return False


@contextmanager
def _process(words: list[str], env: dict[str, str], log: Path) -> Iterator[None]:
    with log.open("wb") as out:
        child = subprocess.Popen(words, env=os.environ | env, cwd=ROOT, stdout=out, stderr=out)
        try:
            yield
        finally:
            child.terminate()
            try:
                child.wait(15)
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()


def _free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def _own_redis(url: str, port: int) -> str:
    """Another database number of the same broker, so that a journey never hears another one's tasks."""
    number = 1 + port % 15
    if url.startswith("unix:"):
        return f"{url.split('?')[0]}?db={number}"
    return urlunsplit(urlsplit(url)._replace(path=f"/{number}"))


def _empty_redis(url: str) -> None:
    import redis

    redis.Redis.from_url(url).flushdb()
