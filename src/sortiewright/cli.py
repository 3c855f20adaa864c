"""The command line: one command a capability, each a few lines over a call that gives the same in Python."""

from __future__ import annotations

import os
import sys
import warnings
from collections.abc import Sequence
from typing import Literal

from cyclopts import App, CycloptsError

from sortiewright import CAUTION, __version__, commands

# Exit codes: 0 fine, 1 the flight has a no-go, 2 bad input or usage. The others are neither.
BAD_INPUT = 2
FAULT_OF_THE_PROGRAM = 70  # EX_SOFTWARE of sysexits.h: it must not look like a no-go
STOPPED = 130  # 128 and SIGINT, as shells count
PIPE_CLOSED = 141  # 128 and SIGPIPE

PACK = """Look into and check aircraft packs.

A pack is the folder that says what is true of an aircraft type. Shipped packs are called by their names.

Example: sortiewright pack list
"""
CHECKLIST = """Today's checklists for both seats: shown, run together, and proved.

Example: sortiewright checklist show demo
"""
RECORDING = """Read recorded flights: which column is what, what is odd, which phases there are.

Example: sortiewright recording map flight.csv.gz
"""
LINK = """The live feed: listen to it, record it, send a recording as one.

Example: sortiewright link listen --for 1
"""
CALC = """Compute one thing by hand: air, speeds, wind, turns, places, sun, a weather report.

A quantity is a number in the unit that the help names, or a number with its unit: 5000, "1524 m", 1524m.

Example: sortiewright calc turn 450 --load-factor 5
"""

app = App(
    name="sortiewright",
    help=f"""Takeoff and landing numbers, go or no-go, and cards, from aircraft data and today's sortie.

Example: sortiewright demo

Exit code 0: fine. 1: the flight has a no-go. 2: bad input or usage.

{CAUTION}
""",
    version=f"sortiewright {__version__}",
    version_format="plaintext",
    help_format="plaintext",
    help_formatter=commands.HelpPage(),
    group_parameters="Options",
    suppress_keyboard_interrupt=False,
)

app.command(commands.demo, sort_key=1)
app.command(commands.plan, sort_key=2)
app.command(commands.desk, sort_key=2)
app.command(commands.cards, sort_key=3)
app.command(commands.chart, sort_key=3)
app.command(commands.route, sort_key=3)
# By name, so that a group is imported only when one of its commands is asked for.
app.command("sortiewright.commands.pack:app", name="pack", sort_key=4, help=PACK)
app.command("sortiewright.commands.checklist:app", name="checklist", sort_key=5, help=CHECKLIST)
app.command("sortiewright.commands.recording:app", name="recording", sort_key=6, help=RECORDING)
app.command(commands.fly, sort_key=7)
app.command(commands.debrief, sort_key=7)
app.command(commands.calibrate, sort_key=8)
app.command("sortiewright.commands.link:app", name="link", sort_key=9, help=LINK)
app.command("sortiewright.commands.calc:app", name="calc", sort_key=10, help=CALC)


@app.command(sort_key=11)
def completion(shell: Literal["bash", "zsh", "fish"], /) -> None:
    """Script that completes commands and options in a shell.

    Example: sortiewright completion bash

    Keep its output where your shell looks for completions, for bash:
    sortiewright completion bash > ~/.local/share/bash-completion/completions/sortiewright

    Parameters
    ----------
    shell
        The shell it is for.
    """
    print(app.generate_completion(shell=shell))


def main() -> None:
    """Run the command line of this process and exit."""
    for stream in (sys.stdout, sys.stderr):
        # A terminal with an old code page shows a question mark for a sign it lacks; it must not stop us.
        if reconfigure := getattr(stream, "reconfigure", None):
            reconfigure(errors="replace")
    if not sys.warnoptions:  # they are for us: python -W default -m sortiewright.cli shows them
        warnings.simplefilter("ignore")
    sys.exit(run(sys.argv[1:]))


def run(arguments: Sequence[str]) -> int:
    """Carry out one command and return its exit code; faults are printed, never raised."""
    try:
        result = app(list(arguments), exit_on_error=False, print_error=False, result_action="return_value")
        sys.stdout.flush()
        return result if isinstance(result, int) else 0
    except CycloptsError as fault:
        for line in commands.usage_lines(fault):
            say(line)
        return BAD_INPUT
    except KeyboardInterrupt:
        say("sortiewright: stopped")
        return STOPPED
    except BrokenPipeError:
        return silenced()
    except SystemExit:  # rich's answer to a closed pipe while help is printed
        return silenced()
    except Exception as fault:
        lines = commands.fault_lines(fault)
        if lines is None:
            import traceback

            traceback.print_exc()
            say("sortiewright: this is a fault of the program, not of what you gave it. Please report it.")
            return FAULT_OF_THE_PROGRAM
        for line in lines:
            say(line)
        return BAD_INPUT


def silenced() -> int:
    """Turn stdout away from a pipe nobody reads, lest Python complain at exit, and return the exit code."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    return PIPE_CLOSED


def say(text: str) -> None:
    """Print a line to stderr."""
    print(text, file=sys.stderr)


if __name__ == "__main__":
    main()
