"""A private PostgreSQL and Redis, really started: reached by password and private socket, by nothing else."""

import os
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg
import pytest
import redis
from psycopg.conninfo import make_conninfo
from redis.backoff import NoBackoff
from redis.retry import Retry

from deploy.env import database
from tests.deploy.shell import answer, shell


class Cluster:
    """The servers of one scratch state folder."""

    def __init__(self, state: Path) -> None:
        self.state = state
        self.env = {"ENV_FILE": str(state / "env"), "STATE_DIR": str(state)}

    def script(self, script: str) -> str:
        """Run a script with the settings and folders of this state."""
        return answer(f'set_paths "$STATE_DIR"; STEP_NOTE=/dev/null; {script}', env=self.env)

    def setting(self, key: str) -> str:
        """Return a setting from the .env of this state."""
        return self.script(f"setting {key}")

    def connect(self, key: str, **changes: str) -> psycopg.Connection[tuple[object, ...]]:
        """Connect as the service would, by the URL in the setting."""
        values = database(self.setting(key), key)
        names = {"dbname": "NAME", "user": "USER", "password": "PASSWORD", "host": "HOST"}
        wanted = {name: str(values[django]) for name, django in names.items()}
        return psycopg.connect(make_conninfo("", **{**wanted, **changes}), autocommit=True)

    def server_pid(self) -> int:
        """Return the pid of the PostgreSQL server."""
        return int(self.script("postgres_pid"))


@pytest.fixture(scope="module")
def cluster() -> Iterator[Cluster]:
    """PostgreSQL and Redis as deploy/up makes them; the folder is one that their system users can enter."""
    with tempfile.TemporaryDirectory(prefix="boleward-trial.") as folder:
        os.chmod(folder, 0o711)  # noqa: S103 - the servers' users must pass through
        cluster = Cluster(Path(folder) / "state")
        cluster.state.mkdir()
        cluster.script("write_env; make_folders; postgres_up; redis_up")
        try:
            yield cluster
        finally:
            cluster.script("stop redis 10; stop_postgres")


def test_the_roles_come_in_by_their_passwords(cluster: Cluster) -> None:
    for key, role in (("DATABASE_URL", "app"), ("DATABASE_OWNER_URL", "owner")):
        with cluster.connect(key) as connection:
            assert connection.execute("SELECT current_user").fetchone() == (role,)


@pytest.mark.parametrize("password", ["", "wrong"])
def test_nobody_comes_in_without_the_right_password(cluster: Cluster, password: str) -> None:
    with pytest.raises(psycopg.OperationalError, match="password"):
        cluster.connect("DATABASE_URL", password=password)


def test_the_socket_is_the_only_way_in_and_no_rule_trusts(cluster: Cluster) -> None:
    rules = cluster.script(
        'superuser_sql -d postgres -Atc "SELECT type, auth_method FROM pg_hba_file_rules" -c "SHOW listen_addresses"'
    )
    assert rules.split() == ["local|peer", "local|scram-sha-256"]  # and listen_addresses is empty


def test_the_service_role_owns_nothing_and_makes_nothing_but_temporary_tables(cluster: Cluster) -> None:
    with cluster.connect("DATABASE_URL") as connection:
        connection.execute("CREATE TEMPORARY TABLE scratch (a int)")
        with pytest.raises(psycopg.errors.InsufficientPrivilege):
            connection.execute("CREATE TABLE mine (a int)")
        owned = connection.execute(
            "SELECT count(*) FROM pg_class WHERE relowner = 'app'::regrole AND relpersistence <> 't'"
        )
        assert owned.fetchone() == (0,)
        rights = connection.execute(
            "SELECT rolsuper OR rolcreatedb OR rolcreaterole FROM pg_roles WHERE rolname = 'app'"
        )
        assert rights.fetchone() == (False,)


