"""Runs pieces of the deploy commands' shell in a clean environment."""

import subprocess
from collections.abc import Mapping
from pathlib import Path

REPO = Path(__file__).resolve().parents[2]
PLAIN_ENVIRONMENT = {"PATH": "/usr/bin:/bin"}


def run(
    *command: str | Path, env: Mapping[str, str] | None = None, timeout_s: float = 120
) -> subprocess.CompletedProcess[str]:
    """Run a command with nothing in its environment but PATH and `env`."""
    return subprocess.run(
        [str(part) for part in command],
        env={**PLAIN_ENVIRONMENT, **(env or {})},
        capture_output=True,
        text=True,
        timeout=timeout_s,
        check=False,
        stdin=subprocess.DEVNULL,
    )


def shell(script: str, *, env: Mapping[str, str] | None = None, repo: Path = REPO) -> subprocess.CompletedProcess[str]:
    """Run a script that sees every function of deploy/cluster, as the commands themselves do."""
    source = f'set -euo pipefail; source "{repo}/deploy/cluster/all.sh"; '
    return run("/bin/bash", "-c", source + script, env=env)


def answer(script: str, *, env: Mapping[str, str] | None = None, repo: Path = REPO) -> str:
    """Run a script that must succeed; return what it printed."""
    done = shell(script, env=env, repo=repo)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout.strip()
