"""How long a user hears nothing while a machine answers late, or not at all: jobs and their resume.

Run by hand: python tests/bench/silences.py [--smoke] [--language hpgl|gcode|lines] [--count N]
    [--first SEED]
The machines are those written from the notes, on a clock that nobody waits for. Their answers are
now and then up to 20 s late, all that follows behind them, or their `ok` are lost.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
from dataclasses import dataclass, field
from pathlib import Path

HERE = Path(__file__).parent
sys.path.insert(0, str(HERE))

from breaks import LANGUAGES, PROFILE, gcode_file, hpgl_file, machine_of  # noqa: E402
from machines_from_notes.simulated import Sender, Wire  # noqa: E402

LATE = (0.0, 0.0, 0.0, 2.0, 10.0, 20.0)  # s
MOST = 30.0  # s without a word: the target
ROUNDS = 4  # of a job that is broken off and resumed
GIVEN_UP = 900.0  # s for a round


@dataclass
class Fitful(Wire):
    """A line whose answers are late for a while, each time by something else. until: when the next
    while begins, s; before the first answers are on time.
    """

    rng: random.Random = field(default_factory=random.Random)
    until: float = 0.0

    def serve(self, seconds: float) -> None:
        """See Wire."""
        super().serve(seconds)
        if self.now > self.until:
            self.late = self.rng.choice(LATE)
            self.until = self.now + self.rng.uniform(0.5, 30.0)


def one(language: str, seed: int, show: bool) -> tuple[float, bool]:
    """Send a job that is stopped now and then, and resume it; return the longest silence, s, and
    whether it ended.
    """
    rng = random.Random(f"silence-{language}-{seed}")
    machine, said = machine_of(language, rng)
    if hasattr(machine.habits, "loses_ok"):
        machine.habits.loses_ok = tuple(rng.sample(range(3, 300), rng.choice((0, 0, 8, 20))))
    data = hpgl_file(rng, 30) if language == "hpgl" else gcode_file(rng, 30, said["tool"] == "beam")
    longest, code = 0.0, 1
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        (folder / "job.txt").write_bytes(data)
        profile = PROFILE.format(**said).replace('"8 s"', f'"{rng.choice((8, 120))} s"')
        (folder / "trial.toml").write_text(profile)
        (folder / "port").touch()
        wire = Fitful(machine, said["baud"], said["flow"], rng=rng, until=rng.uniform(1.0, 6.0))
        words = ["send", str(folder / "job.txt"), "--machine", str(folder / "trial.toml")]
        words += ["--port", str(folder / "port"), "--yes"]
        for nth in range(ROUNDS):
            sender = Sender(words, wire, folder / f"{nth}.txt", folder / "jobs")
            stop_at = wire.now + rng.choice((5.0, 60.0, GIVEN_UP))

            def stop(sender: Sender = sender, at: float = stop_at) -> None:
                if at <= wire.now < at + 0.003:
                    sender.signal(15)

            code = sender.run(stop)
            longest = max(longest, sender.silence)
            if show:
                print(f"  -- {seed}.{nth}: code {code}, {sender.silence:.1f} s\n"
                      + (folder / f"{nth}.txt").read_text())  # fmt: skip
            if not code:
                break
            words = ["resume", "--yes"]
    return longest, not code


def main() -> None:
    """Print a table: the longest silences by language."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--smoke", action="store_true")
    parser.add_argument("--show", action="store_true")
    parser.add_argument("--language", choices=LANGUAGES)
    parser.add_argument("--count", type=int, default=40)
    parser.add_argument("--first", type=int, default=0)
    asked = parser.parse_args()
    count = 2 if asked.smoke else asked.count
    print("language  jobs  ended  median  longest silence, s  over 30 s (target 0)")
    for language in (asked.language,) if asked.language else LANGUAGES:
        seeds = range(asked.first, asked.first + count)
        came = [one(language, seed, asked.show) for seed in seeds]
        silent = sorted(longest for longest, _ in came)
        bad = [seed for seed, (longest, _) in zip(seeds, came, strict=True) if longest > MOST]
        ended = sum(end for _, end in came)
        print(f"{language:8} {count:5d} {ended:6d} {silent[count // 2]:7.1f} {silent[-1]:19.1f}"
              f"  {len(bad)} {bad[:12] or ''}", flush=True)  # fmt: skip


if __name__ == "__main__":
    main()
