"""What the deploy commands print and return, where they keep things, and the form of the scripts."""

import os
import shutil
from pathlib import Path

import pytest

from tests.deploy.shell import REPO, answer, run, shell

COMMANDS = [REPO / "deploy" / "up", REPO / "deploy" / "down", REPO / "deploy" / "test", REPO / ".ci" / "run"]
# sockaddr_un.sun_path: 108 bytes with the final NUL (unix(7) of the Linux manual pages)
SOCKET_PATH_BYTES = 107


def test_every_script_passes_shellcheck() -> None:
    scripts = [*COMMANDS, *sorted((REPO / "deploy" / "cluster").glob("*.sh"))]
    done = run("/usr/bin/env", "-C", REPO, REPO / ".venv" / "bin" / "shellcheck", "-x", *scripts)
    assert done.returncode == 0, done.stdout


@pytest.mark.parametrize("command", COMMANDS, ids=lambda path: path.name)
def test_every_command_is_executable_and_stops_at_the_first_error(command: Path) -> None:
    assert os.access(command, os.X_OK)
    assert "\nset -euo pipefail\n" in command.read_text()


@pytest.mark.parametrize("name", ["up", "down"])
def test_an_unknown_argument_is_refused_before_anything_happens(name: str, tmp_path: Path) -> None:
    done = run(REPO / "deploy" / name, "--fast", env={"ENV_FILE": str(tmp_path / ".env")})
    assert done.returncode == 2
    assert f"Usage: deploy/{name}" in done.stderr
    assert not (tmp_path / ".env").exists()


def test_down_without_anything_started_is_quiet_and_harmless(tmp_path: Path) -> None:
    done = run(REPO / "deploy" / "down", "--wipe", env={"ENV_FILE": str(tmp_path / ".env")})
    assert done.returncode == 0
    assert "nothing of this clone was started" in done.stdout


def test_wipe_keeps_a_folder_that_is_not_ours(tmp_path: Path) -> None:
    (tmp_path / "photos").mkdir()
    (tmp_path / ".env").write_text(f"STATE_DIR={tmp_path / 'photos'}\n")
    done = run(REPO / "deploy" / "down", "--wipe", env={"ENV_FILE": str(tmp_path / ".env")})
    assert done.returncode == 1
    shutil.rmtree(Path(done.stderr.rpartition("Whole log:")[2].strip()).parent)
    assert (tmp_path / "photos").is_dir()
    assert (tmp_path / ".env").exists()


def test_a_failed_step_says_which_why_and_what_to_do() -> None:
    done = shell(
        'open_console trial; broken() { echo "disk on fire"; false; echo "went on"; };'
        ' step "Folders" "fetch water" broken; echo "next step"'
    )
    assert done.returncode == 1
    assert "Folders                  FAILED" in done.stdout
    assert "next step" not in done.stdout
    assert 'The step "Folders" failed' in done.stderr
    assert "disk on fire" in done.stderr
    assert "went on" not in done.stderr  # an error inside the step ends it
    assert "What to do: fetch water" in done.stderr
    log = Path(done.stderr.rpartition("Whole log:")[2].strip())
    assert log.read_text() == "disk on fire\n"
    shutil.rmtree(log.parent)


def test_a_step_that_goes_well_is_one_line_with_its_note_and_leaves_no_log() -> None:
    done = shell(
        'open_console trial; echo "$STEP_LOGS"; fine() { echo noise; note "3 things"; };'
        ' step "Folders" "hint" fine; close_console'
    )
    logs, line = done.stdout.splitlines()
    assert line.split() == ["0.0", "s", "Folders", "ok", "0.0", "s", "3", "things"]
    assert not Path(logs).exists()


@pytest.mark.parametrize("depth", [1, 4, 12])
def test_socket_paths_are_short_enough_however_deep_the_clone_lies(depth: int) -> None:
    wanted = "/home/forester" + "/a-long-folder-name" * depth + "/.data/run"
    folder = answer(f"socket_folder '{wanted}'")
    for name in ("postgres/.s.PGSQL.5432.lock", "redis/redis.sock"):
        assert len(f"{folder}/{name}".encode()) <= SOCKET_PATH_BYTES
    assert (folder == wanted) == (depth == 1)


@pytest.mark.parametrize("name", ["my clone", "été", "50%", "a&b", "it's"])
def test_a_socket_path_holds_no_sign_that_a_url_would_change(name: str) -> None:
    folder = answer('socket_folder "$WANTED"', env={"WANTED": f"/home/forester/{name}/.data/run"})
    assert folder.startswith("/tmp/boleward-")  # noqa: S108 - a fixed short place is what is tested
    assert folder.isascii()
    assert set(folder) <= set("/-abcdefghijklmnopqrstuvwxyz0123456789")


def test_folders_of_two_clones_do_not_meet() -> None:
    long = "/home/forester" + "/a-long-folder-name" * 8
    first, second = (answer(f"socket_folder '{long}/{clone}/.data/run'") for clone in ("one", "two"))
    assert first != second


def test_a_link_where_a_folder_belongs_is_refused(tmp_path: Path) -> None:
    (tmp_path / "elsewhere").mkdir()
    (tmp_path / "run").symlink_to("elsewhere")
    done = shell(f'make_folder "{tmp_path}/run" 700 "$(id -nu)"')
    assert done.returncode == 1
    assert "symbolic link" in done.stderr


def test_too_little_space_is_said_before_work_begins(tmp_path: Path) -> None:
    done = shell(f'need_space "{tmp_path}/not/yet/there" 999999999')
    assert done.returncode == 1
    assert f"are free at {tmp_path}; 999999999 MB are needed" in done.stderr


def test_a_second_command_in_the_same_clone_waits(tmp_path: Path) -> None:
    script = (
        'take_lock; ( bash -c \'source "$0/deploy/cluster/all.sh"; take_lock; echo second\' "$REPO" ) & '
        "sleep 1; echo first; exec {LOCK_FD}>&-; wait"
    )
    # the inner command must not inherit the lock itself
    script = script.replace("( bash", "( close_other_files; bash")
    lines = [line.split("  ")[-1] for line in answer(script).splitlines()]
    assert lines[-2:] == ["first", "second"]
    assert "another deploy command is at work" in lines[0]


def test_the_stamp_of_the_code_follows_what_is_in_the_files(tmp_path: Path) -> None:
    clone = tmp_path / "my clone"
    shutil.copytree(REPO / "deploy", clone / "deploy", ignore=shutil.ignore_patterns("__pycache__", "requirements*"))
    for name in ("inventory", "assessments", "api", "workers"):
        (clone / name).mkdir()
    for name in ("manage.py", "pyproject.toml", "api/views.py"):
        (clone / name).write_text("")
    first = answer("code_stamp", repo=clone)
    (clone / "api" / "__pycache__").mkdir()
    (clone / "api" / "__pycache__" / "views.cpython-311.pyc").write_text("compiled")
    assert answer("code_stamp", repo=clone) == first
    (clone / "api" / "views.py").write_text("changed")
    assert answer("code_stamp", repo=clone) != first
