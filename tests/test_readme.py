"""The README opens with the job, and its two commands are one line each and true."""

import re
from pathlib import Path

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text()


def test_it_opens_with_the_job_in_one_paragraph():
    first = README.split("\n\n")[1]

    assert len(first) > 400
    assert "\n" not in first.strip() or not re.search(r"^[-*#]", first, re.MULTILINE)
    for word in ("room", "quote", "cure", "margin"):
        assert word in first
    for word in ("Django", "Python", "software", "app"):
        assert not re.search(rf"\b{word}\b", first)


def test_there_are_two_commands_of_one_line():
    blocks = re.findall(r"```sh\n(.*?)```", README, re.DOTALL)
    commands = [line for block in blocks for line in block.splitlines()]

    assert commands[0].endswith("manage.py demo")
    assert commands[1].endswith("-m pytest")
    assert all("--require-hashes -r requirements.lock" in command for command in commands[:2])


def test_every_variable_that_is_read_is_listed():
    settings = (ROOT / "contracting" / "settings.py").read_text()
    names = set(re.findall(r"env\.\w+\(\s*\"(\w+)\"", settings))

    assert len(names) > 10
    rows = "\n".join(line for line in README.splitlines() if line.startswith("| `"))
    assert [name for name in sorted(names) if f"`{name}`" not in rows] == []