def test_the_database_has_the_extensions_the_locale_and_no_compiling_of_plans(cluster: Cluster) -> None:
    with cluster.connect("DATABASE_OWNER_URL") as connection:
        names = connection.execute("SELECT extname FROM pg_extension ORDER BY 1").fetchall()
        assert [name for (name,) in names] == ["btree_gist", "pg_trgm", "plpgsql", "postgis"]
        locale = connection.execute(
            "SELECT datcollate, pg_encoding_to_char(encoding) FROM pg_database WHERE datname = current_database()"
        )
        assert locale.fetchone() == ("C.UTF-8", "UTF8")
        assert connection.execute("SHOW jit").fetchone() == ("off",)


def test_the_servers_do_not_run_as_root_and_their_data_are_closed(cluster: Cluster) -> None:
    assert Path(f"/proc/{cluster.server_pid()}").stat().st_uid != 0
    assert Path(f"/proc/{cluster.script('running_pid redis')}").stat().st_uid != 0
    for name in ("postgres", "redis", "run/redis"):
        assert (cluster.state / name).stat().st_mode & 0o077 == 0


def test_redis_wants_its_password_and_lets_only_the_cache_give_way(cluster: Cluster) -> None:
    url = cluster.setting("REDIS_URL")
    with redis.Redis.from_url(url) as client:
        assert client.ping()
        assert client.config_get("maxmemory-policy") == {"maxmemory-policy": "volatile-lru"}
        assert client.config_get("appendonly") == {"appendonly": "yes"}
        assert client.config_get("port") == {"port": "0"}
    socket = str(Path(cluster.script('printf %s "$SOCKETS"')) / "redis" / "redis.sock")
    with (
        redis.Redis(unix_socket_path=socket, retry=Retry(NoBackoff(), 0)) as stranger,
        pytest.raises(redis.exceptions.AuthenticationError),
    ):
        stranger.ping()


def test_a_second_start_leaves_the_servers_as_they_are(cluster: Cluster) -> None:
    before = cluster.server_pid(), cluster.script("running_pid redis")
    cluster.script("make_folders; postgres_up; redis_up")
    assert (cluster.server_pid(), cluster.script("running_pid redis")) == before


def test_a_new_password_in_the_settings_is_taken_over(cluster: Cluster) -> None:
    path = cluster.state / "env"
    old = cluster.setting("DATABASE_URL")
    path.write_text(path.read_text().replace("postgres://app:", "postgres://app:changed"))
    cluster.script("postgres_up")
    cluster.connect("DATABASE_URL").close()
    with pytest.raises(psycopg.OperationalError, match="password"):
        cluster.connect("DATABASE_URL", password=str(database(old, "DATABASE_URL")["PASSWORD"]))


def test_it_comes_back_after_a_crash_with_its_facts_and_beside_a_recycled_pid(
    cluster: Cluster, bystander: subprocess.Popen[bytes]
) -> None:
    with cluster.connect("DATABASE_OWNER_URL") as connection:
        connection.execute("CREATE TABLE fact (a int)")
        connection.execute("INSERT INTO fact VALUES (42)")
    pid = cluster.server_pid()
    os.killpg(pid, signal.SIGKILL)
    wait_until_gone(pid)
    stale = cluster.state / "postgres" / "postmaster.pid"
    stale.write_text(stale.read_text().replace(str(pid), str(bystander.pid), 1))
    cluster.script("stop_postgres")  # must not take the bystander for the server
    assert bystander.poll() is None
    cluster.script("postgres_up")
    with cluster.connect("DATABASE_OWNER_URL") as connection:
        assert connection.execute("SELECT a FROM fact").fetchone() == (42,)


def test_a_cluster_of_another_version_is_left_alone_and_named(cluster: Cluster) -> None:
    version = cluster.state / "postgres" / "PG_VERSION"
    version.write_text("14\n")
    try:
        done = shell('set_paths "$STATE_DIR"; postgres_up', env=cluster.env)
    finally:
        version.write_text("15\n")
    assert done.returncode == 1
    assert "made by PostgreSQL 14, not 15" in done.stderr


def wait_until_gone(pid: int) -> None:
    """Wait until no process has this pid, or only one that nobody has buried."""
    for _ in range(200):
        if shell(f"process_identity {pid}").returncode:
            return
        time.sleep(0.02)
    raise AssertionError(f"{pid} is still there")
