"""Pid files: only a process that we started is ever taken for ours or stopped."""

import os
import signal
import subprocess
import time
from pathlib import Path

import pytest

from tests.deploy.shell import REPO, answer, run, shell

FOLDERS = 'set_paths "{state}"; mkdir -p "$PIDS" "$LOGS"; '


def in_state(tmp_path: Path, script: str) -> str:
    """Run a script with the folders of a state of its own."""
    return FOLDERS.format(state=tmp_path / "state") + script


def start(tmp_path: Path, command: str) -> int:
    """Start a process of ours by the name `web`; return its pid once it has a session of its own."""
    pid = int(answer(in_state(tmp_path, f'spawn web stamp "$(id -nu)" {command}; running_pid web')))
    deadline = time.monotonic() + 10
    while os.getsid(pid) != pid:
        assert time.monotonic() < deadline, "it stayed in the session of its caller"
        time.sleep(0.01)
    return pid


def is_alive(pid: int) -> bool:
    """Is there such a process that is not merely waiting for its parent."""
    try:
        state = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    return state not in {"Z", "X"}


def test_down_leaves_a_process_alone_that_got_the_pid_of_ours(
    tmp_path: Path, bystander: subprocess.Popen[bytes]
) -> None:
    state = tmp_path / "state"
    (state / "pid").mkdir(parents=True)
    boot = Path("/proc/sys/kernel/random/boot_id").read_text().strip()
    for name in ("web", "worker", "scheduler", "redis"):
        (state / "pid" / name).write_text(f"{bystander.pid} 1 {boot} stamp\n")
    (tmp_path / ".env").write_text(f"STATE_DIR={state}\n")
    done = run(REPO / "deploy" / "down", env={"ENV_FILE": str(tmp_path / ".env")})
    assert done.returncode == 0, done.stdout + done.stderr
    assert bystander.poll() is None
    assert list((state / "pid").iterdir()) == []


def test_a_pid_of_before_the_last_boot_is_not_ours(tmp_path: Path, bystander: subprocess.Popen[bytes]) -> None:
    started = answer(f"process_identity {bystander.pid}").split()[0]
    script = in_state(tmp_path, f'echo "{bystander.pid} {started} another-boot stamp" >"$PIDS/web"; running_pid web')
    assert shell(script).returncode == 1


@pytest.mark.parametrize("content", ["", "garbage", "0 1 2 3", "-1 1 2 3", "999999999 1 2 3"])
def test_a_broken_pid_file_means_that_nothing_runs(tmp_path: Path, content: str) -> None:
    assert shell(in_state(tmp_path, f'echo "{content}" >"$PIDS/web"; running_pid web')).returncode == 1
    answer(in_state(tmp_path, "stop web 1"))


def test_what_was_started_outlives_the_command_and_is_stopped_by_the_next(tmp_path: Path) -> None:
    pid = start(tmp_path, "sleep 300")
    assert is_alive(pid)
    assert answer(in_state(tmp_path, "running_stamp web")) == "stamp"
    answer(in_state(tmp_path, "stop web 5"))
    assert not is_alive(pid)
    assert not (tmp_path / "state" / "pid" / "web").exists()


def test_a_process_that_does_not_heed_is_killed_with_its_children(tmp_path: Path) -> None:
    stubborn = "/bin/bash -c 'trap \"\" TERM; sleep 301 & echo child $!; while true; do sleep 1; done'"
    pid = start(tmp_path, stubborn)
    log = tmp_path / "state" / "log" / "web.log"
    answer(f'until [[ -s "{log}" ]]; do sleep 0.05; done')
    child = int(log.read_text().split()[1])
    assert "killed" in answer(in_state(tmp_path, "stop web 1"))
    assert not is_alive(pid)
    assert not is_alive(child)


def test_a_server_holds_no_open_file_of_its_caller(tmp_path: Path) -> None:
    reader, writer = os.pipe()
    try:
        script = in_state(tmp_path, 'take_lock; spawn web stamp "$(id -nu)" sleep 300; running_pid web')
        done = subprocess.run(
            ["/bin/bash", "-c", f'set -euo pipefail; source "{REPO}/deploy/cluster/all.sh"; {script}'],
            pass_fds=[writer],
            capture_output=True,
            text=True,
            check=True,
        )
        pid = int(done.stdout.split()[-1])
        answer(f"until [[ $(</proc/{pid}/comm) == sleep ]]; do sleep 0.02; done")
        held = {path.readlink() for path in Path(f"/proc/{pid}/fd").iterdir()}
        log = (tmp_path / "state" / "log" / "web.log").resolve()
        assert held == {Path("/dev/null"), log}
    finally:
        os.close(reader)
        os.close(writer)
        answer(in_state(tmp_path, "stop web 5"))


def test_a_dead_process_that_nobody_has_buried_does_not_count_as_running(tmp_path: Path) -> None:
    with subprocess.Popen(["sleep", "300"]) as process:
        process.send_signal(signal.SIGKILL)
        os.waitid(os.P_PID, process.pid, os.WEXITED | os.WNOWAIT)  # dead, and still in the table
        assert shell(f"process_identity {process.pid}").returncode == 1
