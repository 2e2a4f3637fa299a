"""Spoils the example's files by chance and looks at how the program takes it.

``mutations.py BINARY JOB``: each run spoils one file of a copy of the job (job file, tables, profiles, outlines) at a
few places and asks for ``check``. The program must end by itself within 2 seconds and 256 MiB, with one of its own exit
codes, and every error it tells must have a place. 1000 runs, times ``POUCHWORK_TRIALS``; 20 is the full run.
"""

import json
import os
import random
import resource
import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

SECONDS, BYTES = 2.0, 256 * 1024 * 1024
BITS = ["\"", "'", "[", "]", "[[", "]]", "{", "}", "=", ",", ";", "#", "\n", "\\", "nan", "inf", "-1", "1e400", "1e60", "0",
        "in", "mm", "1/0", "99999999999", "\u00bd", "\x00", "<", ">", "/", "<!DOCTYPE a [", "A 1 1 0 1 1 1e60 0", "9e9",
        "0\nEOF\n", "102\n{", "#REF!", "8-Mar", "../", "\ufeff"]


def spoil(data, chance):
    """A few slips: something left out, put in, doubled or changed."""
    data = bytearray(data)
    for _ in range(chance.randint(1, 4)):
        at = chance.randint(0, len(data))
        end = min(len(data), at + chance.randint(0, 12))
        way = chance.randint(0, 4)
        if way == 0:
            del data[at:end]
        elif way == 1:
            data[at:at] = chance.choice(BITS).encode()
        elif way == 2:
            data[at:end] = chance.choice(BITS).encode()
        elif way == 3:
            data[at:at] = bytes(data[at:end]) * chance.randint(1, 3)
        elif data:
            data[min(at, len(data) - 1)] = chance.randint(0, 255)
    return bytes(data)


def narrow():
    resource.setrlimit(resource.RLIMIT_AS, (BYTES, BYTES))


def main():
    binary, job = Path(sys.argv[1]).resolve(), Path(sys.argv[2])
    runs = max(1, int(1000 * float(os.environ.get("POUCHWORK_TRIALS", "1"))))
    passed, failures, codes, longest = 0, [], {}, 0.0
    with tempfile.TemporaryDirectory() as room:
        copy = Path(room) / "job"
        shutil.copytree(job, copy, ignore=shutil.ignore_patterns("out"))
        files = sorted(p for p in copy.rglob("*") if p.is_file())
        whole = {p: p.read_bytes() for p in files}
        for seed in range(runs):
            chance = random.Random(seed)
            path = chance.choice(files)
            path.write_bytes(spoil(whole[path], chance))
            name = f"seed {seed}, {path.relative_to(copy)}"
            try:
                before = os.times()
                ran = subprocess.run([binary, "check", "--json", "-C", copy], capture_output=True, timeout=SECONDS,
                                     preexec_fn=narrow, env={"HOME": room})
                after = os.times()
                longest = max(longest, after.elapsed - before.elapsed)
            except subprocess.TimeoutExpired:
                failures.append(f"{name}: more than {SECONDS} s")
                path.write_bytes(whole[path])
                continue
            path.write_bytes(whole[path])
            codes[ran.returncode] = codes.get(ran.returncode, 0) + 1
            if ran.returncode not in (0, 1, 4):
                failures.append(f"{name}: exit {ran.returncode}: {ran.stderr[-200:]!r}")
                continue
            try:
                messages = json.loads(ran.stdout)["messages"]
            except (ValueError, KeyError) as slip:
                failures.append(f"{name}: no JSON: {slip}")
                continue
            placeless = [m["text"] for m in messages if m["severity"] == "error" and not (m["file"] and m["line"])]
            if placeless:
                failures.append(f"{name}: no place: {placeless[0]}")
            elif ran.returncode and not any(m["severity"] == "error" for m in messages):
                failures.append(f"{name}: exit {ran.returncode} without an error")
            else:
                passed += 1
    for failure in failures[:20]:
        print("FAILED", failure)
    print(f"exit codes {dict(sorted(codes.items()))}, longest run {longest:.2f} s")
    print(f"{passed} passed, {len(failures)} failed")
    return 1 if failures else 0


if __name__ == "__main__":
    sys.exit(main())
