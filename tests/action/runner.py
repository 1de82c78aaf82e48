"""A small runner of composite actions: it runs their shell steps as the service does, and writes down the steps that use another action.

After "Metadata syntax for GitHub Actions", "Workflow commands for GitHub Actions" and "Expressions", docs.github.com: a step of `shell: bash` is a script run
by `bash --noprofile --norc -eo pipefail`, outputs are lines in the file GITHUB_OUTPUT, a step whose condition names no status function runs only while all
before it succeeded, and in an expression nothing, "" and false count as false. Commands are looked for at the beginning of a line; in between stop-commands and
its token none counts. Only what the action here needs is understood; everything else raises.
"""

from __future__ import annotations

import re
import subprocess
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

_EXPRESSION = re.compile(r"\$\{\{(.*?)\}\}")
_COMMAND = re.compile(r"^\s*::([a-z-]+)(?: ([^:]*))?::(.*)$")
_OLD_COMMAND = re.compile(r"##\[(\w[\w-]*)[^\]]*\]")


@dataclass
class Step:
    """One step that ran."""

    name: str
    code: int
    log: str
    commands: list[tuple[str, dict[str, str], str]]
    outputs: dict[str, str]
    summary: str


@dataclass
class Run:
    """An action that ran: its steps by name, its outputs, and what other actions it called with."""

    steps: dict[str, Step] = field(default_factory=dict)
    called: list[tuple[str, dict[str, str]]] = field(default_factory=list)
    outputs: dict[str, str] = field(default_factory=dict)
    success: bool = True

    @property
    def log(self) -> str:
        """Return everything that was printed."""
        return "\n".join(step.log for step in self.steps.values())

    @property
    def summary(self) -> str:
        """Return the summaries of all steps."""
        return "\n".join(step.summary for step in self.steps.values())

    @property
    def commands(self) -> list[tuple[str, dict[str, str], str]]:
        """Return the commands that the service would take."""
        return [command for step in self.steps.values() for command in step.commands]


