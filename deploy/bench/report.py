"""How a benchmark times, counts memory and prints."""

import json
import resource
import statistics
import time
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any


class Clock:
    """Seconds by name, several rounds each."""

    def __init__(self) -> None:
        self.rounds: dict[str, list[float]] = {}

    @contextmanager
    def timed(self, name: str) -> Iterator[None]:
        """Time one round."""
        start = time.perf_counter()
        yield
        self.rounds.setdefault(name, []).append(time.perf_counter() - start)

    def median(self, name: str) -> float:
        """The median of the rounds, in seconds."""
        return statistics.median(self.rounds[name])

    def figures(self) -> dict[str, list[float]]:
        """Every round of every name, in seconds to the millisecond."""
        return {name: [round(s, 3) for s in rounds] for name, rounds in self.rounds.items()}


def peak_mib() -> float:
    """The largest resident memory of this process so far (MiB)."""
    return round(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024, 1)


def finish(name: str, scale: int, ratio: float, figures: dict[str, Any], *, as_json: bool) -> None:
    """Print the figures for people, or as one JSON object on the last line."""
    if as_json:
        print(json.dumps({"name": name, "scale": scale, "ratio": round(ratio, 3), **figures}))
        return
    print(f"{name} at {scale}: {ratio:.2f} times the baseline")
    for key, value in figures.items():
        print(f"  {key}: {value}")


def say(step: str, values: Sequence[float] = ()) -> None:
    """One line as it goes, on the standard output before the result."""
    print(f"- {step}", *(f"{value:.2f} s" for value in values), flush=True)
