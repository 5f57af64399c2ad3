#!/usr/bin/env python3
"""From an empty folder to a certified plan: keystrokes and wall time, by typing into a terminal.

    python3 benches/keystrokes.py target/release/dropwise

Three jobs, each three ways: the job file written by hand with the nest after it (what `jot` writes, its remarks and blank
lines left out, so that nothing is typed that need not be), the questions of `jot`, and `jot` in one line. A shell runs in a
pseudo-terminal; the next line is typed once the prompt has come. Keys are characters and the Enter after each line. The
time is that of the machine, from the first key to the prompt after the plan, keys typed at once; beside it the time at
four keys a second (an assumption: common practice, no source), to which reading and thinking come.
"""

import os
import pty
import select
import subprocess
import sys
import tempfile
import time

KEYS_A_SECOND = 4.0
NEST = "dropwise nest {} --seconds 1 --out plan"

# Form, then the answers after it: unit, metal, thickness, count, how it is cut, name, measures, pieces.
JOBS = [
    ("flat bracket", "panel", ["mm", "mild steel", "3", "4", "", ""], [("length", "120"), ("height", "60"), ("hole", "6.6"), ("inset", "15"), ("radius", "")], "300 x 200 @ 4.50"),
    ("tray", "tray", ["in", "mild steel", "16 ga", "2", "", ""], [("length", "9"), ("width", "6"), ("height", "1-1/4")], "30 x 18 @ 9.50"),
    ("machine table", "table", ["mm", "mild steel", "3", "", "", ""], [("length", "320"), ("width", "240"), ("height", "160"), ("leg", "45"), ("apron", "30"), ("foot", "35")], "900 x 700 @ 24"),
]


class Terminal:
    """A shell in a pseudo-terminal, in a folder of its own."""

    def __init__(self, program, folder):
        self.keys = 0
        self.seen = b""
        child, self.master = pty.fork()
        if child == 0:
            os.chdir(folder)
            path = os.path.dirname(os.path.abspath(program)) + ":" + os.environ["PATH"]
            os.execvpe("bash", ["bash", "--norc", "--noprofile", "-i"], {"PATH": path, "PS1": "READY> ", "TERM": "dumb", "HOME": folder})
        self.until("READY> ")

    def until(self, *prompts):
        """Reads until the last line ends with one of the prompts."""
        while True:
            ready, _, _ = select.select([self.master], [], [], 120)
            if not ready:
                sys.exit("no prompt came after:\n" + self.seen.decode(errors="replace")[-2000:])
            self.seen += os.read(self.master, 65536)
            last = self.seen.decode(errors="replace").rsplit("\n", 1)[-1]
            if any(last.endswith(prompt) for prompt in prompts):
                self.seen = b""
                return

    def type(self, line, *prompts):
        self.keys += len(line) + 1
        os.write(self.master, line.encode() + b"\n")
        self.until(*prompts)


def measured(program, lines):
    """Types lines, each with the prompts that may come after it; keys and seconds."""
    with tempfile.TemporaryDirectory() as folder:
        terminal = Terminal(program, folder)
        start = time.monotonic()
        for line, prompts in lines:
            terminal.type(line, *prompts)
        seconds = time.monotonic() - start
        if not os.path.exists(os.path.join(folder, "plan", "plan.json")):
            sys.exit("no plan was made by " + repr(lines))
        os.close(terminal.master)
        return terminal.keys, seconds


def one_line(form, answers, measures, piece):
    unit, metal, thickness, count, *_ = answers
    words = ["dropwise jot", form, "--unit", unit, "--metal", f"'{metal}'", "--thickness", f"'{thickness}'"]
    words += ["--count", count] if count else []
    for option, value in measures:
        words += [f"--{option}", value] if value else []
    return " ".join(words + ["--piece", f"'{piece}'"])


def by_hand(program, form, line):
    """What `jot` writes, without remarks and blank lines."""
    arguments = ["bash", "-c", line.replace("dropwise", f"'{os.path.abspath(program)}'", 1) + " --out -"]
    text = subprocess.run(arguments, check=True, capture_output=True, text=True).stdout
    kept = []
    for one in text.splitlines():
        one = one.split("   #")[0].rstrip()
        if one and not one.startswith("#"):
            kept.append(one)
    return kept


def main():
    program = sys.argv[1]
    shell = ("READY> ",)
    asked = (": ", "] ")
    print(f"{'':<16}{'by hand':>22}{'by questions':>22}{'in one line':>22}")
    print(f"{'':<16}" + f"{'keys':>6}{'machine':>8}{'typed':>8}" * 3)
    for name, form, answers, measures, piece in JOBS:
        line = one_line(form, answers, measures, piece)
        file = f"{form}.toml"
        nest = [(NEST.format(file), shell)]
        text = by_hand(program, form, line)
        written = [(f"cat > {file} <<E", ("> ",))] + [(one, ("> ",)) for one in text] + [("E", shell)]
        questions = [("dropwise jot", asked), (form, asked)]
        questions += [(answer, asked) for answer in answers + [value for _, value in measures] + [piece, ""]]
        questions += [("y", shell)]
        row = ""
        for lines in (written + nest, questions + nest, [(line, shell)] + nest):
            keys, seconds = measured(program, lines)
            row += f"{keys:>6}{seconds:>7.1f}s{seconds + keys / KEYS_A_SECOND:>7.0f}s"
        print(f"{name:<16}{row}")


if __name__ == "__main__":
    main()