class Runner:
    """Runs an action in a folder that holds a checkout."""

    def __init__(self, action: Path, workspace: Path, temporary: Path, surroundings: Mapping[str, str]) -> None:
        self.folder = action
        self.document: dict[str, Any] = yaml.safe_load((action / "action.yml").read_text(encoding="utf-8"))
        self.workspace = workspace
        self.temporary = temporary
        self.surroundings = dict(surroundings)

    def run(
        self, github: Mapping[str, Any], inputs: Mapping[str, str], known: Mapping[str, Mapping[str, str]] | None = None
    ) -> Run:
        """Run every step; `known` are outputs of steps that need not run again."""
        unknown = set(inputs) - set(self.document["inputs"])
        assert not unknown, f"no inputs of the action: {unknown}"
        given = {name: str(facts.get("default", "")) for name, facts in self.document["inputs"].items()} | dict(inputs)
        done = Run()
        steps: dict[str, dict[str, Any]] = {}
        context = {"inputs": given, "github": {"action_path": str(self.folder), **github}, "steps": steps}
        for number, step in enumerate(self.document["runs"]["steps"]):
            if step.get("id") in (known or {}):
                steps[step["id"]] = {"outputs": dict((known or {})[step["id"]])}
                continue
            if not self._wanted(str(step.get("if", "success()")), context, done.success):
                continue
            if "uses" in step:
                done.called.append(
                    (step["uses"], {key: self._filled(str(value), context) for key, value in step.get("with", {}).items()})
                )
                continue
            ran = self._step(step, context, number)
            done.steps[ran.name] = ran
            steps[step.get("id", ran.name)] = {"outputs": ran.outputs}
            if ran.code and not step.get("continue-on-error"):
                done.success = False
        done.outputs = {name: self._filled(str(facts["value"]), context) for name, facts in self.document["outputs"].items()}
        return done

    def _step(self, step: Mapping[str, Any], context: Mapping[str, Any], number: int) -> Step:
        assert step["shell"] == "bash"
        assert "${{" not in step["run"], "an expression in a script is a way to run what stands in it"
        script = self.temporary / f"step{number}.sh"
        script.write_text(step["run"] + "\n", encoding="utf-8")
        files = {name: self.temporary / f"{name}{number}" for name in ("GITHUB_OUTPUT", "GITHUB_STEP_SUMMARY")}
        for place in files.values():
            place.write_text("", encoding="utf-8")
        github = context["github"]
        surroundings = self.surroundings | {
            "GITHUB_WORKSPACE": str(self.workspace), "RUNNER_TEMP": str(self.temporary), "RUNNER_OS": "Linux", "CI": "true",
            "GITHUB_SHA": str(github.get("sha", "")), "GITHUB_REPOSITORY": str(github.get("repository", "")),
            "GITHUB_ACTOR": str(github.get("actor", "")), "GITHUB_EVENT_NAME": str(github.get("event_name", "")),
        }  # fmt: skip
        surroundings |= {name: str(place) for name, place in files.items()}
        surroundings |= {name: self._filled(str(value), context) for name, value in step.get("env", {}).items()}
        done = subprocess.run(
            ["bash", "--noprofile", "--norc", "-eo", "pipefail", str(script)], cwd=self.workspace, env=surroundings, check=False,
            stdout=subprocess.PIPE, stderr=subprocess.STDOUT, timeout=600, stdin=subprocess.DEVNULL,
        )  # fmt: skip
        log = done.stdout.decode("utf-8", "replace")
        outputs = dict(line.split("=", 1) for line in files["GITHUB_OUTPUT"].read_text(encoding="utf-8").splitlines())
        summary = files["GITHUB_STEP_SUMMARY"].read_text(encoding="utf-8")
        assert len(summary.encode()) < 1_048_576
        return Step(str(step["name"]), done.returncode, log, commands_in(log), outputs, summary)

    def _wanted(self, condition: str, context: Mapping[str, Any], success: bool) -> bool:
        if condition == "always()":
            return True
        if condition == "success()":
            return success
        found = re.fullmatch(r"([\w.-]+) (==|!=) '([^']*)'", condition)
        assert found, f"not understood: if: {condition}"
        same = self._value(found[1], context) == found[3]
        return success and (same if found[2] == "==" else not same)

    def _filled(self, text: str, context: Mapping[str, Any]) -> str:
        return _EXPRESSION.sub(lambda found: self._first(found[1], context), text)

    def _first(self, expression: str, context: Mapping[str, Any]) -> str:
        """Return the first of several values that is not nothing."""
        values = [self._value(name.strip(), context) for name in expression.split("||")]
        return next((value for value in values if value), "")

    def _value(self, name: str, context: Mapping[str, Any]) -> str:
        assert re.fullmatch(r"[\w-]+(\.[\w-]+)+", name), f"not understood: {name}"
        value: Any = context
        for piece in name.split("."):
            value = value.get(piece) if isinstance(value, Mapping) else None
        return "" if value is None else str(value)


def commands_in(log: str) -> list[tuple[str, dict[str, str], str]]:
    """Return the commands that stand in a log: name, properties, message.

    >>> commands_in("::error file=a,line=2::50 %25\\n::stop-commands::x\\n::error::no\\n::x::\\n::notice::yes")
    [('error', {'file': 'a', 'line': '2'}, '50 %'), ('notice', {}, 'yes')]
    """
    found: list[tuple[str, dict[str, str], str]] = []
    token = ""
    for line in log.splitlines():
        if token:
            if line.strip() == f"::{token}::":
                token = ""
            continue
        command = _COMMAND.match(line)
        if command is None:
            old = _OLD_COMMAND.search(line)
            if old is not None:
                found.append((f"##{old[1]}", {}, line))
        elif command[1] == "stop-commands":
            token = command[3].strip()
        else:
            properties = dict(piece.split("=", 1) for piece in (command[2] or "").split(",") if piece)
            found.append((command[1], {key: _undone(value) for key, value in properties.items()}, _undone(command[3])))
    return found


def _undone(text: str) -> str:
    for sign, code in (("\r", "%0D"), ("\n", "%0A"), (":", "%3A"), (",", "%2C"), ("%", "%25")):
        text = text.replace(code, sign)
    return text
